"""Strict YAML: what is kept as typed, what is refused and where, and that nothing else can happen."""

from collections.abc import Iterator
from unittest import mock

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from assistant.documents import Mapping, Node, Scalar, Sequence, parse_document
from assistant.documents import parse as implementation
from assistant.errors import DocumentError

# The parser in C is there on most machines and the one in Python on all; both must read alike.
LOADERS = [yaml.SafeLoader, *([yaml.CSafeLoader] if yaml.__with_libyaml__ else [])]


@pytest.fixture(params=LOADERS, ids=lambda loader: loader.__name__)
def _each_parser(request: pytest.FixtureRequest) -> Iterator[None]:
    with mock.patch.object(implementation, "_LOADER", request.param):
        yield


def plain(node: Node | None) -> object:
    """Return the tree without marks, as lists and pairs."""
    match node:
        case Scalar():
            return node.text
        case Sequence():
            return [plain(item) for item in node.items]
        case Mapping():
            return {key.text: plain(value) for key, value in node.items}
    return None


def read(text: str) -> object:
    return plain(parse_document(text, "boat.yaml"))


def found(text: str, **limits: int) -> list[tuple[str, int, int]]:
    """Code, line and column of all problems."""
    with pytest.raises(DocumentError) as caught:
        parse_document(text, "boat.yaml", **limits)
    assert all(problem.file == "boat.yaml" for problem in caught.value.problems)
    return [(problem.code, problem.line, problem.column) for problem in caught.value.problems]


def _span(text: str, node: Node) -> str:
    """Return what a node was written as."""
    starts = [0, *(at + 1 for at, letter in enumerate(text) if letter == "\n")]
    first, last = (starts[mark.line - 1] + mark.column - 1 for mark in (node.mark, node.end))
    return text[first:last]


BOAT = """\
boat: Dabchick
about: pond-survey trainer   # with one jet pump
parts:
  pack:  {kind: nimh pack, cells: 6, capacity: 3.3 Ah}
  drive: {kind: reversing drive, bec: 5.0 V at 2 A}
runs:
  - [pack +, 14 AWG 15 cm plug, drive +]
  - [pack -, 14 AWG 30 cm plug, drive -]
radio:
  mix: {1: {helm: 100 %}, 2: {throttle: 100 %}}
"""


@pytest.mark.usefixtures("_each_parser")
class TestReading:
    def test_a_boat(self) -> None:
        assert read(BOAT) == {
            "boat": "Dabchick",
            "about": "pond-survey trainer",
            "parts": {
                "pack": {"kind": "nimh pack", "cells": "6", "capacity": "3.3 Ah"},
                "drive": {"kind": "reversing drive", "bec": "5.0 V at 2 A"},
            },
            "runs": [
                ["pack +", "14 AWG 15 cm plug", "drive +"],
                ["pack -", "14 AWG 30 cm plug", "drive -"],
            ],
            "radio": {"mix": {"1": {"helm": "100 %"}, "2": {"throttle": "100 %"}}},
        }

    @pytest.mark.parametrize(
        "text",
        [
            "no",
            "off",
            "Yes",
            "null",
            "1e3",
            "12:30",
            "0x1F",
            "0o17",
            "1_000",
            "2026-01-02",
            ".inf",
            "=",
            "11,1 V",
        ],
    )
    def test_a_value_means_what_was_typed(self, text: str) -> None:
        assert read(f"a: {text}") == {"a": text}

    def test_quotes_are_told_apart(self) -> None:
        node = parse_document("[a, 'a', \"a\"]", "f")
        assert isinstance(node, Sequence)
        assert [item.quoted for item in node.items if isinstance(item, Scalar)] == [False, True, True]
        block = parse_document("a: |\n  one\n  two\n", "f")
        assert isinstance(block, Mapping)
        value = block.items[0][1]
        assert block.get("a") == Scalar(text="one\ntwo\n", mark=value.mark, end=value.end, quoted=True)

    def test_ends_lie_behind_the_last_character(self) -> None:
        text = "a: {é: 'x y', b: [1, 2]}   # more\nc:\n  - d e\n  - [f]\n\n# end\n"
        node = parse_document(text, "f")
        assert isinstance(node, Mapping)
        written = [_span(text, part) for part in (node, *node.items[0], *node.items[1])]
        assert written == [
            text[: text.index("\n\n# end")],
            "a",
            "{é: 'x y', b: [1, 2]}",
            "c",
            "- d e\n  - [f]",
        ]
        braced, listed = node.items[0][1], node.items[1][1]
        assert isinstance(braced, Mapping)
        assert isinstance(listed, Sequence)
        assert (node.bracketed, braced.bracketed, listed.bracketed) == (False, True, False)
        assert [_span(text, value) for _, value in braced.items] == ["'x y'", "[1, 2]"]

    def test_marks_count_from_one_and_in_characters(self) -> None:
        node = parse_document("é: [ü, {ä: x}]\n", "f")
        assert isinstance(node, Mapping)
        key, value = node.items[0]
        assert str(key.mark) == "f:1:1"
        assert isinstance(value, Sequence)
        assert [str(item.mark) for item in (value, *value.items)] == ["f:1:4", "f:1:5", "f:1:8"]

    def test_line_ends_and_byte_order_mark_make_no_difference(self) -> None:
        assert parse_document("\ufeffa: 1\r\nb: 2\r\n", "f") == parse_document("a: 1\nb: 2\n", "f")

    def test_get_and_keys(self) -> None:
        node = parse_document("b: 1\na: 2\n", "f")
        assert isinstance(node, Mapping)
        assert node.keys() == ("b", "a")
        assert plain(node.get("a")) == "2"
        assert node.get("c") is None

    def test_a_missing_value_is_an_empty_text(self) -> None:
        assert read("a:\nb: x\n") == {"a": "", "b": "x"}

    def test_the_start_marker_is_allowed(self) -> None:
        assert read("---\na: 1\n") == {"a": "1"}


