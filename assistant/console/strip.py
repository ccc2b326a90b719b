"""The feed strip: the way from the pack to the device as a sounding line with marks.

The line hangs from the pack. Each mark is a point that can be touched, with the volts that a healthy boat
has there and what was read. Doubt belongs to the piece of line above a mark: the chance that the fault lies
between the mark before and this one. R and B show where the probes go. A reading with both probes on the
line stands at the lower mark behind a bar; one taken with the boat set otherwise stands in brackets. Where
the page is wide enough the line lies across it; a narrow page shows it hanging, goes on in a second row
with names that are too long, and leaves out quiet marks, at last even the ends, when it is short of rows.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from rich.cells import cell_len
from rich.text import Text

from assistant.circuit import Measurement
from assistant.circuit.expectation import BandName
from assistant.console.page import Page, columns
from assistant.dialogue import StripPoint, StripRead
from assistant.dialogue.spans import percent, reading_words, typical_words
from assistant.quantities import Unit

__all__ = ["lies_across", "strip_lines"]

_LEAST_DOUBT: Final = 0.005
_LYING_FROM: Final = 60
_SPOKEN_FROM: Final = 0.05
_HEADINGS: Final = ("feed", "expect", "read")
_TIE: Final = 4
_LEAST_LABEL: Final = 13
_DOUBT: Final = 6
_ENDS_FROM: Final = 5
"""Rows from which both ends of the way stay; in fewer they would hide where the doubt lies."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Mark:
    """A point of the line in words: `read` as short as can be, `said` with words where there is room."""

    label: str
    expect: str
    read: str
    said: tuple[str, ...]
    off: bool
    share: float
    doubt: str
    probe: str
    weight: float


def strip_lines(
    points: Sequence[StripPoint], page: Page, *, probes: Measurement | None = None, rows: int = 99
) -> Iterator[Text]:
    """Yield the lines of the feed strip; none when there is no path.

    Parameters
    ----------
    points
        The path, from the pack to the device.
    page
        Where to draw it.
    probes
        The reading that is asked for, whose probes are marked.
    rows
        Lines there are for it; at least 3 are used.
    """
    marks = [_mark(point, page, probes) for point in points]
    if not marks:
        return
    if page.plain:
        yield from _spoken(marks, page)
    elif _fits_lying(marks, page):
        yield from _lying(marks, page)
    else:
        yield from _hanging(marks, page, max(rows, 3))


def lies_across(points: Sequence[StripPoint], page: Page) -> bool:
    """Return whether the strip lies across this page, rather than hanging down."""
    return bool(points) and _fits_lying([_mark(point, page, None) for point in points], page)


def _mark(point: StripPoint, page: Page, probes: Measurement | None) -> _Mark:
    on_red = probes is not None and probes.red == point.point
    on_black = probes is not None and probes.black == point.point
    reads = [(read, drop) for read, drop in ((point.read, False), (point.drop, True)) if read is not None]
    # A reading of this state that is not as expected tells most; where there is room for one, it is that.
    told = sorted(reads, key=lambda one: (not one[0].here, not _is_off(one[0])))
    return _Mark(
        label=page.words(point.label),
        expect="" if point.expected is None else page.words(typical_words(point.expected.typical)),
        read=page.words(_short(*told[0])) if told else "",
        said=tuple(page.words(_long(read, drop=drop, spoken=page.plain)) for read, drop in reads),
        off=any(_is_off(read) and read.here for read, _ in reads),
        share=point.suspicion,
        doubt=_doubt(point.suspicion),
        probe="R" if on_red else "B" if on_black else "",
        weight=point.suspicion + 2.0 * (on_red or on_black) + (0.5 + 0.5 * told[0][0].here if told else 0.0),
    )


def _is_off(read: StripRead) -> bool:
    return read.standing is not BandName.AS_EXPECTED


def _short(read: StripRead, drop: bool) -> str:
    text = f"{'!' if _is_off(read) else ''}{'|' if drop else ''}{reading_words(read.volts, Unit.VOLT)}"
    return text if read.here else f"({text})"


def _long(read: StripRead, *, drop: bool, spoken: bool) -> str:
    words = [reading_words(read.volts, Unit.VOLT)]
    words += [str(read.standing)] if _is_off(read) else []
    words += ["across"] if drop else []
    if spoken and not read.here:
        words += ["with the boat set otherwise"]
    return " ".join(words) if read.here or spoken else f"({' '.join(words)})"


def _doubt(share: float) -> str:
    return percent(share) if share >= _LEAST_DOUBT else ""


def _style(mark: _Mark) -> str:
    return "off" if mark.off else "probe" if mark.probe else ""


