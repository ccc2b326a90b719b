"""The ranges of part kinds, laid over the questions whose answers become values of parts.

A topic asks what suits the boat; what a part of that kind can have at all stands in the catalogue.  The narrower of
both holds, so that an answer no part can have is refused where it is given and not when the boat is put together.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from assistant.catalogue import Catalogue, ValueSpec
from assistant.plan.question import Question
from assistant.plan.sizing import PACKS, Answers

_PACK, _DRIVE, _MOTOR = "pack", "drive", "motor"

_BECOMES: Final[Mapping[str, tuple[str, tuple[str, ...]]]] = MappingProxyType(
    {
        "cells": (_PACK, ("cells",)),
        "capacity": (_PACK, ("capacity_ah",)),
        "motor": (_MOTOR, ("rated_v", "rated_a")),
        "stall current": (_MOTOR, ("stall_a",)),
        "astern pump": (_MOTOR, ("rated_v", "rated_a")),
        "stall current of an astern pump": (_MOTOR, ("stall_a",)),
        "drive rating": (_DRIVE, ("rating_a",)),
        "drive volts": (_DRIVE, ("max_v",)),
        "cut-off": (_DRIVE, ("cutoff_v",)),
        "regulator": (_DRIVE, ("bec_v", "bec_a")),
        "lamp": ("lamp", ("rated_v", "rated_a")),
        "LEDs": ("led string", ("leds", "led_v")),
        "main fuse": ("blade fuse", ("rating_a",)),
        "fuse of a drive": ("blade fuse", ("rating_a",)),
    }
)
"""The part kind and the values that an answer becomes; kinds that are chosen stand for what was chosen."""


def within_kinds(question: Question, answers: Answers, catalogue: Catalogue) -> Question:
    """Return the question with its limits narrowed to what the part kind can have."""
    specs = tuple(_specs(question.key, answers, catalogue))
    if not specs:
        return question
    low, high = _narrowed((question.low, question.high), specs[0])
    second = question.second
    for spec in specs[1:]:
        second = _narrowed(second or (None, None), spec)
    return replace(question, low=low, high=high, second=second)


def _specs(key: str, answers: Answers, catalogue: Catalogue) -> Iterator[ValueSpec]:
    if key not in _BECOMES:
        return
    name, values = _BECOMES[key]
    if name == _PACK:
        name = PACKS[answers["pack"]]
    elif name == _DRIVE:
        name = "forward drive" if answers["drive runs"] == "ahead" else "reversing drive"
    elif name == _MOTOR:
        name = answers["motor drives"]
    yield from (catalogue.kinds[name].values[value] for value in values)


def _narrowed(
    limits: tuple[float | None, float | None], spec: ValueSpec
) -> tuple[float | None, float | None]:
    lows = [low for low in (limits[0], spec.low) if low is not None]
    highs = [high for high in (limits[1], spec.high) if high is not None]
    return max(lows, default=None), min(highs, default=None)
