"""Changes in place: the wanted change and nothing else, or a refusal."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.documents import Mapping, Node, Scalar, parse_document
from assistant.errors import AnswerError
from assistant.plan import Document, read_document
from assistant.plan.editing import as_written, with_items, with_node, without_node

TEXT = """\
# about the boat
boat: Coot   # her name
parts:
  pack:  {kind: nimh pack, cells: 6}   # from last year

  # what moves her
  pump:
    kind: pump motor      # the blue one
    rated: 7.2 V at 6 A

runs:
  - [pack +, 14 AWG 10 cm, pump +]    # red
  - [pack -, 14 AWG 10 cm, pump -]
last: {a: 1,   # one
  b: 2}
"""


def changed(before: str, after: str) -> tuple[list[str], list[str]]:
    """Return the lines that went and those that came, the rest being the same and in the same order."""
    old, new = before.splitlines(keepends=True), after.splitlines(keepends=True)
    gone = [line for line in old if line not in new]
    come = [line for line in new if line not in old]
    assert [line for line in old if line in new] == [line for line in new if line in old]
    return gone, come


def document(text: str = TEXT) -> Document:
    return read_document(text, "coot.yaml")


def test_a_value_changes_alone() -> None:
    after = with_node(document(), ("parts", "pack", "cells"), "7").text
    assert after == TEXT.replace("cells: 6", "cells: 7")


@pytest.mark.parametrize(
    ("path", "value", "come"),
    [
        (
            ("parts", "pack", "capacity"),
            "3 Ah",
            "  pack:  {kind: nimh pack, cells: 6, capacity: 3 Ah}   # from last year\n",
        ),
        (("parts", "pump", "stall"), "28 A", "    stall: 28 A\n"),
        (("parts", "fuse"), "{kind: blade fuse}", "  fuse: {kind: blade fuse}\n"),
        (("runs", 2), "[a, b, c]", "  - [a, b, c]\n"),
        (("radio", "channels", "1"), "pump", "radio: {channels: {1: pump}}\n"),
        (("last", "c"), "3", "  b: 2, c: 3}\n"),
    ],
)
def test_an_entry_is_added_where_it_belongs(path: tuple[str | int, ...], value: str, come: str) -> None:
    after = with_node(document(), path, value)
    assert changed(TEXT, after.text)[1] == [come]
    assert after.at(path) is not None


@pytest.mark.parametrize(
    ("path", "gone"),
    [
        (("parts", "pump", "rated"), ["    rated: 7.2 V at 6 A\n"]),
        (("runs", 0), ["  - [pack +, 14 AWG 10 cm, pump +]    # red\n"]),
        (("boat",), ["boat: Coot   # her name\n"]),
        (
            ("parts", "pump"),
            ["  pump:\n", "    kind: pump motor      # the blue one\n", "    rated: 7.2 V at 6 A\n"],
        ),
    ],
)
def test_an_entry_is_taken_out_with_its_line(path: tuple[str | int, ...], gone: list[str]) -> None:
    assert changed(TEXT, without_node(document(), path).text) == (gone, [])


def test_taking_out_the_last_entry_leaves_an_empty_list() -> None:
    once = without_node(document(), ("runs", 0))
    assert without_node(once, ("runs", 0)).text.count("[]") == 1


def test_items_of_a_list_are_replaced_in_their_line() -> None:
    after = with_items(document(), ("runs", 0), 1, 2, ("14 AWG 5 cm", "fuse", "14 AWG 5 cm"))
    assert changed(TEXT, after.text)[1] == ["  - [pack +, 14 AWG 5 cm, fuse, 14 AWG 5 cm, pump +]    # red\n"]


def test_line_ends_of_the_file_are_kept() -> None:
    after = with_node(document(TEXT.replace("\n", "\r\n")), ("parts", "fuse"), "{kind: blade fuse}").text
    assert after.count("\r\n") == after.count("\n") == TEXT.count("\n") + 1


def test_a_file_without_a_last_line_end_gets_one_where_needed() -> None:
    assert with_node(document("a: 1"), ("b",), "2").text == "a: 1\nb: 2\n"


@pytest.mark.parametrize(
    ("text", "path"), [("a:\n  - b: 1\n    c: 2\n", ("a", 0, "b")), ("- b: 1\n  c: 2\n", (0, "b"))]
)
def test_what_cannot_be_changed_in_place_is_refused(text: str, path: tuple[str | int, ...]) -> None:
    with pytest.raises(AnswerError, match="editor"):
        without_node(document(text), path)


def test_a_plain_value_takes_no_entries() -> None:
    with pytest.raises(AnswerError, match="editor"):
        with_node(document("a: b"), ("a", "c"), "new")


@pytest.mark.parametrize(
    "text", ["-", "?", "- a", "? a", "a]", "a, b", "#a", "a #b", "%a", "key: b", "[a", "!a", "'"]
)
def test_text_that_means_something_is_quoted(text: str) -> None:
    assert as_written(text) != text


@given(
    st.text(
        st.characters(codec="utf-8", exclude_categories=["C", "Z"]) | st.just(" "), min_size=1, max_size=30
    )
)
def test_any_text_is_read_back_as_written(text: str) -> None:
    text = " ".join(text.split())
    for written in (f"a: {as_written(text)}", f"a: [{as_written(text)}, b]"):
        root = parse_document(written, "f")
        assert isinstance(root, Mapping)
        value = root.items[0][1]
        assert texts(value)[0] == text


def texts(node: Node) -> list[str]:
    """Return all values that a tree says."""
    if isinstance(node, Scalar):
        return [node.text]
    inner = [value for _, value in node.items] if isinstance(node, Mapping) else node.items
    return [text for one in inner for text in texts(one)]


KEYS = st.sampled_from("abc")
SCALARS = st.sampled_from(["1", "x y", "'q: r'", '"s"', "12 V"])
NODES = st.recursive(
    SCALARS,
    lambda inner: (
        st.dictionaries(KEYS, inner, min_size=1).map(
            lambda items: "{" + ", ".join(f"{key}: {value}" for key, value in items.items()) + "}"
        )
        | st.lists(inner, min_size=1, max_size=3).map(lambda items: f"[{', '.join(items)}]")
    ),
    max_leaves=6,
)
DOCUMENTS = st.dictionaries(KEYS, NODES, min_size=1).map(
    lambda items: (
        "# head\n"
        + "".join(f"{key}:   {value}   # on {key}\n# below {key}\n" for key, value in items.items())
    )
)


@given(DOCUMENTS, st.lists(KEYS | st.integers(0, 2), min_size=1, max_size=3), SCALARS)
def test_a_change_says_what_was_wanted_and_keeps_all_remarks(
    text: str, path: list[str | int], value: str
) -> None:
    before = document(text)
    try:
        after = with_node(before, tuple(path), value)
    except AnswerError:
        return
    assert value.strip("'\"") in texts(after.root)
    assert [line.partition("#")[2] for line in after.text.splitlines() if "#" in line] == [
        line.partition("#")[2] for line in text.splitlines() if "#" in line
    ]
