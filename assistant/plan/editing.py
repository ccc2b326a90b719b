"""Changing a document in place, so that comments, order and layout stay as they are.

Every change replaces a few characters at places the parser has told.  Afterwards the text is read again and has to
say exactly what was wanted, or the change is refused: whatever way a file is written in, nothing in it can be
changed unseen.  A path names a node by keys and places, such as ``("runs", 0, 2)``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from assistant.documents import Mapping, Node, Scalar, Sequence, parse_document
from assistant.errors import AnswerError, DocumentError

Path = tuple[str | int, ...]
Plain: TypeAlias = "str | list[Plain] | dict[str, Plain]"


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A document and what it says.

    Attributes
    ----------
    text, file : the characters, and the name for messages.
    root : the tree.
    """

    text: str
    file: str
    root: Node

    def at(self, path: Path) -> Node | None:
        """Return the node at a path, or None."""
        node: Node | None = self.root
        for step in path:
            if isinstance(node, Mapping) and isinstance(step, str):
                node = node.get(step)
            elif isinstance(node, Sequence) and isinstance(step, int) and step < len(node.items):
                node = node.items[step]
            else:
                return None
        return node

    def span(self, node: Node) -> tuple[int, int]:
        """Return where the characters of a node begin and end."""
        lines = self.text.split("\n")
        first, last = (
            sum(len(line) + 1 for line in lines[: mark.line - 1]) + mark.column - 1
            for mark in (node.mark, node.end)
        )
        return first, last

    @property
    def newline(self) -> str:
        """How lines end."""
        return "\r\n" if "\r\n" in self.text else "\n"


def read_document(text: str, file: str) -> Document:
    """Return a document.

    Raises
    ------
    DocumentError
        With all problems, if it is none.
    """
    return Document(text=text, file=file, root=parse_document(text, file))


def as_written(text: str) -> str:
    """Return a text as it is written as a value, in quotes where it would mean something else.

    >>> as_written("5.0 V at 2 A"), as_written("a: b")
    ('5.0 V at 2 A', "'a: b'")
    """
    # Within brackets and behind a key different characters mean something.
    if all(_read_back(around.format(text)) == text for around in ("[{}]", "key: {}")):
        return text
    return "'{}'".format(text.replace("'", "''"))


def _read_back(line: str) -> str | None:
    """Return what the only value of a line says, if it is one plain text."""
    try:
        root = parse_document(line, "typed")
    except DocumentError:
        return None
    values = _children(root) if not isinstance(root, Scalar) else ()
    only = values[0] if len(values) == 1 else None
    return only.text if isinstance(only, Scalar) and not only.quoted else None


def with_node(document: Document, path: Path, value: str) -> Document:
    """Return the document with what stands at a path replaced by `value` (YAML); entries missing on the way are added.

    Raises
    ------
    AnswerError
        If the file is written in a way that cannot be changed in place.
    """
    wanted = _plain(parse_document(value, "typed"))
    node = document.at(path)
    if node is None:
        return _added(document, path, value)
    first, last = document.span(node)
    space = " " if first == last else ""
    text = document.text[:first] + space + value + document.text[last:]
    return _checked(document, text, path, wanted)


def _added(document: Document, path: Path, value: str) -> Document:
    """Return the document with an entry more, in the mapping or at the end of the list that it belongs to."""
    *rest, step = path
    parent = document.at(tuple(rest))
    if parent is None:
        around = f"[{value}]" if isinstance(step, int) else f"{{{as_written(step)}: {value}}}"
        return with_node(document, tuple(rest), around)
    entry = f"{as_written(step)}: {value}" if isinstance(step, str) else value
    wanted = _plain(parse_document(value, "typed"))
    if isinstance(parent, Scalar):
        raise _by_hand(document, path)
    first, last = document.span(parent)
    if parent.bracketed:
        children = _children(parent)
        place = document.span(children[-1])[1] if children else first + 1
        text = document.text[:place] + (", " if children else "") + entry + document.text[place:]
        return _checked(document, text, path, wanted)
    dash = "" if isinstance(parent, Mapping) else "- "
    indent = " " * (parent.mark.column - 1)
    place = _line_end(document.text, last)
    ends = "" if document.text[place - 1] == "\n" else document.newline
    line = f"{ends}{indent}{dash}{entry}{document.newline}"
    return _checked(document, document.text[:place] + line + document.text[place:], path, wanted)


