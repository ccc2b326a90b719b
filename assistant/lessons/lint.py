"""Lessons tried out: every example is worked out and held against its bands, every drill against its boat.

- ``example``: an example that cannot be worked out
- ``expect``: a number or sign that is not what the lesson says
- ``live-ohms``: ohms or beeper with a pack plugged in
- ``drill``: a drill on a boat, fault or sign that there is not, or with fewer faults than it hides at once
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from assistant.catalogue import Catalogue, Group
from assistant.circuit import MeterFunction
from assistant.documents import Mark, Problems, suggestion
from assistant.errors import LeadlineError, Problem, QuantityError, WiringError, quote
from assistant.lessons.model import Drill, Lesson, Look, Number, Reading, Worked
from assistant.lessons.work import Bench, Result, bench_of
from assistant.quantities import parse_quantity
from assistant.wiring import Boat, load_boat


def lint_lessons(
    lessons: Iterable[Lesson],
    catalogue: Catalogue,
    boats: Mapping[str, str],
) -> tuple[Problem, ...]:
    """Return what is wrong with lessons that are well written, in the order of place.

    Parameters
    ----------
    lessons
        The lessons.
    catalogue
        All part kinds.
    boats
        Wiring description of each example boat, by name.
    """
    problems = Problems()
    for lesson in lessons:
        _check_example(lesson.worked, catalogue, boats, problems)
        for drill in lesson.drills:
            _check_drill(drill, catalogue, boats, problems)
    return tuple(problems)


def _check_example(
    worked: Worked, catalogue: Catalogue, boats: Mapping[str, str], problems: Problems
) -> None:
    try:
        bench = bench_of(worked, catalogue, boats)
    except LeadlineError as error:
        _note(error, worked.mark, "example", problems)
        return
    for number in worked.numbers.values():
        try:
            if _is_live(number, bench):
                what = f"{quote(number.name)} is read with a pack plugged in"
                problems.add(number.mark, "live-ohms", what, 'read it with "base: rest"')
            result = bench.result(number)
            as_it_should, limits = _expected(number, result)
        except LeadlineError as error:
            _note(error, number.mark, "example", problems)
            continue
        if not as_it_should:
            what = f"{quote(number.name)} comes out as {result.level or result.text}, not {limits}"
            problems.add(number.mark, "expect", what, "mend the example, or what it is worked out from")


def _is_live(number: Number, bench: Bench) -> bool:
    if not isinstance(number.what, Reading) or number.what.function is MeterFunction.DC_VOLTS:
        return False
    packs = [part for part in bench.boat.parts.values() if part.kind.group is Group.PACK]
    state = bench.state(number)
    return any(state.get(f"{pack.id}.{name}") for pack in packs for name in pack.kind.settings)


def _expected(number: Number, result: Result) -> tuple[bool, str]:
    """Tell whether a result is what the example says, and say what that is."""
    if isinstance(number.what, Look):
        return result.level == number.expect[0], number.expect[0]
    low, high = (parse_quantity(limit, result.unit, allow_overload=True).value for limit in number.expect)
    return low <= result.value <= high, f"{number.expect[0]} to {number.expect[1]}"


def _check_drill(drill: Drill, catalogue: Catalogue, boats: Mapping[str, str], problems: Problems) -> None:
    if drill.boat not in boats:
        what = f"no example boat {quote(drill.boat)}"
        problems.add(drill.mark, "drill", what, suggestion(drill.boat, boats))
        return
    try:
        boat = load_boat(boats[drill.boat], f"{drill.boat}.yaml", catalogue)
    except WiringError as error:
        _note(error, drill.mark, "drill", problems)
        return
    for fault in drill.faults:
        _check_fault(boat, fault, drill.mark, problems)
    if len(set(drill.faults)) < drill.at_once:
        what = f"{drill.at_once} faults at once out of {len(set(drill.faults))}"
        problems.add(drill.mark, "drill", what, "name more faults to draw from")
    if drill.complaint:
        _check_sign(boat, drill.complaint, drill.mark, problems)


def _check_fault(boat: Boat, fault: str, mark: Mark, problems: Problems) -> None:
    place, _, mode = fault.partition(" ")
    part = boat.parts.get(place)
    if part is None:
        problems.add(mark, "drill", f"{boat.name} has no {quote(place)}", suggestion(place, boat.parts))
    elif mode not in part.kind.faults:
        what = f"{quote(place)} does not fail by {quote(mode)}"
        problems.add(mark, "drill", what, suggestion(mode, part.kind.faults))


def _check_sign(boat: Boat, complaint: str, mark: Mark, problems: Problems) -> None:
    place, _, sign = complaint.partition(" ")
    part = boat.parts.get(place)
    if part is None:
        problems.add(mark, "drill", f"{boat.name} has no {quote(place)}", suggestion(place, boat.parts))
    elif sign not in part.kind.signs:
        what = f"{quote(place)} has no sign {quote(sign)}"
        problems.add(mark, "drill", what, suggestion(sign, part.kind.signs))


def _note(error: LeadlineError, mark: Mark, code: str, problems: Problems) -> None:
    """Note an error at the place in the lesson that brought it about, on one line."""
    if isinstance(error, QuantityError | WiringError) or not error.next_step:
        problems.add(mark, code, "; ".join(str(error).splitlines()), "mend it")
    else:
        what = f"{quote(str(error.value))}: {error.reason}" if error.value is not None else error.reason
        problems.add(mark, code, what, error.next_step)
