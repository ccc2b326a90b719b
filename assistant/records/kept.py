"""A solver that looks into the cache before it solves, and keeps there what it solved.

What it returns is to the last bit what the solver itself would: numbers are kept whole, and the key names
everything they follow from: the boat and the kinds of its parts, the code that computes, the boat state and
the variants.
"""

import hashlib
import platform
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, fields
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import BoatState, Network, Phase, Solution, Solver, Survey, Variant, make_solver
from assistant.circuit.departures import Departures
from assistant.circuit.survey import Kept
from assistant.records.cache import Arrays, Cache

__all__ = ["kept_solver"]

_ENGINE = ("circuit", "wiring", "catalogue", "documents", "quantities")
_PHASE = tuple(one.name for one in fields(Phase))
_DEPARTURES = tuple(one.name for one in fields(Departures))


def kept_solver(network: Network, cache: Cache, knowledge: str) -> Solver:
    """Return a solver for a boat that uses a cache.

    Parameters
    ----------
    knowledge
        Digest of the knowledge that the kinds of parts come from.
    """
    bare = make_solver(network)
    boat = hashlib.sha256(network.boat.text.encode()).hexdigest()
    scope = f"{engine_digest()}\n{np.__version__} {platform.machine()}\n{knowledge}\n{boat}\n"
    return KeptSolver(
        network=bare.network, frame=bare.frame, lean=bare.lean, cache=cache.within(scope), names={}
    )


def engine_digest() -> str:
    """Return the digest of the code that computes circuits."""
    whole = hashlib.sha256()
    for layer in _ENGINE:
        folder = files("assistant") / layer
        for file in sorted(folder.iterdir(), key=lambda entry: entry.name):
            if file.name.endswith(".py"):
                text = file.read_bytes()
                whole.update(f"{layer}/{file.name} {len(text)}\n".encode() + text)
    return whole.hexdigest()


@dataclass(frozen=True, slots=True)
class KeptSolver(Solver):
    """See the module; `names` holds digests of variants already met."""

    cache: Cache
    names: dict[int, tuple[object, str]] = field(default_factory=dict)

    def solve(self, state: BoatState, variants: Sequence[Variant], *, draws: int = 0) -> Solution:
        """Return the steady states of `variants` in `state`."""
        key = f"solve {state.pairs} {draws} {self._name(variants)}"
        kept = self.cache.get(key)
        if kept is not None and (found := _solution(self.network, state, kept, len(variants))) is not None:
            return found
        solution = Solver.solve(self, state, variants, draws=draws)
        self.cache.put(key, _arrays(solution))
        return solution

    def solve_each(
        self, states: Sequence[BoatState], variants: Sequence[Variant], *, draws: int = 0
    ) -> tuple[Solution, ...]:
        """Return the steady states of `variants` in each of some boat states, kept all or none."""
        scope = f"{[state.pairs for state in states]} {draws} {self._name(variants)}"
        keys = [f"each {number} {scope}" for number in range(len(states))]
        found = [
            None
            if (kept := self.cache.get(key)) is None
            else _solution(self.network, state, kept, len(variants))
            for key, state in zip(keys, states, strict=True)
        ]
        whole = tuple(solution for solution in found if solution is not None)
        if len(whole) == len(states):
            return whole
        solved = Solver.solve_each(self, states, variants, draws=draws)
        for key, solution in zip(keys, solved, strict=True):
            self.cache.put(key, _arrays(solution))
        return solved

    def survey(self, state: BoatState, variants: Sequence[Variant], *, draws: int = 0) -> Survey:
        """Return the steady states of `variants` in `state` as they are kept."""
        key = f"survey {state.pairs} {draws} {self._name(variants)}"
        kept = self.cache.get(key)
        if kept is not None and (found := _survey(self, state, kept, len(variants))) is not None:
            return found
        survey = Solver.survey(self, state, variants, draws=draws)
        self.cache.put(key, _arrays_of(survey))
        return survey

    def _name(self, variants: Sequence[Variant]) -> str:
        """Return a digest of variants; a list is held while its digest is, so that its identity stays its own."""
        known = self.names.get(id(variants))
        if known is None or known[0] is not variants:
            known = (variants, hashlib.sha256(repr(variants).encode()).hexdigest())
            self.names[id(variants)] = known
        return known[1]


