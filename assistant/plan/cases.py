"""The boat solved in its worst cases: what every rule takes its numbers from.

A case is the described boat with some values changed (packs full or low, motors or servos held fast), solved in
every combination of stick ends and switches.  Where something alternates for ever, both of its phases count.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import product
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Group, nominal_values
from assistant.circuit import (
    BoatState,
    Network,
    Solution,
    Solver,
    Variant,
    build_network,
    make_solver,
    ready_state,
    rest_state,
    working_states,
)
from assistant.errors import ConvergenceError
from assistant.wiring import Boat, Point, SettingSort, settings_of

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Changes = Mapping[str, Mapping[str, float]]

LOW_SOC: Final = 0.1
"""How far a pack is run down at most (common practice, no source: a tenth is left)."""

_HELD_FAST: Final = 1e6
_PLACES: Final = 3
_MOST_STATES: Final = 81


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A boat in one set of circumstances, solved in several boat states.

    Attributes
    ----------
    title : the circumstances in words.
    volts : node voltages, shape (nodes, phases); each state has two phases, equal where it is steady.
    amps : element currents, shape (elements, phases).
    conditions : shape (conditions, phases).
    restless : conditions that alternate in some state, shape (conditions,).
    turn_s : how long one turn of that takes (s), shape (conditions,); nan where nothing does, or no time is known.
    """

    title: str
    network: Network
    states: tuple[BoatState, ...]
    volts: Array
    amps: Array
    conditions: Flags
    restless: Flags
    turn_s: Array

    def at(self, point: Point) -> Array:
        """Return the voltage of a point in every phase."""
        return np.asarray(self.volts[self.network.node(point)])

    def across(self, part: str, positive: str, negative: str) -> Array:
        """Return the voltage of one terminal of a part over another."""
        return self.at(Point(part=part, terminal=positive)) - self.at(Point(part=part, terminal=negative))

    def element(self, part: str, name: str) -> Array:
        """Return the current through an element of a part."""
        return np.asarray(self.amps[element_number(self.network, part, name)])

    def into(self, point: Point) -> Array:
        """Return the current that all leads bring into a terminal."""
        total = np.zeros(self.amps.shape[1])
        for lead in self.network.boat.leads.values():
            if point in lead.ends:
                total += self.element(lead.id, "copper") * (1.0 if lead.ends[1] == point else -1.0)
        return total


def element_number(network: Network, part: str, name: str) -> int:
    """Return the number of an element by its part and name."""
    return next(n for n in network.elements_of(part) if network.elements[n].name == name)


