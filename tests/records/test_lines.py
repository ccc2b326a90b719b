import json
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.errors import CaseError
from assistant.records import Closing, Header, encode, read_contents

ENTRIES: tuple[dict[str, object], ...] = (
    {"n": 1, "id": "safe", "digest": "d1", "answer": "yes", "at": "2025-06-14T09:31:00+02:00"},
    {"n": 2, "id": "rest-volts", "digest": "d2", "answer": "7,2 V", "at": "2025-06-14T09:32:00+02:00"},
    {"n": 3, "id": "narrow.1", "digest": "d3", "answer": "note: Spülwasser\nim Rumpf", "at": "x"},
)
CLOSING = Closing(outcome="sole", text="replace fuse", at="2025-06-14T09:40:00+02:00")


def written(*contents: Header | Closing | dict[str, object]) -> bytes:
    data, check = b"", ""
    for content in contents:
        line = encode(content, check)
        data, check = data + line.data, line.check
    return data


def test_what_is_written_is_read_back(header: Header) -> None:
    data = written(header, *ENTRIES, CLOSING)
    contents = read_contents(data, "one")
    assert (contents.header, tuple(map(dict, contents.entries))) == (header, ENTRIES)
    assert (contents.closing, contents.size) == (CLOSING, len(data))


def test_an_answer_after_the_closing_opens_the_case_again(header: Header) -> None:
    assert read_contents(written(header, ENTRIES[0], CLOSING, ENTRIES[1]), "one").closing is None


def test_cut_anywhere_it_reads_up_to_the_last_whole_line_or_names_the_first(header: Header) -> None:
    lines = [written(header), *(written(header, *ENTRIES[: n + 1]) for n in range(len(ENTRIES)))]
    whole = [len(data) for data in lines]
    data = written(header, *ENTRIES)
    for size in range(len(data)):
        if size < whole[0]:
            with pytest.raises(CaseError, match=r"one, line 1: .*(cut off|is empty)"):
                read_contents(data[:size], "one")
        else:
            contents = read_contents(data[:size], "one")
            kept = sum(size >= end for end in whole) - 1
            assert tuple(map(dict, contents.entries)) == ENTRIES[:kept]
            assert contents.size == whole[kept]


def test_any_changed_byte_of_a_whole_line_names_that_line(header: Header) -> None:
    data = written(header, *ENTRIES)
    number = 1
    for place, byte in enumerate(data):
        changed = data[:place] + bytes([byte ^ 1]) + data[place + 1 :]
        if byte == ord("\n"):
            number += 1
        if place == len(data) - 1:  # the line end itself: what is left is a line cut off
            assert len(read_contents(changed, "one").entries) == len(ENTRIES) - 1
            continue
        with pytest.raises(CaseError) as refused:
            read_contents(changed, "one")
        named = number - 1 if byte == ord("\n") else number
        assert refused.value.place == f"one, line {named}"


@pytest.mark.parametrize(
    ("order", "named"), [((0, 2, 1, 3), 2), ((0, 1, 3), 3), ((0, 1, 1, 2), 3), ((1, 2), 1), ((0, 0, 1), 2)]
)
def test_a_line_lost_doubled_or_moved_is_named(order: Sequence[int], named: int, header: Header) -> None:
    lines = written(header, *ENTRIES).splitlines(keepends=True)
    with pytest.raises(CaseError, match=f"^one, line {named}: "):
        read_contents(b"".join(lines[n] for n in order), "one")


@pytest.mark.parametrize(
    "raw",
    [
        b"[" * 100_000,
        b"9" * 10_000,
        b'{"line": "answer", "n": NaN, "check": "0"}',
        b'{"line": "answer", "line": "answer"}',
        b'{"a": "\\ud800", "check": "0"}',
        b"\xff\xfe",
        b"",
        b"null",
    ],
)
def test_hostile_lines_are_refused_with_their_number(raw: bytes, header: Header) -> None:
    with pytest.raises(CaseError, match=r"^one, line 2: "):
        read_contents(written(header) + raw + b"\n", "one")


def test_a_later_form_asks_for_a_later_program(header: Header) -> None:
    record = {**json.loads(written(header)), "schema": 2}
    with pytest.raises(CaseError, match="form 1 only; use the version"):
        read_contents(json.dumps(record).encode() + b"\n", "one")


def test_an_answer_cannot_pose_as_another_line() -> None:
    with pytest.raises(ValueError, match="may not use"):
        encode({"line": "case"})


@given(answers=st.lists(st.text(st.characters(exclude_categories=["Cs"])), max_size=4))
def test_any_text_survives(answers: list[str]) -> None:
    head = Header(engine="", knowledge="", boat="", file="", wiring="", symptom="", started="")
    entries: list[dict[str, object]] = [{"answer": answer} for answer in answers]
    data = written(head, *entries)
    assert [entry["answer"] for entry in read_contents(data, "one").entries] == answers
