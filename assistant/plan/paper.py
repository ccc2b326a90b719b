"""What a sheet of expected readings holds, ready to be laid out: all texts, no more computing."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A boat state: its letter on the sheet and how to set it."""

    letter: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A test point: its readings against the pack's negative in every state, and what other readings mean.

    `supposed` are the readings under a supposed fault, each with whether it is out of the healthy band.
    """

    label: str
    cover: bool
    readings: tuple[str, ...]
    supposed: tuple[tuple[str, bool], ...]
    otherwise: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A part of the walk round the boat."""

    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One answer in a tree: what was found, and the step to go on with or what it has come to."""

    answer: str
    step: int | None
    ends: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rung:
    """One numbered step of a tree: the boat state, what to do, and the answers."""

    number: int
    state: str
    text: str
    ways: tuple[Way, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tree:
    """A fault-finding tree: first checks, then steps."""

    title: str
    first: tuple[str, ...]
    rungs: tuple[Rung, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A whole sheet."""

    boat: str
    about: str
    black: str
    cautions: tuple[str, ...]
    supposed: str
    columns: tuple[Column, ...]
    stretches: tuple[Stretch, ...]
    tree: Tree | None
