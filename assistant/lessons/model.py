"""What a lesson is: one idea in plain words, an example on a described boat, a caution, sources and drills.

The example names what is measured, never the result: numbers come from the circuit model whenever the lesson
is told, and each has a band that it must lie in, so that a lesson cannot go on saying what is no longer true.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from assistant.catalogue import Status
from assistant.circuit import MeterFunction
from assistant.documents import Mark


class Base(StrEnum):
    """How the boat of an example stands before anything is set: ready to sail, or everything unplugged."""

    READY = "ready"
    REST = "rest"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What a cheap meter shows between two points, written ``part terminal``."""

    function: MeterFunction
    red: str
    black: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Current:
    """Amperes through an element of a part, written ``part element``."""

    of: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """A value of a part as described or by default, written ``part value``."""

    of: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """A sign to look, listen or feel for, written ``part sign``."""

    of: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """One number (or sign) of an example, and what it has to be.

    Attributes
    ----------
    what : what is measured or looked at.
    base, set : how the boat stands: settings by id, -1 .. 1, on top of the base.
    fault : ``place mode`` of what is wrong, or empty.
    severity : how bad that is, as typed; empty where the mode has no measure, or for the middle of its range.
    besides : ``place mode`` of what is wrong at the same time, at the middle of its range, or empty.
    expect : what it must be, as typed: the lowest and the highest value, or the level of a sign.
    """

    name: str
    what: Reading | Current | Value | Look
    base: Base
    set: Mapping[str, float]
    fault: str
    severity: str
    besides: str
    expect: tuple[str, ...]
    mark: Mark


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """An example: a boat by the name of its file or as a description, numbers, and the sentence they stand in.

    `says` names numbers in braces; ``{name.severity}`` is how bad the fault of that number is.
    """

    boat: str
    numbers: Mapping[str, Number]
    says: str
    mark: Mark


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonSource:
    """Where something in a lesson comes from, and how it is known."""

    text: str
    status: Status


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """What to practise a lesson on.

    Attributes
    ----------
    boat : name of an example boat.
    faults : ``place mode`` of the faults to draw from; never empty.
    at_once : how many of them are hidden at once, 1 to `MOST_AT_ONCE`.
    complaint : ``part sign`` that the owner complains of, or empty for whichever the fault plainly shows by.
    """

    boat: str
    faults: tuple[str, ...]
    at_once: int
    complaint: str
    mark: Mark


MOST_AT_ONCE = 2
"""So many faults a drill may hide at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lesson:
    """A lesson.

    Attributes
    ----------
    id : name of its file without ``.yaml``.
    order : place in the course; no two lessons share one.
    idea : what it is about, in a few words; no two lessons share one.
    caution : id of the caution that belongs to it.
    drills : what to practise it on, the easiest first.
    """

    id: str
    order: int
    title: str
    idea: str
    text: str
    worked: Worked
    caution: str
    sources: tuple[LessonSource, ...]
    drills: tuple[Drill, ...]
    mark: Mark


def in_order(lessons: Iterable[Lesson]) -> tuple[Lesson, ...]:
    """Return lessons in the order of the course."""
    return tuple(sorted(lessons, key=lambda lesson: (lesson.order, lesson.id)))
