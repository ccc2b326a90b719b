"""Short lessons: one idea each, with an example whose numbers are worked out from the circuit model."""

from assistant.lessons.lint import lint_lessons
from assistant.lessons.load import load_lessons, read_lessons
from assistant.lessons.model import (
    Current,
    Drill,
    Lesson,
    LessonSource,
    Look,
    Number,
    Reading,
    Value,
    Worked,
    in_order,
)
from assistant.lessons.progress import PASSES, Attempt, NextDrill, Standing, read_attempt, standing
from assistant.lessons.shelf import Shelf
from assistant.lessons.words import lesson_lines, worked_words
from assistant.lessons.work import Result, bench_of, work_out

__all__ = [
    "PASSES",
    "Attempt",
    "Current",
    "Drill",
    "Lesson",
    "LessonSource",
    "Look",
    "NextDrill",
    "Number",
    "Reading",
    "Result",
    "Shelf",
    "Standing",
    "Value",
    "Worked",
    "bench_of",
    "in_order",
    "lesson_lines",
    "lint_lessons",
    "load_lessons",
    "read_attempt",
    "read_lessons",
    "standing",
    "work_out",
    "worked_words",
]
