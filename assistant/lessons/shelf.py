"""Lessons told when they are asked for: numbers are worked out then, and not before."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from assistant.catalogue import Catalogue
from assistant.lessons.model import Lesson
from assistant.lessons.words import lesson_lines
from assistant.lessons.work import bench_of, work_out


class Shelf(Mapping[str, str]):
    """The text of each lesson by id, a paragraph a line.

    Parameters
    ----------
    lessons
        The lessons by id.
    cautions
        Text of each caution by id.
    catalogue
        All part kinds.
    boats
        Wiring description of each example boat, by name.
    """

    def __init__(
        self,
        lessons: Mapping[str, Lesson],
        *,
        cautions: Mapping[str, str],
        catalogue: Catalogue,
        boats: Mapping[str, str],
    ) -> None:
        self._lessons = lessons
        self._cautions = cautions
        self._catalogue = catalogue
        self._boats = boats

    def __getitem__(self, name: str) -> str:
        lesson = self._lessons[name]
        results = work_out(lesson.worked, bench_of(lesson.worked, self._catalogue, self._boats))
        return "\n".join(lesson_lines(lesson, results, self._cautions[lesson.caution]))

    def __iter__(self) -> Iterator[str]:
        return iter(self._lessons)

    def __len__(self) -> int:
        return len(self._lessons)