def _spoken(marks: Sequence[_Mark], page: Page) -> Iterator[Text]:
    yield Text("Feed, from the pack to the device:")
    ends = (marks[0], marks[-1])
    for mark in (mark for mark in marks if mark.weight >= _SPOKEN_FROM or mark in ends):
        said = [f"expect {mark.expect}" if mark.expect else ""]
        said += [f"read {text}" for text in mark.said]
        said += [f"{mark.doubt} doubt {'about' if mark is marks[0] else 'up to'} it" if mark.doubt else ""]
        said += [{"R": "red probe here", "B": "black probe here"}.get(mark.probe, "")]
        yield from page.wrap(
            f"{mark.label}: {', '.join(filter(None, said)) or 'nothing known'}", first="  ", rest="    "
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Widths:
    """Columns of the line hanging; one that holds nothing takes no room."""

    label: int
    expect: int
    read: int
    doubt: int


def _hanging(marks: Sequence[_Mark], page: Page, rows: int) -> Iterator[Text]:
    reads = [" ".join(mark.said) if page.width >= _LYING_FROM else mark.read for mark in marks]
    widths = _widths(marks, reads, page)
    names = [list(page.wrapped(mark.label, widths.label - _TIE)) for mark in marks]
    yield Text(columns(_row_of("  feed", *(_HEADINGS[1:]), "doubt", widths)), "heading")
    shown = _chosen(marks, [len(name) for name in names], rows - 1)
    hidden: list[_Mark] = []
    for number, mark in enumerate(marks):
        if number not in shown:
            hidden.append(mark)
            continue
        if hidden:
            yield _gap(hidden, widths)
            hidden = []
        knot = page.glyphs.top if number == 0 else page.glyphs.knot
        knot = page.glyphs.weight if number == len(marks) - 1 else knot
        first = f"{mark.probe or ' '} {knot} {names[number][0]}"
        yield Text(columns(_row_of(first, mark.expect, reads[number], mark.doubt, widths)), _style(mark))
        yield from (Text(f"{' ' * _TIE}{rest}", _style(mark)) for rest in names[number][1:])
    if hidden:
        yield _gap(hidden, widths)


def _gap(hidden: Sequence[_Mark], widths: _Widths) -> Text:
    """Return the row that stands for marks left out."""
    doubt = _doubt(sum(mark.share for mark in hidden))
    return Text(columns(_row_of(f"  : {len(hidden)} more", "", "", doubt, widths)))


def _widths(marks: Sequence[_Mark], reads: Sequence[str], page: Page) -> _Widths:
    def width(texts: Sequence[str], heading: str) -> int:
        return max(map(cell_len, (*texts, heading))) + 1 if any(texts) else 0

    expect = width([mark.expect for mark in marks], "expect")
    read = width(reads, "read")
    doubt = _DOUBT if any(mark.doubt for mark in marks) else 0
    # On a page too narrow for all columns what was read stays longest.
    if page.width - expect - read - doubt < _LEAST_LABEL:
        expect = 0
    if page.width - expect - read - doubt < _LEAST_LABEL:
        doubt = 0
    labels = max(cell_len(mark.label) for mark in marks)
    room = page.width - expect - read - doubt
    return _Widths(label=max(min(labels + _TIE, room), 1), expect=expect, read=read, doubt=doubt)


def _row_of(label: str, expect: str, read: str, doubt: str, widths: _Widths) -> tuple[tuple[str, int], ...]:
    return ((label, widths.label), (expect, -widths.expect), (read, -widths.read), (doubt, -widths.doubt))


def _chosen(marks: Sequence[_Mark], heights: Sequence[int], rows: int) -> set[int]:
    """Return which marks fit: both ends, then those under a probe, read or in doubt; in few rows most doubt first.

    Each run of hidden marks takes one row itself, so a run of one is never hidden.
    """
    everywhere = range(len(marks))
    wanted = sorted(everywhere, key=lambda number: -marks[number].weight)
    ends = {0, len(marks) - 1}
    shown = ends if rows >= _ENDS_FROM else {max(everywhere, key=lambda number: marks[number].share)}
    before = None
    while before != shown:
        before = set(shown)
        for number in wanted:
            if _rows_of(shown | {number}, heights) <= rows:
                shown = shown | {number}
    return shown


def _rows_of(shown: set[int], heights: Sequence[int]) -> int:
    hidden = [number not in shown for number in range(len(heights))]
    gaps = sum(now and not before for before, now in pairwise([False, *hidden]))
    return sum(heights[number] for number in shown) + gaps


def _fits_lying(marks: Sequence[_Mark], page: Page) -> bool:
    return page.width >= max(_LYING_FROM, _margin(marks) + sum(map(_cell, marks)))


def _margin(marks: Sequence[_Mark]) -> int:
    """Room before the first mark: the headings, and the doubt about the pack itself."""
    return max(map(len, _HEADINGS)) + 2 + (_DOUBT if marks[0].doubt else 0)


def _cell(mark: _Mark) -> int:
    texts = (mark.label, mark.expect, " ".join(mark.said))
    return max(*map(cell_len, texts), _DOUBT + 2) + 2


def _lying(marks: Sequence[_Mark], page: Page) -> Iterator[Text]:
    margin = _margin(marks)
    cells = [_cell(mark) for mark in marks]
    rope = _rope(page, marks[0].doubt, margin - len(_HEADINGS[0]) - 1) if marks[0].doubt else ""
    line = Text.assemble((f"{_HEADINGS[0]} ".ljust(margin - len(rope)), "heading"), rope)
    for number, (mark, width) in enumerate(zip(marks, cells, strict=True)):
        line.append(mark.probe or page.glyphs.tie, _style(mark))
        if number < len(marks) - 1:
            line.append(_rope(page, marks[number + 1].doubt, width - 1))
    yield _row("", [(mark.label, _style(mark)) for mark in marks], margin, cells)
    yield line
    yield _row(_HEADINGS[1], [(mark.expect, "") for mark in marks], margin, cells)
    if any(mark.said for mark in marks):
        yield _row(_HEADINGS[2], [(" ".join(mark.said), _style(mark)) for mark in marks], margin, cells)


def _rope(page: Page, doubt: str, width: int) -> str:
    """Return a piece of line with the doubt about it in its middle."""
    text = f" {doubt} " if doubt else ""
    left = (width - len(text)) // 2
    return page.glyphs.rope * left + text + page.glyphs.rope * (width - left - len(text))


def _row(heading: str, texts: Sequence[tuple[str, str]], margin: int, cells: Sequence[int]) -> Text:
    line = Text.assemble((heading.ljust(margin), "heading"))
    for (text, style), width in zip(texts, cells, strict=True):
        line.append(text, style)
        line.append(" " * (width - cell_len(text)))
    line.rstrip()
    return line
