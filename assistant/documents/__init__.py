"""Strict reading of written files: text in, a tree or all problems out.

The YAML is read for its form alone; every scalar stays the text that was typed, so that ``no``, ``off``,
``1e3`` and ``12:30`` mean what the author sees. Whatever could surprise (repeated keys, aliases, tags) is
refused with its place. The reading functions turn nodes into values and collect problems as they go.
"""

from assistant.documents.nearest import nearest
from assistant.documents.node import Mapping, Mark, Node, Scalar, Sequence
from assistant.documents.parse import parse_document
from assistant.documents.problems import Code, Problems
from assistant.documents.reading import (
    choice_of,
    entries_of,
    flag_of,
    items_of,
    mapping_fields,
    quantity_of,
    suggestion,
    text_of,
    texts_of,
    whole_of,
)

__all__ = [
    "Code",
    "Mapping",
    "Mark",
    "Node",
    "Problems",
    "Scalar",
    "Sequence",
    "choice_of",
    "entries_of",
    "flag_of",
    "items_of",
    "mapping_fields",
    "nearest",
    "parse_document",
    "quantity_of",
    "suggestion",
    "text_of",
    "texts_of",
    "whole_of",
]