def _arrays(solution: Solution) -> Arrays:
    """Return a solution as arrays; of the second phase only the columns that alternate."""
    phases = (solution.phase, solution.other)
    differs = np.zeros(len(solution.failed), dtype=np.bool_)
    for name in _PHASE:
        differs |= _unlike(*(getattr(phase, name) for phase in phases)).any(axis=0)
    moving = np.flatnonzero(differs)
    return {
        **{f"phase {name}": getattr(solution.phase, name) for name in _PHASE},
        **{f"other {name}": getattr(solution.other, name)[:, moving] for name in _PHASE},
        "moving": moving.astype("<i8"),
        "restless": solution.restless,
        "failed": solution.failed,
    }


def _unlike(one: NDArray[np.generic], other: NDArray[np.generic]) -> NDArray[np.bool_]:
    """Tell which values differ; where both are no number, they do not."""
    return np.asarray((one != other) & ~((one != one) & (other != other)))  # noqa: PLR0124 - only what is no number differs from itself


def _solution(network: Network, state: BoatState, kept: Arrays, size: int) -> Solution | None:
    wanted = {
        *(f"{phase} {name}" for phase in ("phase", "other") for name in _PHASE),
        "moving",
        "restless",
        "failed",
    }
    if kept.keys() != wanted or kept["failed"].shape != (size,):
        return None
    phase = Phase(**{name: kept[f"phase {name}"] for name in _PHASE})
    other = Phase(**{name: kept[f"phase {name}"].copy() for name in _PHASE})
    for name in _PHASE:
        getattr(other, name)[:, kept["moving"]] = kept[f"other {name}"]
    return Solution(
        network=network,
        state=state,
        phase=phase,
        other=other,
        restless=kept["restless"],
        failed=kept["failed"],
    )


def _arrays_of(survey: Survey) -> Arrays:
    """Return a survey as arrays."""
    phases = {f"phase {n}": kept for n, kept in enumerate(survey.kept) if kept is not None}
    return {
        **{name: array for phase, kept in phases.items() for name, array in _flat(phase, kept)},
        "moving": survey.moving,
        "restless": survey.restless,
        "failed": survey.failed,
    }


def _flat(name: str, kept: Kept | Departures) -> Iterator[tuple[str, NDArray[np.generic]]]:
    for one in fields(kept):
        value = getattr(kept, one.name)
        if isinstance(value, Departures):
            yield from _flat(f"{name} {one.name}", value)
        else:
            yield f"{name} {one.name}", value


def _survey(solver: Solver, state: BoatState, kept: Arrays, size: int) -> Survey | None:
    try:
        first = _kept_phase(kept, "phase 0")
        second = _kept_phase(kept, "phase 1") if len(kept["moving"]) else None
        ends = kept["restless"], kept["failed"]
        survey = Survey(solver.frame, solver.division(), state, (first, second), kept["moving"], *ends)
    except KeyError:
        return None
    return survey if survey.failed.shape == (size,) else None


def _kept_phase(kept: Arrays, name: str) -> Kept:
    def sparse(part: str) -> Departures:
        return Departures(**{one: kept[f"{name} {part} {one}"] for one in _DEPARTURES})

    return Kept(
        factors=sparse("factors"),
        sources=sparse("sources"),
        siemens=sparse("siemens"),
        source_a=sparse("source_a"),
        amps=kept[f"{name} amps"],
        speed=kept[f"{name} speed"],
        conditions=kept[f"{name} conditions"],
        travel=kept[f"{name} travel"],
        home=kept[f"{name} home"],
    )
