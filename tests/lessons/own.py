"""The lessons and example boats that come with the program."""

from collections.abc import Mapping
from functools import cache

from assistant.lessons import Lesson, load_lessons
from assistant.records import example_boats, knowledge_files
from tests.dialogue.boats import knowledge


@cache
def boats() -> Mapping[str, str]:
    """Return the wiring description of each example boat."""
    return {name: file.read_text(encoding="utf-8") for name, file in example_boats().items()}


@cache
def lessons() -> Mapping[str, Lesson]:
    """Return the lessons that come with the program."""
    return load_lessons(knowledge_files(), knowledge().cautions)
