"""The page that everything is laid out on: its size, the glyphs it may use, and what text may not do to it.

Text from people and files is cleaned before it is laid out: control and direction characters are dropped,
so that no boat, note or file can move the cursor, colour the screen or turn words round. Where the terminal
cannot show a character, a plain one takes its place before anything is measured, so that columns stay
columns. Lines are rich `Text` values; nothing is ever read as markup.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from rich.cells import cell_len, chop_cells, set_cell_size
from rich.text import Text

__all__ = ["ASCII", "LINES", "Glyphs", "Page", "clean", "glyphs_for"]

_DROPPED: Final = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})
_SPACES: Final = frozenset({"Zl", "Zp", "Zs"})
_PLAIN: Final = {
    "Ω": "ohm",
    "\N{OHM SIGN}": "ohm",
    "µ": "u",
    "μ": "u",
    "–": "-",
    "—": "-",
    "−": "-",
    "…": "...",
    "°": " deg ",
    "±": "+/-",
    "×": "x",
    "·": "*",
    "²": "2",
    "³": "3",
    "≤": "<=",
    "≥": ">=",
    "‘": "'",
    "’": "'",
    "“": '"',
    "”": '"',
    "→": "->",
}

_WORD: Final = re.compile(
    r"\S*\d (?:%|[umkMµ]?(?:V|A|W|s|ohm|Ω)|Ah|Hz|min|mm2?|mm²|m)(?!\w)\S*"
    r"|[^\s-]\S* [-+](?=[\s,.;:?!)]|$)[,.;:?!)]*"
    r"|\S+"
)
"""What stays together on a line: a figure with its unit, a part with the sign of its terminal, any other word."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Glyphs:
    """What lines are drawn with.

    Attributes
    ----------
    top, knot, weight : first, further and last mark of the feed line hanging down.
    rope : the feed line lying.
    tie : a mark on the line lying.
    rule : a separating line.
    bar : a piece of a bar.
    """

    unicode: bool
    top: str
    knot: str
    weight: str
    rope: str
    tie: str
    rule: str
    bar: str


LINES: Final = Glyphs(unicode=True, top="╥", knot="╫", weight="╨", rope="═", tie="╪", rule="─", bar="━")
ASCII: Final = Glyphs(unicode=False, top="+", knot="+", weight="+", rope="=", tie="+", rule="-", bar="=")


def glyphs_for(encoding: str | None) -> Glyphs:
    """Return what a terminal with this character encoding can show.

    >>> glyphs_for("ascii").rope
    '='
    """
    try:
        "╥╫╨═╪─━Ωµ–".encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return ASCII
    return LINES


def clean(text: str) -> str:
    r"""Return text on one line without anything a terminal would obey.

    >>> clean("a\x1b[2J\u202eb\nc")
    'a[2Jb c'
    """
    kept = (_harmless(character) for character in text)
    return "".join(kept)


def _harmless(character: str) -> str:
    if character in "\t\n\r\v\f":
        return " "
    category = unicodedata.category(character)
    if category in _SPACES:
        return " "
    return "" if category in _DROPPED else character


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """Room for a screen.

    Attributes
    ----------
    width, rows : columns and lines there are; at least 20 and 10 are assumed.
    glyphs : what lines are drawn with.
    plain : sentences one under the other instead of columns and drawings.
    """

    width: int
    rows: int
    glyphs: Glyphs
    plain: bool = False

    def words(self, text: str) -> str:
        """Return text as it can be shown here: harmless, on one line, in characters the terminal has."""
        text = clean(text)
        if self.glyphs.unicode:
            return text
        text = "".join(_PLAIN.get(character, character) for character in text)
        text = unicodedata.normalize("NFKD", text)
        text = "".join(character for character in text if not unicodedata.combining(character))
        return text.encode("ascii", "replace").decode("ascii")

    def wrap(self, text: str, *, first: str = "", rest: str | None = None, style: str = "") -> Iterator[Text]:
        """Yield the lines of a paragraph.

        Parameters
        ----------
        text
            What to say.
        first, rest
            What stands before the first line and before the others (spaces of the same width when absent).
        style
            Style of `text`; what stands before stays plain.
        """
        rest = " " * cell_len(first) if rest is None else rest
        room = max(self.width - max(cell_len(first), cell_len(rest)), 8)
        for number, line in enumerate(_broken(self.words(text), room)):
            yield Text.assemble(rest if number else first, (line, style))

    def wrapped(self, text: str, room: int) -> list[str]:
        """Return a text broken into lines of at most `room` columns."""
        return _broken(self.words(text), max(room, 1))

    def paragraphs(self, text: str, *, style: str = "") -> Iterator[Text]:
        """Yield the lines of a text that has line ends of its own."""
        for line in text.splitlines():
            indent = " " * min(len(line) - len(line.lstrip()), self.width // 4)
            yield from self.wrap(line.strip(), first=indent, style=style)

    def rule(self, title: str = "") -> Text:
        """Return a separating line with a title in it."""
        rope = self.glyphs.rule
        head = f"{rope * 2} {cut(self.words(title), self.width - 6)} " if title else ""
        return Text(head + rope * (self.width - cell_len(head)), "rule")


def cut(text: str, room: int) -> str:
    """Return text shortened to `room` columns, with dots for what is missing.

    >>> cut("plug at pack +", 10)
    'plug at...'
    """
    if cell_len(text) <= room:
        return text
    return set_cell_size(text, max(room - 3, 0)).rstrip() + "..."[: max(room, 0)]


def columns(cells: Iterable[tuple[str, int]]) -> str:
    """Return cells side by side, each filled or cut to its width; a negative width puts it to the right."""
    filled = []
    for text, width in cells:
        short = cut(text, abs(width))
        space = " " * (abs(width) - cell_len(short))
        filled.append(space + short if width < 0 else short + space)
    return "".join(filled).rstrip()


def _broken(text: str, room: int) -> list[str]:
    """Break text into lines of at most `room` columns, inside a word only where it is longer than a line.

    >>> _broken("expect 7.5 V", 10)
    ['expect', '7.5 V']
    """
    lines = [""]
    for word in _WORD.findall(text):
        candidate = f"{lines[-1]} {word}".strip()
        if cell_len(candidate) <= room:
            lines[-1] = candidate
            continue
        pieces = chop_cells(word, room)
        lines += pieces if lines[-1] else []
        if not lines[-1]:
            lines[-1:] = pieces
    return lines
