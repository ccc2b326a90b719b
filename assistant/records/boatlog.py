"""All cases of a boat together: what failed again, what was replaced, what is still makeshift.

It works from the closings and remarks alone, without replaying, so it stays quick however many cases there are. A
repair counts once it was proved in its case, or was recorded as made at the bench.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from assistant.catalogue import Action
from assistant.diagnosis import RepairId
from assistant.dialogue import Ending
from assistant.records.html import page_of
from assistant.records.lines import Contents, RemarkKind
from assistant.records.store import Summary
from assistant.records.words import harmless, moment

__all__ = ["BoatLog", "LogRow", "log_html", "log_of", "log_text", "past_repairs", "repair_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LogRow:
    """A case in a line."""

    case: str
    started: str
    symptom: str
    outcome: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatLog:
    """The log of a boat.

    Attributes
    ----------
    rows : its cases, the oldest first.
    repeated : places that were mended more than once, with their count.
    replaced : parts replaced, with the day of each.
    makeshift : temporary repairs not undone, with case and day.
    """

    boat: str
    rows: tuple[LogRow, ...]
    repeated: tuple[tuple[str, int], ...]
    replaced: tuple[tuple[str, str], ...]
    makeshift: tuple[str, ...]


def log_of(boat: str, cases: Iterable[Summary]) -> BoatLog:
    """Return the log of the boat of this name; damaged cases are left out.

    Parameters
    ----------
    boat
        Name of the boat, in any case of letters.
    cases
        All cases.
    """
    mine = sorted(_of_boat(boat, cases), key=lambda pair: pair[1].header.started)
    repairs = [(contents.header.started, repair) for _, contents in mine for repair in _proved(contents)]
    counts = Counter(repair.place for _, repair in repairs)
    return BoatLog(
        boat=harmless(mine[-1][1].header.boat if mine else boat),
        rows=tuple(_row(name, contents) for name, contents in mine),
        repeated=tuple((place, count) for place, count in counts.most_common() if count > 1),
        replaced=tuple((r.place, moment(at)[:10]) for at, r in repairs if r.action is Action.REPLACE),
        makeshift=tuple(text for name, contents in mine for text in _makeshift(name, contents)),
    )


def past_repairs(boat: str, cases: Iterable[Summary]) -> Mapping[RepairId, int]:
    """Return the proved repairs of a boat's closed cases with their count, for the priors of the next hunt."""
    repairs = (repair for _, contents in _of_boat(boat, cases) for repair in _proved(contents))
    return dict(sorted(Counter(repairs).items()))


def repair_of(words: str) -> RepairId | None:
    """Return the repair written as ``action place``, or None when it is none.

    >>> repair_of("replace fuse")
    RepairId(place='fuse', action=<Action.REPLACE: 'replace'>)
    """
    action, _, place = words.partition(" ")
    return RepairId(place=place, action=Action(action)) if place and action in set(Action) else None


def _of_boat(boat: str, cases: Iterable[Summary]) -> Iterator[tuple[str, Contents]]:
    for case in cases:
        if case.contents is not None and case.contents.header.boat.casefold() == boat.casefold():
            yield case.name, case.contents


def _proved(contents: Contents) -> Iterator[RepairId]:
    closing = contents.closing
    if closing is None:
        return
    if closing.outcome == Ending.MENDED:
        yield from filter(None, map(repair_of, closing.done))
    left = [repair for repair in map(repair_of, closing.left) if repair is not None]
    for remark in contents.remarks:
        if remark.kind is RemarkKind.MENDED:
            # Which action it was follows from what the verdict had left at that place.
            yield from (repair for repair in left if repair.place == remark.place)


def _makeshift(name: str, contents: Contents) -> Iterator[str]:
    undone = {one.place for one in contents.remarks if one.kind is RemarkKind.UNDONE}
    for one in contents.remarks:
        if one.kind is RemarkKind.TEMPORARY and one.place not in undone:
            yield harmless(f"{one.place or 'somewhere'}: {one.text} ({moment(one.at)[:10]}, case {name})")


def _row(name: str, contents: Contents) -> LogRow:
    closing = contents.closing
    return LogRow(
        case=name,
        started=moment(contents.header.started),
        symptom=harmless(contents.header.symptom),
        outcome=harmless(closing.outcome) if closing else "open",
        text=harmless(closing.text) if closing else f"{len(contents.entries)} answers",
    )


def log_text(log: BoatLog) -> Iterator[str]:
    """Yield the log as plain lines."""
    yield f"{log.boat}: {len(log.rows)} {'case' if len(log.rows) == 1 else 'cases'}"
    for row in log.rows:
        yield f"{row.started}  {row.symptom}: {row.outcome}, {row.text}  [{row.case}]"
    for title, lines in _parts(log):
        yield ""
        yield f"{title}:"
        yield from (f"- {line}" for line in lines)


def log_html(log: BoatLog) -> str:
    """Return the log as one HTML page."""
    rows = "".join(
        "<tr>"
        + "".join(f"<td>{escape(text)}</td>" for text in (r.started, r.symptom, r.outcome, r.text, r.case))
        + "</tr>"
        for r in log.rows
    )
    heads = "".join(f"<th>{head}</th>" for head in ("Begun", "Symptom", "Outcome", "Repairs", "Case"))
    parts = "".join(
        f"<h2>{title}</h2><ul>{''.join(f'<li>{escape(line)}</li>' for line in lines)}</ul>"
        for title, lines in _parts(log)
    )
    body = f"<h1>Log of {escape(log.boat)}</h1>{parts}<h2>Cases</h2>"
    table = f'<table class="cells"><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>'
    return page_of(f"Log of {log.boat}", body + table)


def _parts(log: BoatLog) -> Iterator[tuple[str, Sequence[str]]]:
    every = (
        ("Undo at the bench", log.makeshift),
        ("Failed again", [f"{place}: {count} times" for place, count in log.repeated]),
        ("Parts replaced", [f"{place}, {day}" for place, day in log.replaced]),
    )
    return ((title, lines) for title, lines in every if lines)
