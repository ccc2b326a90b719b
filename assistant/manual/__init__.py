"""The knowledge for its readers: checked as a whole, listed, explained in words, and drawn."""

from assistant.manual.book import Book, check_knowledge, open_book
from assistant.manual.drawing import svg
from assistant.manual.entries import Entry, Sort, entries_of, find_entry
from assistant.manual.explain import explain
from assistant.manual.layers import Layout, layout_of
from assistant.manual.outline import Line, outline

__all__ = [
    "Book",
    "Entry",
    "Layout",
    "Line",
    "Sort",
    "check_knowledge",
    "entries_of",
    "explain",
    "find_entry",
    "layout_of",
    "open_book",
    "outline",
    "svg",
]
