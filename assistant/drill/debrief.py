"""The debrief of a drill: the verdict, the truth, the cost, and both paths, in words and as plain data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from assistant.catalogue import Reach
from assistant.circuit import Measurement
from assistant.dialogue.roles import feeds_of
from assistant.dialogue.words import place_label
from assistant.drill.hiding import Hidden
from assistant.drill.judging import Judge, What, Worth
from assistant.drill.ledger import Made
from assistant.drill.reference import BestPath
from assistant.drill.score import Score
from assistant.drill.told import Json
from assistant.drill.wording import what_words
from assistant.wiring import Boat, Point, point_label, reach_of, terminals_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A check of the learner with its mark; None where it could not be reckoned with."""

    made: Made
    worth: Worth | None


def judged(checks: Sequence[Made], judge: Judge) -> tuple[Judged, ...]:
    """Return checks with their marks."""
    return tuple(Judged(made=made, worth=made.mark(judge).worth if made.counts else None) for made in checks)


def debrief_text(
    boat: Boat, hidden: Hidden, score: Score, yours: Sequence[Judged], best: BestPath, *, with_marks: bool
) -> str:
    """Return how it went: the verdict, the truth, the cost, and both paths one under the other."""
    named = ", ".join(
        f"{place_label(boat, n.place)} ({'right' if n.right else 'wrong'})" for n in score.named
    )
    lines = [
        "Passed." if score.passed else f"Not passed: {'; '.join(score.shortfalls)}.",
        f"Hidden was: {_truth(boat, hidden)}.",
        f"You named: {named or 'nothing'}.",
        f"Time at a real boat, as reckoned: {score.seconds:.0f} s.",
        f"The best path takes {score.best_seconds:.0f} s; a pass allows {score.limit_seconds:.0f} s.",
    ]
    if score.hints:
        lines.append(f"Hints: {score.hints}.")
    if score.wasted:
        wasted = ", ".join(f"{one.action} {place_label(boat, one.place)}" for one in score.wasted)
        lines.append(f"Done in vain: {wasted}.")
    if score.ignored:
        lines.append(f"Cautions ignored: {', '.join(score.ignored)}.")
    marks = [f": {one.worth}" if with_marks and one.worth else "" for one in yours]
    walked = [(one.made.what, one.made.seconds, mark) for one, mark in zip(yours, marks, strict=True)]
    lines += ["Your path:", *_path(boat, walked)]
    lines += ["Best path:", *_path(boat, [(done.what, done.seconds, "") for done in best.checks])]
    lines += _feed_lines(boat, hidden, [one.made.what for one in yours], [one.what for one in best.checks])
    return "\n".join(lines)


def _truth(boat: Boat, hidden: Hidden) -> str:
    parts = boat.parts
    return "; ".join(
        f"{place_label(boat, f.part)}: {parts[f.part].kind.faults[f.mode].says}" for f in hidden.faults
    )


def _path(boat: Boat, checks: Sequence[tuple[What, float, str]]) -> Iterator[str]:
    """Yield the checks of a path, numbered; one made before in the same boat state is there to be sure."""
    every = [what for what, _, _ in checks]
    for number, (what, seconds, mark) in enumerate(checks):
        again = ", once more" if what in every[:number] else ""
        yield f"  {number + 1}. {what_words(boat, what)}{again}, {seconds:.0f} s{mark}"


def _feed_lines(boat: Boat, hidden: Hidden, yours: Sequence[What], best: Sequence[What]) -> Iterator[str]:
    """Yield the feed of what was complained of, point by point, with the checks that touched it and what was hidden."""
    feeds = feeds_of(boat, hidden.complaints[0].query.part)
    if not feeds:
        return
    yield "The feed, from the pack on: checks with a probe there (yours | best), and what was hidden:"
    places = {fault.part for fault in hidden.faults}
    before: Point | None = None
    passed: set[str] = set()
    for point in feeds[0].points:
        here = places & {_between(boat, before, point)}
        yield from (f"  * {place_label(boat, place)}" for place in here - passed)
        passed |= here
        mine, theirs = _touching(point, yours), _touching(point, best)
        if mine or theirs or _is_plain(boat, point):
            yield f"  {point_label(boat, point)}: {mine or '-'} | {theirs or '-'}"
        before = point
    for place in sorted(places - passed):
        where = "what it feeds" if place == feeds[0].points[-1].part else "not on this feed"
        yield f"  * {place_label(boat, place)}, {where}"


def _between(boat: Boat, one: Point | None, other: Point) -> str:
    """Return the part, wire or joint that lies between two points that follow each other on a feed."""
    if one is None or one.part == other.part:
        return other.part
    return f"{one.part}@{one.terminal}" if one.part in boat.leads else f"{other.part}@{other.terminal}"


def _is_plain(boat: Boat, point: Point) -> bool:
    """Tell whether a point is a terminal of a part that a probe can reach, rather than the end of a wire."""
    inside = point.part in boat.leads or point.terminal not in terminals_of(boat, point.part)
    return not inside and reach_of(boat, point) is not Reach.SEALED


def _touching(point: Point, checks: Sequence[What]) -> str:
    """Return the numbers of the readings with a probe on a point."""
    numbered = enumerate(checks, start=1)
    return " ".join(str(n) for n, w in numbered if isinstance(w, Measurement) and point in (w.red, w.black))


def debrief_data(
    boat: Boat, hidden: Hidden, score: Score, yours: Sequence[Judged], best: BestPath
) -> dict[str, Json]:
    """Return how it went as plain data."""
    checks: list[Json] = [
        {
            "what": what_words(boat, one.made.what),
            "seconds": one.made.seconds,
            "worth": None if one.worth is None else str(one.worth),
        }
        for one in yours
    ]
    return {
        "passed": score.passed,
        "shortfalls": list(score.shortfalls),
        "seconds": score.seconds,
        "best_seconds": score.best_seconds,
        "limit_seconds": score.limit_seconds,
        "telling": score.telling,
        "faults": [{"place": f.part, "mode": f.mode, "severity": f.severity} for f in hidden.faults],
        "checks": checks,
        "hints": score.hints,
        "best_path": [what_words(boat, one.what) for one in best.checks],
        "wasted": [one.place for one in score.wasted],
        "ignored": list(score.ignored),
    }
