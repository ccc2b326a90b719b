"""Draw the README's pictures anew, from the program's own screens: ``python -m tests.pictures``.

A hunt with a hidden fault is played; some of its question screens are drawn by the very functions that draw
them at a terminal, and exported as SVG.
"""

import io
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from rich.console import Console
from rich.terminal_theme import TerminalTheme
from rich.text import Text

from assistant.circuit import Fault
from assistant.console import Page, prompt_words, question_lines
from assistant.console.page import LINES
from assistant.console.terminal import SUN
from assistant.dialogue import Ask, Setup
from assistant.wiring import Point, point_label
from tests.cli.person import Person

FOLDER: Final = Path(__file__).resolve().parents[1] / "cases" / "recorded" / "pictures"


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A screen of a hunt: the first question with a reading that has `readings` readings before it."""

    name: str
    boat: str
    fault: Fault
    width: int
    rows: int
    readings: int


_BLACK, _WHITE = (0, 0, 0), (255, 255, 255)
_PAPER: Final = TerminalTheme(_WHITE, _BLACK, [_BLACK] * 7 + [_WHITE])
# Black on white as with --sun, in a bare frame; the fonts are those of whoever looks.
_SHEET: Final = """\
<svg viewBox="0 0 {width} {height}" xmlns="http://www.w3.org/2000/svg">
<style>
.{unique_id}-matrix {{ font-family: monospace; font-size: {char_height}px; line-height: {line_height}px; }}
{styles}
</style>
<defs>
<clipPath id="{unique_id}-clip-terminal">
<rect x="0" y="0" width="{terminal_width}" height="{terminal_height}"/>
</clipPath>
{lines}
</defs>
<rect x="1" y="1" width="99.7%" height="99.5%" fill="#ffffff" stroke="#000000" stroke-width="2"/>
<g transform="translate({terminal_x}, 24)" clip-path="url(#{unique_id}-clip-terminal)">
{backgrounds}
<g class="{unique_id}-matrix">
{matrix}
</g>
</g>
</svg>
"""
PICTURES: Final = (
    Picture(
        name="narrow",
        boat="dabchick",
        fault=Fault(part="fuse", mode="open"),
        width=40,
        rows=20,
        readings=1,
    ),
    Picture(
        name="wide",
        boat="dabchick",
        fault=Fault(part="fuse", mode="open"),
        width=100,
        rows=24,
        readings=1,
    ),
)


def drawn() -> Mapping[str, str]:
    """Return every picture as SVG, by the name of its file."""
    return {f"{picture.name}.svg": _svg(picture) for picture in PICTURES}


def _svg(picture: Picture) -> str:
    someone = Person(picture.boat, "pumps-not-running", picture.fault)
    number, readings = 1, 0
    while (ask := someone.ask) is not None:
        if ask.measurement is not None and readings == picture.readings:
            return _exported(picture, list(_screen(picture, someone.session.setup, ask, number)))
        readings += ask.measurement is not None
        someone.answer()
        number += 1
    raise LookupError(f"the hunt for {picture.name} has no such question")


def _screen(picture: Picture, setup: Setup, ask: Ask, number: int) -> Iterator[Text]:
    def label(point: Point) -> str:
        return point_label(setup.boat, point)

    page = Page(width=picture.width, rows=picture.rows, glyphs=LINES)
    yield from question_lines(ask, page, number=number, label=label)
    yield Text(f"{prompt_words(ask)}_")
    yield Text()


def _exported(picture: Picture, lines: list[Text]) -> str:
    console = Console(
        record=True,
        width=picture.width,
        file=io.StringIO(),
        theme=SUN,
        force_terminal=True,
        color_system="truecolor",
    )
    for line in lines:
        console.print(line, highlight=False, soft_wrap=True)
    return console.export_svg(theme=_PAPER, code_format=_SHEET, unique_id=picture.name)


def draw() -> None:
    """Write every picture."""
    FOLDER.mkdir(exist_ok=True)
    for name, svg in drawn().items():
        (FOLDER / name).write_text(svg, encoding="utf-8")
        sys.stdout.write(f"{name}\n")


if __name__ == "__main__":
    draw()
