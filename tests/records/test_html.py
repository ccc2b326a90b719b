"""The sheet in a real browser, where there is one: no error, no sideways scrolling, one or two printed pages."""

import json
import os
import re
import shutil
import subprocess
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest

from assistant.records import Remark, RemarkKind, cells_of, sections_of, sheet_html
from tests.records.examples import AT, DABCHICK, GREBE, answers_until, dabchick_sheet, sheet

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
IN_BROWSER = pytest.mark.skipif(BROWSER is None, reason="there is no chromium on this machine")
VOID = {"meta", "br", "hr", "img", "link", "input"}
PROBE = """<script>
addEventListener("error", e => document.title = "ERROR " + e.message);
addEventListener("load", () => {
  const svg = document.querySelector("svg"), box = svg.getBoundingClientRect();
  const small = Math.min(...[...svg.querySelectorAll("text")].map(t => t.getBoundingClientRect().height));
  const out = [...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > innerWidth + 1);
  document.title = "MEASURED " + JSON.stringify({
    wide: document.documentElement.scrollWidth, inner: innerWidth, svg: box.width, small, out: out.length});
});
</script>"""


class Tags(HTMLParser):
    """Notes whether every element is closed in turn."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: set[str] = set()

    def handle_starttag(self, tag: str, attrs: object) -> None:  # noqa: ARG002 - the name is the parser's
        self.seen.add(tag)
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def browse(page: Path, *words: str) -> str:
    assert BROWSER is not None
    command = [
        BROWSER,
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        f"--user-data-dir={page.parent}/profile",
    ]
    done = subprocess.run(
        [*command, "--enable-logging=stderr", *words, page.as_uri()],
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
        env={**os.environ, "HOME": str(page.parent)},
    )
    assert "CONSOLE" not in done.stderr
    return done.stdout


@pytest.mark.parametrize("name", [DABCHICK, GREBE])
def test_the_page_is_one_file_and_well_formed(name: str) -> None:
    text = sheet_html(sheet(name))
    tags = Tags()
    tags.feed(text)
    tags.close()
    assert tags.open == []
    assert not {"script", "link", "img", "iframe", "object"} & tags.seen
    assert "default-src 'none'" in text
    assert re.findall(r"(?:src|href|url)\s*[=(]", text) == []


@pytest.mark.parametrize("name", [DABCHICK, GREBE])
def test_the_page_holds_every_section_and_every_reading(name: str) -> None:
    text = unescape(sheet_html(sheet(name))).replace("\u00a0", " ")
    for section in sections_of(sheet(name)):
        assert all(line.text in text for line in section.lines)
        assert all(caution in text for line in section.lines for caution in line.cautions)
    for row in sheet(name).rows:
        assert all(f">{cell}</td>" in text for cell in cells_of(row))


def test_markup_in_what_people_typed_stays_words() -> None:
    bad = '<script>document.title="taken"</script>"><b onload=x>\x1b[2J\u202e'
    found = dabchick_sheet([f"note {bad}", "no"], [Remark(kind=RemarkKind.WHO, text=bad, at=AT)])
    text = sheet_html(found)
    assert "<script" not in text
    assert "<b onload" not in text
    assert text.count("&lt;script&gt;") == 2
    assert not {"\x1b", "\u202e"} & set(text)


@IN_BROWSER
@pytest.mark.parametrize("name", [DABCHICK, GREBE])
def test_on_a_phone_nothing_sticks_out_and_the_picture_can_be_read(name: str, tmp_path: Path) -> None:
    # The page forbids scripts, so they are let in for the measuring alone; a frame is the phone.
    page, frame = tmp_path / "sheet.html", tmp_path / "phone.html"
    policy = re.compile(r"<meta http-equiv[^>]*>")
    page.write_text(
        policy.sub("", sheet_html(sheet(name))).replace("</head>", f"{PROBE}</head>"), encoding="utf-8"
    )
    frame.write_text(
        f'<iframe src="{page.name}" width="360" height="800" style="border:0"></iframe><script>'
        'addEventListener("load", () => document.title = frames[0].document.title)</script>',
        encoding="utf-8",
    )
    dumped = browse(frame, "--allow-file-access-from-files", "--virtual-time-budget=3000", "--dump-dom")
    title = unescape(re.findall(r"<title>(.*?)</title>", dumped)[0])
    assert title.startswith("MEASURED ")
    measured = json.loads(title.removeprefix("MEASURED "))
    assert measured["inner"] == 360
    assert measured["wide"] <= 360
    assert measured["out"] == 0
    assert measured["svg"] > 300.0
    assert measured["small"] >= 7.5  # pixels of height; the smallest letters a phone shows sharply


@IN_BROWSER
@pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="there is no pdfinfo on this machine")
@pytest.mark.parametrize("name", [DABCHICK, GREBE, "noted"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_it_prints_on_one_or_two_pages(name: str, paper: str, tmp_path: Path) -> None:
    found = dabchick_sheet([*answers_until("repair"), "bench"]) if name == "noted" else sheet(name)
    page, printed = tmp_path / "sheet.html", tmp_path / "sheet.pdf"
    sized = sheet_html(found).replace("@page { margin", f"@page {{ size: {paper}; margin")
    assert f"size: {paper}" in sized
    page.write_text(sized, encoding="utf-8")
    browse(page, "--no-pdf-header-footer", f"--print-to-pdf={printed}")
    told = subprocess.run(["pdfinfo", printed], capture_output=True, text=True, check=True).stdout  # noqa: S607 - wherever the system has it
    assert int(re.findall(r"Pages:\s+(\d+)", told)[0]) in {1, 2}
    words = subprocess.run(
        ["pdftotext", "-layout", printed, "-"],  # noqa: S607 - wherever the system has it
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    for row in found.rows:
        assert f"#{row.number}" in words
        assert row.shown.split(" ")[0] in words
