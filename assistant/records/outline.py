"""A repair sheet as sections of lines, for whatever it is written as."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from assistant.records.advice import Step, Undo
from assistant.records.sheet import Row, Sheet, SuspectRow
from assistant.records.words import moment

__all__ = ["HEADS", "Section", "cells_of", "facts_of", "sections_of"]

HEADS: Final = ("No.", "Where", "Shown", "Healthy", "Suspects")
"""Heads of the table of readings and signs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading with its lines; `ordered` ones are numbered, `loud` ones must not be overlooked."""

    title: str
    lines: tuple[Step, ...]
    ordered: bool = False
    loud: bool = False


def facts_of(sheet: Sheet) -> tuple[str, ...]:
    """Return what the sheet is about: the case, its time, the boat, who measured with what."""
    span = sheet.started + (f" to {sheet.ended}" if sheet.ended not in {"", sheet.started} else "")
    who = f"measured by {sheet.who}" if sheet.who else ""
    return tuple(filter(None, (f"case {sheet.case}", span, sheet.about, who, sheet.meter)))


def sections_of(sheet: Sheet) -> tuple[Section, ...]:
    """Return the sections that have something to say, in the order of need."""
    every = (
        _plain("Undo at the bench", [_undo(one) for one in sheet.undo], loud=True),
        _plain("Suspects", [_suspect(one) for one in sheet.suspects]),
        _plain("Bring", sheet.bring),
        Section(title="Steps", lines=sheet.steps, ordered=True),
        Section(title="Prove the repair", lines=sheet.proof, ordered=True),
        _plain("Still unknown", sheet.unknown),
        _plain("Repairs made", sheet.done),
        _plain("Notes", sheet.notes),
        _plain("Reckoned with, from earlier cases of this boat", sheet.earlier),
        _plain("Boat states of the readings", [f"{name}: {words}" for name, words in _states(sheet)]),
    )
    return tuple(section for section in every if section.lines)


def cells_of(row: Row) -> tuple[str, ...]:
    """Return a reading or sign as the cells of the table."""
    where = f"{row.what}, red {row.red}, black {row.black}" if row.red else row.what
    shown = f"{row.shown}: {row.band}" if row.band else row.shown
    return f"#{row.number} {row.at}, {row.state}", where, shown, row.expect, row.effect


def _plain(title: str, texts: Sequence[str], *, loud: bool = False) -> Section:
    return Section(title=title, lines=tuple(Step(text=text) for text in texts), loud=loud)


def _undo(one: Undo) -> str:
    where = f"{one.place}: " if one.place else ""
    rest = f"Undone {moment(one.undone)}." if one.undone else one.hazard
    return f"{where}{one.text} ({moment(one.at)}). {rest}"


def _suspect(one: SuspectRow) -> str:
    between = f" ({one.lead})" if one.lead else ""
    tag = f"{one.letter}: " if one.letter else ""
    return f"{tag}{one.says}{between}: {one.chance}"


def _states(sheet: Sheet) -> Iterator[tuple[str, str]]:
    used = {row.state for row in sheet.rows}
    return ((name, words) for name, words in sheet.states if name in used)