@pytest.mark.usefixtures("_each_parser")
class TestRefusing:
    @pytest.mark.parametrize(
        ("text", "code", "line", "column"),
        [
            ("a: 1\nb: 2\na: 3\n", "duplicate-key", 3, 1),
            ("a: 1\n'a': 3\n", "duplicate-key", 2, 1),
            ("{a: 1, a: 2}", "duplicate-key", 1, 8),
            ("x: {y: {a: 1, a: 1}}", "duplicate-key", 1, 15),
            ("a: &x 1\n", "anchor", 1, 4),
            ("&x a: 1\n", "anchor", 1, 1),
            ("a: &x [1]\n", "anchor", 1, 4),
            ("a: *x\n", "alias", 1, 4),
            ("a: !!str 1\n", "tag", 1, 4),
            ("a: !!python/object/apply:os.system [ls]\n", "tag", 1, 4),
            ("a: ! 1\n", "tag", 1, 4),
            ("%YAML 1.1\n---\na: 1\n", "directive", 1, 1),
            ("a: 1\n---\nb: 1\n", "many-documents", 2, 1),
            ("<<: {a: 1}\n", "merge-key", 1, 1),
            ("? [a]\n: b\n", "key-kind", 1, 3),
            ("{a: b}: c\n", "key-kind", 1, 1),
            ("a:\tb\n", "tab", 1, 3),
            ("a:\n\tb: c\n", "tab", 2, 1),
            ("a: \x1b[2J\n", "character", 1, 4),
            ('a: "\\e[2J"\n', "character", 1, 4),
            ("a: b\rc: d\n", "character", 1, 5),
            ("a: \u202eb\n", "character", 1, 4),
            ("a: b\u2028c: d\n", "character", 1, 5),
            ("a: \ud800\n", "character", 1, 4),
            ("a: \ufeffb\n", "character", 1, 4),
            ("", "empty", 1, 1),
            ("# only a remark\n", "empty", 1, 1),
            ("---\n", "empty", 1, 4),
            ("a: b: c\n", "syntax", 1, 5),
            ("a: [1, 2\nb: 3\n", "syntax", 2, 2),
            ('x: y\na: "b\n', "syntax", 2, 4),
            ("a: {b: c\n", "syntax", 1, 9),
            ("[", "syntax", 1, 2),
            ("a: [1,\n\n", "syntax", 1, 7),
            ("a: @x\n", "syntax", 1, 4),
            ("a: 1\nb\nc: 2\n", "syntax", 2, 1),
            (" a: 1\nb: 2\n", "syntax", 2, 1),
            ("- a\nb: c\n", "syntax", 2, 1),
        ],
    )
    def test_place(self, text: str, code: str, line: int, column: int) -> None:
        assert found(text) == [(code, line, column)]

    def test_all_problems_at_once(self) -> None:
        assert found("a: &x 1\na: *x\nb: !t [1, 2]\n<<: {}\n") == [
            ("anchor", 1, 4),
            ("duplicate-key", 2, 1),
            ("alias", 2, 4),
            ("tag", 3, 4),
            ("merge-key", 4, 1),
        ]

    def test_problems_before_a_syntax_error_are_kept(self) -> None:
        assert found("a: &x 1\nb: [\n")[0] == ("anchor", 1, 4)

    @pytest.mark.parametrize("escape", ["\\ud800", "\\U00110000", "\\UFFFFFFFF"])
    def test_escapes_of_what_is_no_character(self, escape: str) -> None:
        [(code, line, _)] = found(f'a: "{escape}"')
        assert code in ("character", "syntax")
        assert line == 1

    @pytest.mark.parametrize("text", ["[" * 50, "- " * 50 + "x", "{a: " * 50, "? " * 50])
    def test_depth(self, text: str) -> None:
        [(code, _, _)] = found(text)
        assert code == "too-deep"

    def test_depth_is_counted_exactly(self) -> None:
        assert read("[[x]]") == [["x"]]
        parse_document("[[x]]", "f", max_depth=2)
        assert found("[[x]]", max_depth=1) == [("too-deep", 1, 2)]

    def test_nodes_are_counted_exactly(self) -> None:
        parse_document("{a: 1, b: [2]}", "f", max_nodes=6)
        assert found("{a: 1, b: [2]}", max_nodes=5) == [("too-many-nodes", 1, 12)]

    def test_bytes_are_counted_exactly(self) -> None:
        parse_document("a: ü", "f", max_bytes=5)
        assert found("a: ü", max_bytes=4) == [("too-big", 1, 1)]
        assert found("x" * 2_000_000) == [("too-big", 1, 1)]

    def test_long_lines(self) -> None:
        longest = "a: " + "x" * (implementation.MAX_LINE - 3)
        parse_document(longest, "f")
        assert found("b: 1\n" + longest + "x") == [("long-line", 2, implementation.MAX_LINE + 1)]

    def test_no_more_than_a_hundred_problems(self) -> None:
        assert len(found("a: 1\n" * 500)) == 499
        assert len(found("[" + "&x 1,\n" * 500 + "]")) == 100
        assert len(found("a:\tb\n" * 500)) == 100

    def test_an_alias_bomb_is_not_unfolded(self) -> None:
        bomb = "a: &a [x, x]\n" + "".join(
            f"{b}: &{b} [*{a}, *{a}]\n" for a, b in zip("abcdefghi", "bcdefghij", strict=True)
        )
        assert {code for code, _, _ in found(bomb)} == {"anchor", "alias"}


