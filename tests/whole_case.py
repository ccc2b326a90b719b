"""Write one recorded case out whole, from symptom to repair sheet: ``python -m tests.whole_case``.

Every question with what was typed, as the journal has them and the program says them anew; then the repair sheet as
the program exports it.
"""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from assistant.cli.casework import replayed, sheet_for
from assistant.cli.workbench import open_workbench
from assistant.dialogue import Ask, Conclude, Show, Warn
from assistant.records import CaseStore, sheet_markdown

FOLDER: Final = Path(__file__).resolve().parents[1] / "cases" / "recorded"
NAME: Final = "dabchick-2025-06-14-1"
FILE: Final = FOLDER / "whole-case.md"
LATER: Final = "\n   "


def whole_case() -> str:
    """Return the case as Markdown."""
    return "\n".join(_lines()) + "\n"


def _lines() -> Iterator[str]:
    bench, store = open_workbench(), CaseStore(FOLDER)
    case = replayed(store, NAME, bench)
    yield f"# A whole case: {case.setup.boat.name}"
    yield from (
        "",
        f"`leadline find dabchick`, recorded as {NAME}: what was asked, and behind `>` what was typed.",
        "",
    )
    for turn in case.turns:
        yield f"{turn.number}. {turn.ask.text}  "
        yield f"   `> {turn.answer}`"
        for event in turn.events:
            yield from _said(event)
    yield from ("", "---", "")
    # The headings of the sheet stand below the one of the whole.
    for line in sheet_markdown(sheet_for(store, NAME, bench)).splitlines():
        yield f"#{line}" if line.startswith("#") else line


def _said(event: object) -> Iterator[str]:
    match event:
        case Warn():
            yield f"   *Caution: {event.text}*"
        case Show() | Conclude():
            yield f"   {event.text.replace(chr(10), LATER)}"
        case _:
            assert isinstance(event, Ask)


if __name__ == "__main__":
    FILE.write_text(whole_case(), encoding="utf-8")
    sys.exit(0)
