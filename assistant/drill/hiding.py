"""Hiding a fault: from a code to a boat with one thing wrong, and the complaint its owner comes with.

Faults are tried in an order that only digests of the code and their names decide; the first that plainly shows by
something a person sees or hears is hidden.  Nothing in here asks the diagnosis what it could find.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Kind, Look, Severity, SignSpec
from assistant.circuit import (
    CHEAP_METER,
    BoatState,
    Fault,
    MeterProfile,
    Network,
    Solver,
    Variant,
    forward_states,
)
from assistant.diagnosis import Hypothesis, SignQuery
from assistant.diagnosis.candidates import looks
from assistant.diagnosis.consequences import with_consequences
from assistant.diagnosis.hypotheses import single_faults
from assistant.diagnosis.signs import SignModel, sign_levels
from assistant.diagnosis.stories import faults_of, severity_of
from assistant.drill.chance import Chance, rank
from assistant.drill.codes import Code
from assistant.drill.levels import level_of
from assistant.drill.virtual import VirtualBoat
from assistant.errors import AnswerError
from assistant.wiring import Boat

AWAY = 0.4
"""Chance that a fault that comes and goes is away at any moment (common practice, no source)."""

_PLAIN = 0.85
"""Chance from which on a sign shows a fault plainly enough to be complained of (by trial)."""

_STATED = 0.3
"""The same for a sign that is stated (by trial); whether it does on the very boat is then looked at."""
_TRIES = 60
_SEVERITIES = 5
_COMPLAINED_OF = frozenset({"motor", "servo", "light", "radio", "relay", "instrument"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Complaint:
    """A sign that is not as it should be.

    Attributes
    ----------
    query : the sign, in the boat state in which it shows.
    well : the level that a healthy boat shows there.
    """

    query: SignQuery
    well: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Hidden:
    """What is hidden: one story or two, their faults at a severity, and what the owner complains of.

    Attributes
    ----------
    key : what fixes severity, tolerances and noise: the code, or the name of a lesson's drill.
    stories : what is wrong, as the diagnosis names it; causes before their consequences.
    faults : the same for the circuit.
    complaints : the sign each story shows by.
    """

    key: str
    stories: tuple[Hypothesis, ...]
    faults: tuple[Fault, ...]
    complaints: tuple[Complaint, ...]
    comes_and_goes: bool

    def boat(self, solver: Solver, meter: MeterProfile = CHEAP_METER) -> VirtualBoat:
        """Return the boat with these faults, the same every time, and the meter it is measured with."""
        away = AWAY if self.comes_and_goes else 0.0
        return VirtualBoat(solver, self.faults, Chance(f"boat {self.key}"), meter=meter, away=away)

    def is_seen(self, solver: Solver) -> bool:
        """Tell whether the very boat shows what is first complained of."""
        first = self.complaints[0]
        return self.boat(solver).look(first.query) != first.well


Hides = Callable[[Network, Hypothesis], bool]


def hide(solver: Solver, code: Code) -> Hidden:
    """Return what a code hides on a boat.

    Raises
    ------
    AnswerError
        If this boat has no fault of that level that shows.
    """
    level = level_of(code.level)
    return hide_one_of(solver, str(code), level.hides, count=level.faults)


def hide_one_of(solver: Solver, key: str, hides: Hides, *, count: int = 1, stated: str = "") -> Hidden:
    """Return what a key hides out of the stories that may be hidden.

    Parameters
    ----------
    key : decides which, how bad, and the noise.
    hides : which stories may be hidden.
    count : how many; each then shows by a sign that the other leaves alone.
    stated : ``part sign`` that the owner complains of; empty for whichever the fault plainly shows by.

    Raises
    ------
    AnswerError
        If this boat has no such fault that shows.
    """
    shows = _Shows(solver, stated)
    found: list[_Shown] = []
    for story in _in_order(solver, key, hides):
        shown = _shown(solver, shows, story, key)
        if shown is None:
            continue
        if count == 1:
            hidden = _hidden(solver, key, [shown])
            if not stated or hidden.is_seen(solver):
                return hidden
            continue
        partner = next((one for one in found if shows.apart(one, shown)), None)
        if partner is not None:
            return _hidden(solver, key, [partner, shown])
        found.append(shown)
    raise AnswerError(
        value=key,
        reason=f"no such fault shows plainly on {solver.network.boat.name}",
        next_step="take another level or another boat",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shown:
    """A story with its faults, and the sign it shows by."""

    story: Hypothesis
    faults: tuple[Fault, ...]
    complaint: Complaint


def _shown(solver: Solver, shows: _Shows, story: Hypothesis, key: str) -> _Shown | None:
    """Return a story at the first of a few severities at which it shows, or None when it shows at none."""
    for turn in range(_SEVERITIES):
        faults = _faults(solver, story, f"{key}/{turn}")
        complaint = shows.by(faults)
        if complaint is not None:
            return _Shown(story=story, faults=faults, complaint=complaint)
        if len(story.severities) == 1:
            break
    return None


def _hidden(solver: Solver, key: str, found: Sequence[_Shown]) -> Hidden:
    faults = tuple(fault for one in found for fault in one.faults)
    parts = solver.network.parts
    return Hidden(
        key=key,
        stories=tuple(one.story for one in found),
        faults=faults,
        complaints=tuple(one.complaint for one in found),
        comes_and_goes=any(parts[f.part].kind.faults[f.mode].intermittent for f in faults),
    )


def _in_order(solver: Solver, key: str, hides: Hides) -> Sequence[Hypothesis]:
    network = solver.network
    singles = single_faults(network)
    hidden = [h for h in singles if h.modes and hides(network, h)]
    if not hidden:
        hidden = [h for h in with_consequences(solver, singles) if h.modes and hides(network, h)]
    return sorted(hidden, key=lambda h: rank(f"{key}/{h.modes}"))[:_TRIES]


def _faults(solver: Solver, story: Hypothesis, key: str) -> tuple[Fault, ...]:
    """Return the faults of a story at a severity that the key fixes, off the steps that the diagnosis reckons with."""
    first = story.modes[0]
    spec = severity_of(solver.network, first)
    if spec is None:
        return faults_of(solver.network, story, story.severities[0])
    chance = Chance(f"severity {key}/{first}")
    if len(story.modes) > 1:
        return faults_of(solver.network, story, chance.pick(story.severities))
    return faults_of(solver.network, story, _severity(spec, chance))


def _severity(spec: Severity, chance: Chance) -> float:
    """Return a severity, rounded so that no machine's last bit matters."""
    if spec.log:
        severity = 10.0 ** chance.between(float(np.log10(spec.low)), float(np.log10(spec.high)))
    else:
        severity = chance.between(spec.low, spec.high)
    return min(max(float(f"{severity:.3g}"), spec.low), spec.high)


