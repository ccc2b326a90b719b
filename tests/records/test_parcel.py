import hashlib
import json
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from assistant.errors import CaseError
from assistant.records import CaseStore, Closing, Contents, Header, Remark, RemarkKind, encode, open_parcel
from assistant.records.journal import MAX_BYTES
from tests.records.examples import DABCHICK, NAMES, STORE

AT = "2025-06-14T09:30:00+02:00"


def written(header: Header, *more: Closing | Remark | dict[str, object]) -> bytes:
    """Return a case whose checks are all right, as someone with bad intent would make it."""
    line = encode(header)
    data = line.data
    for content in more:
        line = encode(content, line.check)
        data += line.data
    return data


def entry(**other: object) -> dict[str, object]:
    return {"n": 1, "ask": "n00.danger", "digest": "0" * 12, "answer": "yes", "at": AT, **other}


@pytest.fixture
def plain(header: Header) -> Header:
    return replace(header, wiring="boat: Dabchick\n")


def refused(path: Path, data: bytes, match: str) -> None:
    path.write_bytes(data)
    with pytest.raises(CaseError, match=match):
        open_parcel(path)
    assert path.read_bytes() == data


@pytest.mark.parametrize("name", NAMES)
def test_out_in_and_out_again_is_the_same_to_the_letter(name: str, tmp_path: Path) -> None:
    file = tmp_path / f"{name}.case.jsonl"
    file.write_bytes(STORE.data_of(name))
    store = CaseStore(tmp_path / "cases")
    assert store.add(open_parcel(file), name) == (name, True)
    assert store.data_of(name) == file.read_bytes()
    assert store.read(name) == STORE.read(name)


def test_a_case_that_is_here_already_is_not_doubled(tmp_path: Path) -> None:
    store = CaseStore(tmp_path / "cases")
    parcel = open_parcel(STORE.folder / f"{DABCHICK}.case.jsonl")
    assert store.add(parcel) == (DABCHICK, True)
    assert store.add(parcel) == (DABCHICK, False)
    assert store.names() == (DABCHICK,)


def test_another_case_of_that_name_is_not_overwritten(tmp_path: Path, plain: Header) -> None:
    store = CaseStore(tmp_path)
    parcel = open_parcel(STORE.folder / f"{DABCHICK}.case.jsonl")
    name, journal = store.begin(replace(plain, boat="Dabchick"))
    journal.close()
    before = store.data_of(name)
    assert name == DABCHICK
    assert store.add(parcel, DABCHICK) == ("dabchick-2025-06-14-2", True)
    assert store.data_of(DABCHICK) == before


@pytest.mark.parametrize(
    "wanted", ["../../evil", "heron-2025-06-14-1", "dabchick-2025-06-14-x", "", "/etc/passwd"]
)
def test_a_file_chooses_no_name_but_one_of_its_boat_and_day(wanted: str, tmp_path: Path) -> None:
    store = CaseStore(tmp_path / "cases")
    assert store.add(open_parcel(STORE.folder / f"{DABCHICK}.case.jsonl"), wanted) == (DABCHICK, True)
    assert [path.name for path in tmp_path.rglob("*.jsonl")] == [f"{DABCHICK}.case.jsonl"]


@pytest.mark.parametrize("boat", ["../../../tmp/evil", "/etc/passwd", "..\\..\\evil", "con", ".", "a/b"])
def test_a_path_for_a_boat_stays_in_the_folder(boat: str, tmp_path: Path, plain: Header, path: Path) -> None:
    path.write_bytes(written(replace(plain, boat=boat)))
    store = CaseStore(tmp_path / "cases")
    name, _ = store.add(open_parcel(path))
    assert {found.parent for found in tmp_path.rglob("*.jsonl")} == {tmp_path, store.folder}
    assert "/" not in name
    assert name.endswith("-2025-06-14-1")


def test_a_cut_last_line_is_left_behind(tmp_path: Path, plain: Header, path: Path) -> None:
    whole = written(plain, entry())
    path.write_bytes(whole + b'{"line":"answer","n":2')
    assert open_parcel(path).data == whole