def without_node(document: Document, path: Path) -> Document:
    """Return the document without what stands at a path, with the key or dash before it.

    Raises
    ------
    AnswerError
        If the file is written in a way that cannot be changed in place.
    """
    above = path[:-1]
    parent, node = document.at(above), document.at(path)
    if node is None or parent is None or isinstance(parent, Scalar):
        raise _by_hand(document, path)
    children = _children(parent)
    number = children.index(node)
    head = parent.items[number][0] if isinstance(parent, Mapping) else node
    if len(children) == 1:
        empty = "{}" if isinstance(parent, Mapping) else "[]"
        return with_node(document, above, empty)
    first, last = document.span(head)[0], document.span(node)[1]
    if not parent.bracketed:
        first, last = document.text.rfind("\n", 0, first) + 1, _line_end(document.text, last)
    elif number + 1 < len(children):
        after = parent.items[number + 1][0] if isinstance(parent, Mapping) else children[number + 1]
        last = document.span(after)[0]
    else:
        first = document.span(children[number - 1])[1]
    return _checked(document, document.text[:first] + document.text[last:], path, None)


def with_items(document: Document, path: Path, start: int, stop: int, values: tuple[str, ...]) -> Document:
    """Return the document with some items of a list replaced by others; at least one on either side.

    Raises
    ------
    AnswerError
        If the file is written in a way that cannot be changed in place.
    """
    listed = document.at(path)
    if not isinstance(listed, Sequence) or not listed.items[start:stop] or not values:
        raise _by_hand(document, path)
    first, last = document.span(listed.items[start])[0], document.span(listed.items[stop - 1])[1]
    between = ", " if listed.bracketed else f"{document.newline}{' ' * (listed.mark.column - 1)}- "
    text = document.text[:first] + between.join(values) + document.text[last:]
    before = [_plain(item) for item in listed.items]
    wanted = [*before[:start], *(_plain(parse_document(v, "typed")) for v in values), *before[stop:]]
    return _checked(document, text, path, wanted)


def _children(parent: Mapping | Sequence) -> tuple[Node, ...]:
    return tuple(node for _, node in parent.items) if isinstance(parent, Mapping) else parent.items


def _line_end(text: str, place: int) -> int:
    """Return the place behind the end of the line."""
    found = text.find("\n", place)
    return len(text) if found < 0 else found + 1


def _plain(node: Node) -> Plain:
    """Return what a node says, without places."""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Sequence):
        return [_plain(item) for item in node.items]
    return {key.text: _plain(value) for key, value in node.items}


def _checked(document: Document, text: str, path: Path, wanted: Plain | None) -> Document:
    """Return the changed document if it says what it said, but for `wanted` at the path."""
    try:
        changed = read_document(text, document.file)
    except DocumentError as error:
        raise _by_hand(document, path) from error
    if _plain(changed.root) != _changed(_plain(document.root), path, wanted):
        raise _by_hand(document, path)
    return changed


def _changed(plain: Plain, path: Path, wanted: Plain | None) -> Plain | None:
    """Return plain data with one place changed, added, or taken out where nothing is wanted."""
    if not path:
        return wanted
    step, rest = path[0], path[1:]
    if isinstance(plain, list) and isinstance(step, int):
        inner = _changed(plain[step] if step < len(plain) else "", rest, wanted)
        return [*plain[:step], *([] if inner is None else [inner]), *plain[step + 1 :]]
    if isinstance(plain, dict) and isinstance(step, str):
        inner = _changed(plain.get(step, ""), rest, wanted)
        kept = {key: inner if key == step and inner is not None else value for key, value in plain.items()}
        if inner is None:
            del kept[step]
        elif step not in kept:
            kept[step] = inner
        return kept
    return None


def _by_hand(document: Document, path: Path) -> AnswerError:
    return AnswerError(
        value=" ".join(map(str, path)),
        place=document.file,
        reason="it is written in a way that cannot be changed in place",
        next_step="change it with an editor",
    )
