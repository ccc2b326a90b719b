"""The repair sheet as Markdown, which also reads well as plain text in a terminal."""

import re
from collections.abc import Iterator
from typing import Final

from assistant.records.outline import HEADS, Section, cells_of, facts_of, sections_of
from assistant.records.sheet import Sheet
from assistant.records.words import harmless

__all__ = ["sheet_markdown"]

# What would begin something else than words: emphasis, code, links, HTML, tables, footnotes.
_SPECIAL: Final = re.compile(r"([\\`*_\[\]<>|~])")
_BEGINS: Final = re.compile(r"^(\d*)([#+\-=.)])(?=\s|#)")


def sheet_markdown(sheet: Sheet) -> str:
    """Return a sheet as Markdown (CommonMark with tables); the picture is left to the other forms."""
    return "\n".join(_lines(sheet)) + "\n"


def _lines(sheet: Sheet) -> Iterator[str]:
    yield f"# {_safe(sheet.boat)}: {_safe(sheet.symptom)}"
    yield from ("", _safe(" · ".join(facts_of(sheet))), "")
    for text in sheet.warnings:
        yield from (f"> Note: {_safe(text)}", "")
    yield from (f"**{_safe(sheet.headline)}**", "", _safe(sheet.sureness))
    for section in sections_of(sheet):
        yield from _section(section)
    if sheet.rows:
        yield from ("", "## Readings and signs", "")
        yield f"| {' | '.join(HEADS)} |"
        yield f"|{' --- |' * len(HEADS)}"
        for row in sheet.rows:
            yield f"| {' | '.join(_safe(cell) for cell in cells_of(row))} |"


def _section(section: Section) -> Iterator[str]:
    yield from ("", f"## {section.title}", "")
    for number, line in enumerate(section.lines, start=1):
        head = f"{number}. " if section.ordered else "- "
        loud = "**Caution.** " if section.loud else ""
        yield f"{head}{loud}{_safe(line.text)}"
        yield from (f"{' ' * len(head)}- **Caution:** {_safe(text)}" for text in line.cautions)


def _safe(text: str) -> str:
    r"""Return text that Markdown takes as plain words.

    >>> print(_safe("# <b>[x](y)"))
    \# \<b\>\[x\](y)
    >>> print(_safe("1. -0.1 V"))
    1\. -0.1 V
    """
    return _BEGINS.sub(r"\1\\\2", _SPECIAL.sub(r"\\\1", harmless(text)))
