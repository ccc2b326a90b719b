"""The knowledge of the program, and graphs made for drawing."""

from functools import cache

from assistant.dialogue import SymptomGraph, load_knowledge
from assistant.manual import Book, open_book
from assistant.records import knowledge_files
from tests.dialogue.samples import GOOD, files
from tests.lessons.own import boats


@cache
def book() -> Book:
    """Return the knowledge that comes with the program."""
    return open_book(knowledge_files(), boats())


def graph(text: str = GOOD) -> SymptomGraph:
    """Return the symptom that a text describes."""
    return load_knowledge(files(text)).symptoms["sample"]
