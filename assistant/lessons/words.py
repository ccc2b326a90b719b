"""A lesson in words, its numbers filled in."""

from __future__ import annotations

import re
from collections.abc import Mapping

from assistant.lessons.model import Lesson, Worked
from assistant.lessons.work import Result

_BRACES = re.compile(r"\{([^{}]*)\}")


def worked_words(worked: Worked, results: Mapping[str, Result]) -> str:
    """Return the sentences of an example with the numbers that came out."""

    def filled(found: re.Match[str]) -> str:
        result = results[found[1].removesuffix(".severity")]
        return result.severity if found[1].endswith(".severity") else result.text

    return _BRACES.sub(filled, worked.says)


def lesson_lines(lesson: Lesson, results: Mapping[str, Result], caution: str) -> tuple[str, ...]:
    """Return a lesson as paragraphs: title, idea, example, caution.

    Parameters
    ----------
    lesson
        The lesson.
    results
        Its numbers, worked out; none when they could not be, and then the example is left out.
    caution
        Text of its caution.
    """
    example = (f"Example: {worked_words(lesson.worked, results)}",) if results else ()
    return (f"Lesson: {lesson.title}.", lesson.text, *example, f"Caution: {caution}")