NAMES = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Cf", "Zl", "Zp", "Cn", "Co"]), max_size=12
)


def in_quotes(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


@pytest.mark.parametrize("loader", LOADERS)
@given(st.dictionaries(NAMES, st.lists(NAMES, max_size=3), min_size=1, max_size=6))
def test_what_is_written_is_what_is_read(loader: object, data: dict[str, list[str]]) -> None:
    block = "".join(
        f"{in_quotes(key)}: [{', '.join(map(in_quotes, items))}]\n" for key, items in data.items()
    )
    flow = "{" + ",\n ".join(line for line in block.splitlines()) + "}"
    with mock.patch.object(implementation, "_LOADER", loader):
        assert read(block) == data
        assert read(flow) == data


@pytest.mark.parametrize("loader", LOADERS)
@given(
    keys=st.lists(NAMES, min_size=1, max_size=6, unique=True),
    again=st.integers(0, 5),
    at=st.integers(0, 6),
    outer=st.sampled_from(["", "a:\n", "- x\n- "]),
)
def test_a_key_given_twice_is_always_refused(
    loader: object, keys: list[str], again: int, at: int, outer: str
) -> None:
    twice = keys.copy()
    twice.insert(min(at, len(keys)), keys[again % len(keys)])
    lines = [f"  {in_quotes(key)}: x\n" for key in twice]
    text = outer + "".join(lines)
    if outer.endswith("- "):
        text = outer + "".join(lines).removeprefix("  ")
    with mock.patch.object(implementation, "_LOADER", loader):
        [(code, _, _)] = found(text)
    assert code == "duplicate-key"


def tree_or_error(text: str) -> Node | DocumentError:
    try:
        return parse_document(text, "f")
    except DocumentError as error:
        return error


PIECES = st.sampled_from(
    [
        *"ab \n:-?[]{},#&*!|>'\"%@`\\\t~<",
        "\n  ",
        "\n- ",
        ": ",
        "---\n",
        "...\n",
        "<<: ",
        "\\x",
        "\\U00110000",
        "\r",
        "é",
    ]
)
ANY_TEXT = st.one_of(st.text(max_size=60), st.lists(PIECES, max_size=30).map("".join))


@pytest.mark.parametrize("loader", LOADERS)
@given(ANY_TEXT)
def test_any_text_is_a_tree_or_a_document_error(loader: object, text: str) -> None:
    lines = text.count("\n") + 1
    with mock.patch.object(implementation, "_LOADER", loader):
        outcome = tree_or_error(text)
    if isinstance(outcome, DocumentError):
        assert outcome.problems
        assert all(1 <= problem.line <= lines and problem.column >= 1 for problem in outcome.problems)
        assert len(str(outcome).split("\n")) == len(outcome.problems)
    else:
        assert 1 <= outcome.mark.line <= lines