@dataclass(frozen=True)
class Plan:
    """A boat and its cases, each solved when first asked for."""

    boat: Boat

    @cached_property
    def full(self) -> Case:
        """Packs full, everything that can run at once running."""
        return self._case("full pack, everything running", self._charged(1.0), self.states)

    @cached_property
    def low(self) -> Case:
        """Packs nearly empty, everything running."""
        return self._case("low pack, everything running", self._charged(LOW_SOC), self.states)

    @cached_property
    def stall(self) -> Case:
        """Packs full, every motor held fast."""
        held = {part: {"load": _HELD_FAST} for part in parts_in(self.boat, Group.MOTOR)}
        return self._case("full pack, motors held fast", self._charged(1.0) | held, self.states)

    @cached_property
    def servos(self) -> Case:
        """Packs nearly empty, everything running, every servo held fast."""
        held = {
            part: {"move_a": nominal(self.boat, part)["stall_a"]} for part in parts_in(self.boat, Group.SERVO)
        }
        return self._case("low pack, servos held fast", self._charged(LOW_SOC) | held, self.states)

    @cached_property
    def usual(self) -> Case:
        """Everything as described, ready and with one stick or lever after the other moved."""
        first = (ready_state(self.boat), switched_on(self.boat))
        states = tuple(dict.fromkeys((*first, *working_states(self.boat))))
        return self._case("pack as described", {}, states)

    @cached_property
    def stored(self) -> Case:
        """Packs plugged in, all else at rest."""
        plugs = {f"{p}.{s}": 1.0 for p in parts_in(self.boat, Group.PACK) for s in settings_at(self.boat, p)}
        return self._case("plugged in, switched off", {}, (rest_state(self.boat).with_(plugs),))

    @cached_property
    def states(self) -> tuple[BoatState, ...]:
        """Every combination of stick ends and centres with all switches on, and the ready state.

        Where those are too many, one stick or lever after the other.
        """
        moving = [s for s in settings_of(self.boat) if s.sort is SettingSort.CONTROL and not s.steps]
        ready, on = ready_state(self.boat), switched_on(self.boat)
        if _PLACES ** len(moving) > _MOST_STATES:
            return (*working_states(self.boat), ready)
        ends = product(*((s.high, s.low, 0.0) for s in moving))
        moved = (on.with_(dict(zip((s.id for s in moving), place, strict=True))) for place in ends)
        return tuple(dict.fromkeys((*moved, ready)))

    def _charged(self, soc: float) -> dict[str, Mapping[str, float]]:
        return {part: {"soc": soc} for part in parts_in(self.boat, Group.PACK)}

    def _case(self, title: str, changes: Changes, states: Sequence[BoatState]) -> Case:
        network = build_network(changed(self.boat, changes))
        solver = make_solver(network)
        found = [solver.solve(state, [Variant()]) for state in states]
        kept = [s for s in found if not s.failed[0]]
        if not kept:
            raise ConvergenceError(
                value=self.boat.name,
                reason=f"no steady state was found with {title}",
                places=[str(point) for point in solver.unsettled(states[0], Variant())],
                next_step="look at what is described there; if it is right, report it",
            )
        return _joined(title, solver, kept)


def _joined(title: str, solver: Solver, solutions: Sequence[Solution]) -> Case:
    network = solver.network
    phases = [phase for s in solutions for phase in (s.phase, s.other)]
    return Case(
        title=title,
        network=network,
        states=tuple(s.state for s in solutions),
        volts=np.concatenate([p.volts for p in phases], axis=1),
        amps=np.concatenate([p.amps for p in phases], axis=1),
        conditions=np.concatenate([p.conditions for p in phases], axis=1),
        restless=np.any(np.concatenate([s.restless for s in solutions], axis=1), axis=1),
        turn_s=_turns_s(solver, solutions),
    )


def _turns_s(solver: Solver, solutions: Sequence[Solution]) -> Array:
    """Return the longest turn of each condition that alternates in some of the states."""
    found = np.full(len(solver.network.conditions), np.nan)
    for solution in solutions:
        turn_s = solver.turns_s(solution, [Variant()], np.zeros(1, dtype=np.intp))
        found = np.fmax(found, np.where(solution.restless[:, 0], turn_s, np.nan))
    return found


def changed(boat: Boat, changes: Changes) -> Boat:
    """Return the boat with values of some parts changed; a value the kind does not have is left out."""
    parts = dict(boat.parts)
    for name, values in changes.items():
        part = parts[name]
        known = {value: number for value, number in values.items() if value in part.kind.values}
        parts[name] = replace(part, given=MappingProxyType({**part.given, **known}))
    return replace(boat, parts=MappingProxyType(parts))


def parts_in(boat: Boat, *groups: Group) -> tuple[str, ...]:
    """Return the ids of the parts of some groups, in the order of the description."""
    return tuple(part.id for part in boat.parts.values() if part.kind.group in groups)


def switched_on(boat: Boat) -> BoatState:
    """Return the state with all switches on and every stick and lever at rest."""
    switches = {s.id: s.high for s in settings_of(boat) if s.sort is SettingSort.CONTROL and s.steps}
    return ready_state(boat).with_(switches)


def settings_at(boat: Boat, part: str) -> tuple[str, ...]:
    """Return the names of what a hand sets on a part."""
    return tuple(boat.parts[part].kind.settings)


def nominal(boat: Boat, part: str) -> Mapping[str, float]:
    """Return all values of a part, without tolerance."""
    return nominal_values(boat.parts[part].kind, boat.parts[part].given)