@pytest.mark.parametrize(
    ("change", "match"),
    [
        (lambda _: b"", "the file is empty"),
        (lambda _: b"\x89PNG\r\n\x1a\n" + bytes(200), "line 1: it cannot be read"),
        (lambda _: b"boat: Dabchick\nparts: {}\n", "line 1: it cannot be read"),
        (lambda _: b"[]\n", "line 1: it is not an object"),
        (lambda _: b"[" * 200_000 + b"\n", "line 1: it cannot be read"),
        (lambda _: b'{"a":' * 100_000 + b"1" + b"}" * 100_000 + b"\n", "line 1: it cannot be read"),
        (lambda _: b'{"line":"case","schema":' + b"9" * 6000 + b"}\n", "line 1"),
        (lambda data: data.replace(b"yes", b"no!"), "line 2: its check does not fit"),
        (lambda data: b"".join(data.splitlines(keepends=True)[1:]), "line 1"),
        (lambda data: data + data, "is not the line that belongs here|check does not fit"),
        (lambda data: data.replace(b'"schema":1', b'"schema":2'), "knows cases of form 1 only"),
        (lambda data: data.replace(b'"n":1', b'"n":NaN'), "line 2: it cannot be read"),
        (lambda data: data.replace(b'"n":1', b'"n":1,"n":1'), "line 2: it cannot be read"),
    ],
)
def test_damaged_and_foreign_files_are_refused(
    change: Callable[[bytes], bytes], match: str, plain: Header, path: Path
) -> None:
    refused(path, change(written(plain, entry())), match)


@pytest.mark.parametrize(
    ("field", "value", "match"),
    [
        ("boat", "Dab\x1b[2Jchick", "control characters"),
        ("boat", "Dab\u202echick", "control characters"),
        ("boat", "x" * 500, "a name of 500 characters"),
        ("file", "a\x00b", "control characters"),
        ("symptom", "a\nb", "control characters"),
        ("started", "yesterday", "no date and time"),
        ("started", "", "no date and time"),
        ("wiring", "boat: \x07\n", "control characters"),
        ("wiring", "# " + "x" * 1_100_000, "far too big"),
        ("meter", ("DC volts\x1b",), "control characters"),
        ("past", (("replace \x1b", 1),), "control characters"),
    ],
)
def test_a_header_that_no_hunt_writes_is_refused(
    field: str, value: object, match: str, plain: Header, path: Path
) -> None:
    header = Header(**{**{name: getattr(plain, name) for name in plain.__dataclass_fields__}, field: value})
    refused(path, written(header), match)


@pytest.mark.parametrize(
    ("content", "match"),
    [
        (entry(answer="\x1b]0;taken\x07"), "answer 1 holds control characters"),
        (entry(answer="x" * 20_000), "answer 1 is not what a hunt records"),
        (entry(more={"deep": [1]}), "answer 1 is not what a hunt records"),
        (entry(n="1"), "entry 1"),
        (entry(at="soon"), "no date and time"),
        (Remark(kind=RemarkKind.NOTE, text="a\x00", at=AT), "a remark holds control characters"),
        (Remark(kind=RemarkKind.TEMPORARY, text="a", place="p\x1b", at=AT), "control characters"),
        (Closing(outcome="mended", text="\x9b2J", at=AT), "the closing holds control characters"),
    ],
)
def test_lines_that_no_hunt_writes_are_refused(
    content: Closing | Remark | dict[str, object], match: str, plain: Header, path: Path
) -> None:
    refused(path, written(plain, content), match)


def test_a_remark_of_an_unknown_kind_is_refused(plain: Header, path: Path) -> None:
    line = {"line": "remark", "kind": "spell", "text": "", "place": "", "at": AT}
    head = encode(plain)
    body = json.dumps(line, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    check = hashlib.sha256((head.check + body).encode()).hexdigest()[:16]
    data = head.data + json.dumps({**line, "check": check}).encode() + b"\n"
    refused(path, data, "line 2: the remark lacks a value, or is of a kind not known here")


def test_an_enormous_file_is_refused_without_reading_it_all(path: Path) -> None:
    with path.open("wb") as stream:
        stream.truncate(100 * MAX_BYTES)
    with pytest.raises(CaseError, match="far too big for a case"):
        open_parcel(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with names")
def test_a_pipe_a_device_and_a_folder_are_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for path, match in (
        (tmp_path / "pipe", "no plain file"),
        (Path("/dev/zero"), "no plain file"),
        (tmp_path, "no plain file"),
        (tmp_path / "absent", "there is no such"),
    ):
        with pytest.raises(CaseError, match=match):
            open_parcel(path)


def test_remarks_come_back_as_they_were_made(tmp_path: Path, header: Header) -> None:
    store = CaseStore(tmp_path)
    name, journal = store.begin(header)
    made = Remark(kind=RemarkKind.TEMPORARY, text="bridged", place="fuse", at=AT)
    with journal:
        journal.append({"n": 1})
        journal.finish(Closing(outcome="noted", text="replace fuse", at=AT, done=(), left=("replace fuse",)))
        journal.remark(made)
        assert journal.closing is not None
    contents: Contents = store.read(name)
    assert contents.remarks == (made,)
    assert contents.closing is not None
    assert contents.closing.left == ("replace fuse",)
    with store.open(name) as journal:
        journal.append({"n": 2})
    assert store.read(name).closing is None
    assert store.read(name).remarks == (made,)
