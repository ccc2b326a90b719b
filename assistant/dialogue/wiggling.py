"""Words for what comes and goes: places moved while something is watched, and answers that say so."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from assistant.circuit import Measurement
from assistant.diagnosis.model import SignQuery, Unsteady, Wiggle, Wiggled
from assistant.dialogue.words import place_label
from assistant.wiring import Boat, label_of, point_label

CHANGED: Final[Mapping[bool, str]] = MappingProxyType({True: "it changes", False: "it stays as it is"})
"""What may come of moving a place."""


def watched_words(boat: Boat, watched: Measurement | SignQuery) -> str:
    """Return what is watched."""
    if isinstance(watched, Measurement):
        red, black = point_label(boat, watched.red), point_label(boat, watched.black)
        return f"{watched.function}, red {red}, black {black}"
    return f"{label_of(boat, watched.part)}, {watched.sign}"


def wiggle_words(boat: Boat, wiggle: Wiggle) -> str:
    """Return what is moved while what is watched."""
    return f"{place_label(boat, wiggle.place)} moved, watching {watched_words(boat, wiggle.watched)}"


def change_words(boat: Boat, piece: Unsteady | Wiggled) -> tuple[str, str]:
    """Return what was watched, and what came of it."""
    if isinstance(piece, Wiggled):
        return wiggle_words(boat, piece.asked), CHANGED[piece.changed]
    return watched_words(boat, piece.asked), "comes and goes"
