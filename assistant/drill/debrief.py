"""The debrief of a drill: the verdict, the truth, the cost, and both paths, in words and as plain data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from assistant.circuit import Measurement
from assistant.dialogue.roles import feeds_of
from assistant.dialogue.words import place_label
from assistant.drill.hiding import Hidden
from assistant.drill.judging import What
from assistant.drill.ledger import Made
from assistant.drill.reference import BestPath
from assistant.drill.score import Score
from assistant.drill.told import Json
from assistant.drill.wording import what_words
from assistant.wiring import Boat, Point, point_label


def debrief_text(
    boat: Boat, hidden: Hidden, score: Score, yours: tuple[Sequence[Made], Sequence[str]], best: BestPath
) -> str:
    """Return how it went: the verdict, the truth, the cost, and both paths one under the other."""
    parts = boat.parts
    truth = "; ".join(
        f"{place_label(boat, f.part)}: {parts[f.part].kind.faults[f.mode].says}" for f in hidden.faults
    )
    lines = [
        "Passed." if score.passed else f"Not passed: {'; '.join(score.shortfalls)}.",
        f"Hidden was: {truth}.",
    ]
    named = ", ".join(
        f"{place_label(boat, n.place)} ({'right' if n.right else 'wrong'})" for n in score.named
    )
    lines.append(f"You named: {named or 'nothing'}.")
    lines.append(
        f"Cost of finding: {score.seconds:.0f} s; best path {score.best_seconds:.0f} s; "
        f"a pass allows {score.limit_seconds:.0f} s."
    )
    if score.wasted:
        wasted = ", ".join(f"{one.action} {place_label(boat, one.place)}" for one in score.wasted)
        lines.append(f"Done in vain: {wasted}.")
    if score.ignored:
        lines.append(f"Cautions ignored: {', '.join(score.ignored)}.")
    checks, worths = yours
    lines.append("Your path:")
    lines += [
        f"  {n}. {what_words(boat, made.what)}, {made.seconds:.0f} s{f': {worth}' if worth else ''}"
        for n, (made, worth) in enumerate(zip(checks, worths, strict=True), start=1)
    ]
    lines.append("Best path:")
    lines += [
        f"  {n}. {what_words(boat, one.what)}, {one.seconds:.0f} s"
        for n, one in enumerate(best.checks, start=1)
    ]
    lines += _feed_lines(boat, hidden, [made.what for made in checks], [one.what for one in best.checks])
    return "\n".join(lines)


def _feed_lines(boat: Boat, hidden: Hidden, yours: Sequence[What], best: Sequence[What]) -> Iterator[str]:
    """Yield the feed of what was complained of, point by point, with the numbers of the checks that touched it."""
    feeds = feeds_of(boat, hidden.complaints[0].query.part)
    if not feeds:
        return
    yield "On the feed, from the pack on, checks touched these points (yours | best):"
    for point in feeds[0].points:
        mine, theirs = _touching(point, yours), _touching(point, best)
        if mine or theirs:
            yield f"  {point_label(boat, point)}: {mine or '-'} | {theirs or '-'}"


def _touching(point: Point, checks: Sequence[What]) -> str:
    """Return the numbers of the readings with a probe on a point."""
    numbered = enumerate(checks, start=1)
    return " ".join(str(n) for n, w in numbered if isinstance(w, Measurement) and point in (w.red, w.black))


def debrief_data(
    boat: Boat,
    hidden: Hidden,
    score: Score,
    yours: tuple[Sequence[Made], Sequence[str | None]],
    best: BestPath,
) -> dict[str, Json]:
    """Return how it went as plain data."""
    checks: list[Json] = [
        {"what": what_words(boat, made.what), "seconds": made.seconds, "worth": worth}
        for made, worth in zip(*yours, strict=True)
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
        "best_path": [what_words(boat, one.what) for one in best.checks],
        "wasted": [one.place for one in score.wasted],
        "ignored": list(score.ignored),
    }