class _Shows:
    """Tells by which sign faults show, on the boat as drawn."""

    def __init__(self, solver: Solver, stated: str) -> None:
        self._solver = solver
        boat = solver.network.boat
        self._states = forward_states(boat)
        self._plain = _STATED if stated else _PLAIN
        self._queries = {
            state: tuple(_complaints(boat, state))
            if not stated
            else tuple(q for q in looks(boat, state) if f"{q.part} {q.sign}" == stated)
            for state in self._states
        }

    def by(self, faults: tuple[Fault, ...]) -> Complaint | None:
        """Return the sign that plainly differs from the healthy boat's, or None."""
        for state in self._states:
            for query, well, ill in self._chances(faults, state):
                if well.max() >= _PLAIN and np.delete(ill, well.argmax()).max() >= self._plain:
                    levels = sign_levels(self._solver.network.parts[query.part].kind.signs[query.sign])
                    return Complaint(query=query, well=levels[int(well.argmax())])
        return None

    def apart(self, one: _Shown, other: _Shown) -> bool:
        """Tell whether each of two stories leaves the other's sign alone, at another place."""
        places = {fault.part for fault in one.faults} & {fault.part for fault in other.faults}
        return (
            not places and self.well(one.faults, other.complaint) and self.well(other.faults, one.complaint)
        )

    def well(self, faults: tuple[Fault, ...], complaint: Complaint) -> bool:
        """Tell whether a boat with these faults shows a complaint's sign as a healthy one does."""
        return any(
            query == complaint.query and well.argmax() == ill.argmax() and ill.max() >= _PLAIN
            for query, well, ill in self._chances(faults, complaint.query.state)
        )

    def _chances(
        self, faults: tuple[Fault, ...], state: BoatState
    ) -> Iterator[tuple[SignQuery, NDArray[np.float64], NDArray[np.float64]]]:
        """Yield each sign with the chances of its levels on the healthy boat and on the one with faults."""
        variants = [Variant(), Variant(faults=faults)]
        solution = self._solver.solve(state, variants)
        if solution.failed.any():
            return
        model = SignModel(self._solver.network, variants, 0)
        for query in self._queries[state]:
            chances = model.probabilities(solution, query)
            yield query, chances[:, 0], chances[:, 1]


def _complaints(boat: Boat, state: BoatState) -> Iterator[SignQuery]:
    """Yield the signs that an owner comes with: seen or heard in use, not by trying something on the part itself."""
    for query in looks(boat, state):
        kind = boat.parts[query.part].kind
        sign = kind.signs[query.sign]
        seen = sign.look in (Look.SEE, Look.HEAR) and len(sign_levels(sign)) > 1
        if seen and kind.group in _COMPLAINED_OF and not _is_of_values_alone(kind, sign):
            yield query


def _is_of_values_alone(kind: Kind, sign: SignSpec) -> bool:
    """Tell whether a sign follows from values of the part, whatever current flows: somebody has to try for it."""
    names = sign.of.names | (sign.chance.names if sign.chance else frozenset())
    return not sign.restless and names <= kind.values.keys()
