"""From YAML text to a tree of nodes.

The text is first checked for what YAML would let through or report badly: size, long lines, tabs, control
characters. Then the parser's events, which carry no interpretation of values, are folded into nodes with an
explicit stack; limits on depth and number hold while reading, so that a hostile file costs no more than an
honest one. Problems that leave the structure clear are collected; the others end the reading.
"""

import re
from collections.abc import Iterator
from typing import Final, Protocol

import yaml
from attrs import define, field

from assistant.documents.node import Mapping, Mark, Node, Scalar, Sequence
from assistant.documents.problems import Code, Problems
from assistant.documents.syntax import explain
from assistant.errors import DocumentError, quote

__all__ = ["MAX_LINE", "parse_document"]

MAX_LINE: Final = 1000
"""Most characters in a line."""

_MAX_PROBLEMS: Final = 100
_SHORTEN: Final = "split it, or remove what is not needed"
_LOADER: Final = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

# Controls but tab and newline; what YAML or an editor takes for a line break; surrogates and non-characters;
# marks that turn the direction of writing, which make a file read other than it is.
_FORBIDDEN: Final = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]"
)


def parse_document(
    text: str,
    file: str,
    *,
    max_bytes: int = 1_000_000,
    max_depth: int = 40,
    max_nodes: int = 50_000,
) -> Node:
    """Return the tree of a YAML document, every scalar as typed.

    Refused, with their places: anchors and aliases, tags, directives, several documents, merge keys, keys
    that are not plain text, keys that occur twice in a mapping, tabs, control characters, lines above
    `MAX_LINE` characters, and whatever is no YAML.

    Parameters
    ----------
    text
        The whole text; a byte-order mark at its start is ignored.
    file
        Its name, for messages.
    max_bytes
        Most bytes of the text in UTF-8.
    max_depth
        Most levels of mappings and sequences in each other.
    max_nodes
        Most scalars (keys too), sequences and mappings together.

    Raises
    ------
    DocumentError
        With all problems found; no other error, whatever the text.

    Examples
    --------
    >>> parse_document("drive: {bec: no}", "boat.yaml").get("drive").get("bec").text
    'no'
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    problems = Problems()
    _check_text(text, file, max_bytes, problems)
    problems.raise_if_any(DocumentError)
    end = _end(text, file)
    builder = _Builder(file=file, end=end, max_depth=max_depth, max_nodes=max_nodes, problems=problems)
    root = builder.build(text)
    if not problems and (root is None or _is_nothing(root)):
        mark = root.mark if root else Mark(file=file, line=1, column=1)
        problems.add(mark, Code.EMPTY, "the document is empty", "write its contents")
    if problems or root is None:
        raise DocumentError(problems=problems)
    return root


def _end(text: str, file: str) -> Mark:
    """Return the place behind the last text."""
    lines = text.rstrip(" \n").split("\n")
    return Mark(file=file, line=len(lines), column=len(lines[-1]) + 1)


def _is_nothing(node: Node) -> bool:
    return isinstance(node, Scalar) and not node.text and not node.quoted


def _check_text(text: str, file: str, max_bytes: int, problems: Problems) -> None:
    """Check what can be seen without knowing YAML."""
    start = Mark(file=file, line=1, column=1)
    size = len(text) if len(text) > max_bytes else len(text.encode("utf-8", "surrogatepass"))
    if size > max_bytes:
        problems.add(start, Code.TOO_BIG, f"more than {max_bytes} bytes", _SHORTEN)
        return
    for number, line in enumerate(text.split("\n"), start=1):
        if len(problems) >= _MAX_PROBLEMS:
            return
        _check_line(line, Mark(file=file, line=number, column=1), problems)


def _check_line(line: str, start: Mark, problems: Problems) -> None:
    if len(line) > MAX_LINE:
        mark = Mark(file=start.file, line=start.line, column=MAX_LINE + 1)
        what = f"a line of {len(line)} characters"
        problems.add(mark, Code.LONG_LINE, what, f"break it before character {MAX_LINE}")
    if (tab := line.find("\t")) >= 0:
        mark = Mark(file=start.file, line=start.line, column=tab + 1)
        problems.add(mark, Code.TAB, "a tab", "use spaces")
    if found := _FORBIDDEN.search(line):
        mark = Mark(file=start.file, line=start.line, column=found.start() + 1)
        problems.add(mark, Code.CHARACTER, f"the character U+{ord(found[0]):04X}", "remove it")


class _Position(Protocol):
    """What the marks of both parsers have in common; counted from 0."""

    @property
    def line(self) -> int: ...
    @property
    def column(self) -> int: ...


class _StopError(Exception):
    """The rest of the document cannot be read; the reason has been noted."""


@define(kw_only=True)
class _Open:
    """A sequence or mapping that has not ended yet."""

    mark: Mark
    is_mapping: bool
    bracketed: bool
    children: list[Node] = field(factory=list)


@define(kw_only=True)
class _Builder:
    """Folds events into nodes."""

    file: str
    end: Mark
    max_depth: int
    max_nodes: int
    problems: Problems
    _stack: list[_Open] = field(factory=list)
    _root: Node | None = None
    _nodes: int = 0
    _documents: int = 0

    def build(self, text: str) -> Node | None:
        """Return the root, or None where there is none or reading had to stop."""
        try:
            for event in self._events(text):
                self._take(event)
                if len(self.problems) >= _MAX_PROBLEMS:
                    break
        except _StopError:
            return None
        return self._root

    def _events(self, text: str) -> Iterator[yaml.Event]:
        try:
            yield from yaml.parse(text, Loader=_LOADER)
        except yaml.MarkedYAMLError as error:
            told = explain(str(error.problem or error.context or ""))
            marks = (error.problem_mark, error.context_mark)
            mark = (marks[1] or marks[0]) if told.from_start else (marks[0] or marks[1])
            self.problems.add(self._mark(mark), Code.SYNTAX, told.what, told.mend)
        except (yaml.YAMLError, ValueError, OverflowError):
            # The parser written in Python lets chr() fail on an escape beyond the last character.
            told = explain("")
            self.problems.add(self._mark(None), Code.SYNTAX, told.what, told.mend)

    def _mark(self, mark: _Position | None) -> Mark:
        if mark is None:
            return Mark(file=self.file, line=1, column=1)
        found = Mark(file=self.file, line=mark.line + 1, column=mark.column + 1)
        # What is missing at the end is reported behind the last text, not on a line that no editor shows.
        return self.end if found.line > self.end.line else found

    def _take(self, event: yaml.Event) -> None:
        match event:
            case yaml.DocumentStartEvent():
                self._start_document(event)
            case yaml.AliasEvent():
                mark = self._mark(event.start_mark)
                what = f"the alias {quote('*' + str(event.anchor))}"
                self.problems.add(mark, Code.ALIAS, what, "write the contents out, or put a text in quotes")
                self._place(Scalar(text="", mark=mark, end=mark, quoted=True))
            case yaml.ScalarEvent():
                self._place(self._scalar(event))
            case yaml.SequenceStartEvent() | yaml.MappingStartEvent():
                self._open(event)
            case yaml.SequenceEndEvent() | yaml.MappingEndEvent():
                self._close(event)

    def _start_document(self, event: yaml.DocumentStartEvent) -> None:
        mark = self._mark(event.start_mark)
        self._documents += 1
        if self._documents > 1:
            self.problems.add(
                mark, Code.MANY_DOCUMENTS, "a second document starts", 'remove "---" and the rest'
            )
            raise _StopError
        if event.version or event.tags:
            self.problems.add(mark, Code.DIRECTIVE, "a directive", 'remove the line that starts with "%"')

    def _scalar(self, event: yaml.ScalarEvent) -> Scalar:
        mark = self._properties(event)
        # Escapes in double quotes can bring in what may not be written plainly.
        if found := _FORBIDDEN.search(event.value):
            what = f"an escape for the character U+{ord(found[0]):04X}"
            self.problems.add(mark, Code.CHARACTER, what, "remove it")
        end = self._mark(event.end_mark)
        return Scalar(text=event.value, mark=mark, end=end, quoted=event.style not in (None, ""))

    def _properties(self, event: yaml.ScalarEvent | yaml.CollectionStartEvent) -> Mark:
        """Refuse anchor and tag, and give the mark."""
        mark = self._mark(event.start_mark)
        if event.anchor is not None:
            what = f"the anchor {quote('&' + str(event.anchor))}"
            self.problems.add(mark, Code.ANCHOR, what, "remove it, or put a text in quotes")
        if event.tag is not None:
            what = f"the tag {quote(str(event.tag))}"
            self.problems.add(mark, Code.TAG, what, "remove it, or put a text in quotes")
        return mark

    def _count(self, mark: Mark) -> None:
        self._nodes += 1
        if self._nodes > self.max_nodes:
            what = f"more than {self.max_nodes} entries"
            self.problems.add(mark, Code.TOO_MANY_NODES, what, _SHORTEN)
            raise _StopError

    def _open(self, event: yaml.CollectionStartEvent) -> None:
        mark = self._properties(event)
        self._count(mark)
        if len(self._stack) >= self.max_depth:
            what = f"more than {self.max_depth} levels"
            self.problems.add(mark, Code.TOO_DEEP, what, "write it flatter")
            raise _StopError
        is_mapping = isinstance(event, yaml.MappingStartEvent)
        self._stack.append(_Open(mark=mark, is_mapping=is_mapping, bracketed=bool(event.flow_style)))

    def _close(self, event: yaml.CollectionEndEvent) -> None:
        done = self._stack.pop()
        # Without brackets the parser only notices the end where the next thing starts.
        end = self._mark(event.end_mark) if done.bracketed else done.children[-1].end
        if done.is_mapping:
            pairs = self._pairs(done)
            self._put(Mapping(items=pairs, mark=done.mark, end=end, bracketed=done.bracketed))
        else:
            items = tuple(done.children)
            self._put(Sequence(items=items, mark=done.mark, end=end, bracketed=done.bracketed))

    def _place(self, scalar: Scalar) -> None:
        self._count(scalar.mark)
        self._put(scalar)

    def _put(self, node: Node) -> None:
        if self._stack:
            self._stack[-1].children.append(node)
        else:
            self._root = node

    def _pairs(self, done: _Open) -> tuple[tuple[Scalar, Node], ...]:
        """Keys with their nodes, less those that cannot stand."""
        kept: dict[str, tuple[Scalar, Node]] = {}
        for key, node in zip(done.children[::2], done.children[1::2], strict=True):
            if not isinstance(key, Scalar):
                what = f"a {'list' if isinstance(key, Sequence) else 'mapping'} as a key"
                self.problems.add(
                    key.mark, Code.KEY_KIND, what, "use a text as the key, in quotes if need be"
                )
            elif key.text == "<<" and not key.quoted:
                self.problems.add(key.mark, Code.MERGE_KEY, 'the merge key "<<"', "write the entries out")
            elif key.text in kept:
                first = kept[key.text][0].mark
                what = f"the key {quote(key.text)} again, first on line {first.line}"
                self.problems.add(key.mark, Code.DUPLICATE_KEY, what, "keep one of the two")
            else:
                kept[key.text] = (key, node)
        return tuple(kept.values())
