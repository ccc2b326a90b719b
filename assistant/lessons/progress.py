"""How far a learner has come: drills tried, folded into what is passed and what comes next.

A drill counts as passed after two passes in a row on different keys, so that luck does not do it. What comes next is
the first drill of the course that is not passed yet; a lesson is passed with all its drills.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite

from assistant.errors import AnswerError
from assistant.lessons.model import Drill, Lesson, in_order

PASSES = 2
"""Passes in a row on different keys that a drill wants."""

_LONGEST = 80
_MOST_DRILLS = 99
_MOST_SECONDS = 1e7
_FIELDS = ("learner", "lesson", "drill", "key", "passed", "seconds", "best_seconds")


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """A drill that was played to its end.

    Attributes
    ----------
    drill : number of the drill in its lesson, from 1.
    key : what fixed the drill; another key is another boat to find a fault on.
    seconds, best_seconds : cost of finding, and of the best path.
    """

    learner: str
    lesson: str
    drill: int
    key: str
    passed: bool
    seconds: float
    best_seconds: float

    def as_json(self) -> dict[str, str | int | float | bool]:
        """Return it as plain data."""
        return {name: getattr(self, name) for name in _FIELDS}


@dataclass(frozen=True, slots=True, kw_only=True)
class NextDrill:
    """What comes next: a drill of a lesson, its number from 1, how often it was tried, and passed in a row last."""

    lesson: Lesson
    drill: Drill
    number: int
    attempt: int
    passes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where a learner stands in the course.

    Attributes
    ----------
    tried, passed : drills of the course tried at all, and passed.
    cost_ratio : mean of cost over best cost of all attempts; nan before the first.
    next : what to practise next; None when the course is done.
    """

    learner: str
    lessons_passed: int
    lessons: int
    tried: int
    passed: int
    drills: int
    cost_ratio: float
    next: NextDrill | None


def read_attempt(data: object) -> Attempt:
    """Return an attempt from plain data.

    Raises
    ------
    AnswerError
        If it is none.
    """
    if not isinstance(data, Mapping) or set(data) != set(_FIELDS):
        raise _refused("it is no record of a drill")
    texts = [data[name] for name in ("learner", "lesson", "key")]
    if not all(isinstance(text, str) and 0 < len(text) <= _LONGEST for text in texts):
        raise _refused("a name in it is missing or too long")
    number, passed = data["drill"], data["passed"]
    if type(number) is not int or not 1 <= number <= _MOST_DRILLS or not isinstance(passed, bool):
        raise _refused("the drill's number or its outcome is wrong")
    seconds, best_seconds = _seconds(data["seconds"]), _seconds(data["best_seconds"])
    learner, lesson, key = texts
    return Attempt(
        learner=learner,
        lesson=lesson,
        drill=number,
        key=key,
        passed=passed,
        seconds=seconds,
        best_seconds=best_seconds,
    )


def _seconds(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _refused("a cost in it is no number")
    if not isfinite(value) or not 0.0 <= value <= _MOST_SECONDS:
        raise _refused("a cost in it is out of range")
    return float(value)


def _refused(reason: str) -> AnswerError:
    return AnswerError(reason=reason, next_step="take this line out, or another file")


def standing(
    learner: str,
    lessons: Iterable[Lesson],
    attempts: Sequence[Attempt],
    without: Collection[tuple[str, int]] = (),
) -> Standing:
    """Return where a learner stands; attempts at drills that the course does not have count for nothing.

    Parameters
    ----------
    without : lesson and number of drills that cannot be given and are not asked for.
    """
    course = in_order(lessons)
    tries: dict[tuple[str, int], int] = {}
    keys: dict[tuple[str, int], set[str]] = {}
    done: set[tuple[str, int]] = set()
    known = {(lesson.id, number) for lesson in course for number in range(1, len(lesson.drills) + 1)} - set(
        without
    )
    mine = [one for one in attempts if (one.lesson, one.drill) in known]
    for one in mine:
        place = (one.lesson, one.drill)
        tries[place] = tries.get(place, 0) + 1
        row = keys.setdefault(place, set())
        if place in done:
            continue
        if one.passed:
            row.add(one.key)
        else:
            row.clear()
        if len(row) >= PASSES:
            done.add(place)
    coming = (
        NextDrill(
            lesson=lesson,
            drill=drill,
            number=number,
            attempt=tries.get((lesson.id, number), 0),
            passes=len(keys.get((lesson.id, number), ())),
        )
        for lesson in course
        for number, drill in enumerate(lesson.drills, start=1)
        if (lesson.id, number) in known - done
    )
    ratios = [one.seconds / one.best_seconds for one in mine if one.best_seconds > 0.0]
    passed_lessons = [
        lesson
        for lesson in course
        if all((lesson.id, n) not in known - done for n in range(1, len(lesson.drills) + 1))
    ]
    return Standing(
        learner=learner,
        lessons_passed=len(passed_lessons),
        lessons=len(course),
        tried=len(tries),
        passed=len(done),
        drills=len(known),
        cost_ratio=sum(ratios) / len(ratios) if ratios else float("nan"),
        next=next(coming, None),
    )
