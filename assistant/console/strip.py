"""The feed strip: the way from the pack to the device as a sounding line with marks.

The line hangs from the pack. Each mark is a point that can be touched, with the volts that a healthy boat
has there and what was read. Doubt belongs to the piece of line above a mark: the chance that the fault lies
between the mark before and this one. R and B show where the probes go. Where the page is wide enough the
line lies across it; a narrow page shows it hanging, and leaves out quiet marks when it is short of rows.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from rich.cells import cell_len
from rich.text import Text

from assistant.circuit import Measurement
from assistant.circuit.expectation import BandName
from assistant.console.page import Page, columns
from assistant.console.suspects import percent
from assistant.console.values import reading_words, standing, typical_words
from assistant.dialogue import StripPoint
from assistant.quantities import Unit

__all__ = ["lies_across", "strip_lines"]

_LEAST_DOUBT: Final = 0.005
_LYING_FROM: Final = 60
_SPOKEN_FROM: Final = 0.05
_HEADINGS: Final = ("feed", "expect", "read")
_VOLTS: Final = 8
_DOUBT: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class _Mark:
    """A point of the line in words."""

    label: str
    expect: str
    read: str
    band: BandName | None
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
    band = standing(point.expected, point.read_v)
    on_red = probes is not None and probes.red == point.point
    on_black = probes is not None and probes.black == point.point
    return _Mark(
        label=page.words(point.label),
        expect=page.words(typical_words(point.expected)),
        read="" if point.read_v is None else page.words(reading_words(point.read_v, Unit.VOLT)),
        band=band,
        share=point.suspicion,
        doubt=_doubt(point.suspicion),
        probe="R" if on_red else "B" if on_black else "",
        weight=point.suspicion + 2.0 * (on_red or on_black) + (point.read_v is not None),
    )


def _doubt(share: float) -> str:
    return percent(share) if share >= _LEAST_DOUBT else ""


def _style(mark: _Mark) -> str:
    off = mark.band not in {None, BandName.AS_EXPECTED}
    return "off" if off else "probe" if mark.probe else ""


def _flagged(mark: _Mark, *, words: bool) -> str:
    """Return the reading, and by a sign or in words that it is not what a healthy boat shows."""
    if mark.band in {None, BandName.AS_EXPECTED}:
        return mark.read
    return f"{mark.read} {mark.band}" if words else f"!{mark.read}"


def _spoken(marks: Sequence[_Mark], page: Page) -> Iterator[Text]:
    yield Text("Feed, from the pack to the device:")
    ends = (marks[0], marks[-1])
    for mark in (mark for mark in marks if mark.weight >= _SPOKEN_FROM or mark in ends):
        said = [f"expect {mark.expect}" if mark.expect else ""]
        said += [f"read {_flagged(mark, words=True)}" if mark.read else ""]
        said += [f"{mark.doubt} doubt {'about' if mark is marks[0] else 'up to'} it" if mark.doubt else ""]
        said += [{"R": "red probe here", "B": "black probe here"}.get(mark.probe, "")]
        yield from page.wrap(f"{mark.label}: {', '.join(filter(None, said)) or 'nothing known'}", first="  ")


def _hanging(marks: Sequence[_Mark], page: Page, rows: int) -> Iterator[Text]:
    wide = page.width >= _LYING_FROM
    read = 2 * _VOLTS if wide else _VOLTS
    labels = max(cell_len(mark.label) for mark in marks)
    label = min(labels, page.width - 4 - _VOLTS - read - _DOUBT)
    heads = (("  feed", label + 4), ("expect", -_VOLTS), ("read", -read), ("doubt", -_DOUBT))
    yield Text(columns(heads), "heading")
    shown = _chosen(marks, rows - 1)
    hidden: list[_Mark] = []
    for number, mark in enumerate(marks):
        if number not in shown:
            hidden.append(mark)
            continue
        if hidden:
            between = sum(one.share for one in hidden)
            cells = (
                (f"  : {len(hidden)} more between", label + 4 + _VOLTS + read),
                (_doubt(between), -_DOUBT),
            )
            yield Text(columns(cells))
            hidden = []
        knot = page.glyphs.top if number == 0 else page.glyphs.knot
        knot = page.glyphs.weight if number == len(marks) - 1 else knot
        row = (
            (f"{mark.probe or ' '} {knot} {mark.label}", label + 4),
            (mark.expect, -_VOLTS),
            (_flagged(mark, words=wide), -read),
            (mark.doubt, -_DOUBT),
        )
        yield Text(columns(row), _style(mark))


def _chosen(marks: Sequence[_Mark], rows: int) -> set[int]:
    """Return which marks fit: both ends always, then those under a probe, read or in doubt.

    Each run of hidden marks takes one row itself, so a run of one is never hidden.
    """
    everywhere = set(range(len(marks)))
    shown = {0, len(marks) - 1}
    wanted = sorted(everywhere - shown, key=lambda number: -marks[number].weight)
    before = None
    while before != shown:
        before = set(shown)
        for number in wanted:
            if _rows_of(shown | {number}, len(marks)) <= rows:
                shown = shown | {number}
    return shown


def _rows_of(shown: set[int], count: int) -> int:
    return len(shown) + sum(number not in shown and number - 1 in shown for number in range(1, count))


def _fits_lying(marks: Sequence[_Mark], page: Page) -> bool:
    return page.width >= max(_LYING_FROM, _margin(marks) + sum(map(_cell, marks)))


def _margin(marks: Sequence[_Mark]) -> int:
    """Room before the first mark: the headings, and the doubt about the pack itself."""
    return max(map(len, _HEADINGS)) + 2 + (_DOUBT if marks[0].doubt else 0)


def _cell(mark: _Mark) -> int:
    texts = (mark.label, mark.expect, _flagged(mark, words=True))
    return max(*map(cell_len, texts), _DOUBT + 2) + 2


def _lying(marks: Sequence[_Mark], page: Page) -> Iterator[Text]:
    margin = _margin(marks)
    cells = [_cell(mark) for mark in marks]
    line = Text(_rope(page, marks[0].doubt, margin - len(_HEADINGS[0]) - 1) if marks[0].doubt else "")
    line = Text(f"{_HEADINGS[0]} ".ljust(margin - len(line)), "heading") + line
    for number, (mark, width) in enumerate(zip(marks, cells, strict=True)):
        line.append(mark.probe or page.glyphs.tie, _style(mark))
        if number < len(marks) - 1:
            line.append(_rope(page, marks[number + 1].doubt, width - 1))
    yield _row("", [(mark.label, _style(mark)) for mark in marks], margin, cells)
    yield line
    yield _row(_HEADINGS[1], [(mark.expect, "") for mark in marks], margin, cells)
    yield _row(_HEADINGS[2], [(_flagged(mark, words=True), _style(mark)) for mark in marks], margin, cells)


def _rope(page: Page, doubt: str, width: int) -> str:
    """Return a piece of line with the doubt about it in its middle."""
    text = f" {doubt} " if doubt else ""
    left = (width - len(text)) // 2
    return page.glyphs.rope * left + text + page.glyphs.rope * (width - left - len(text))


def _row(heading: str, texts: Sequence[tuple[str, str]], margin: int, cells: Sequence[int]) -> Text:
    line = Text(heading.ljust(margin), "heading")
    for (text, style), width in zip(texts, cells, strict=True):
        line.append(text, style)
        line.append(" " * (width - cell_len(text)))
    line.rstrip()
    return line
