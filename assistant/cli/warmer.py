"""Computing ahead while the person reads: what every fault would show in the boat states still to come.

A thread takes the states that the graph of the symptom names, one after the other. It and the dialogue use
the diagnosis in turns, through one lock; a question that needs no diagnosis does not wait. What the thread
computes is what the dialogue would compute itself when it came there, so nothing depends on who was first.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Final

from assistant.circuit import BoatState, Measurement
from assistant.circuit.expectation import Band
from assistant.diagnosis import (
    NOTHING_LATELY,
    AtHand,
    Barred,
    Diagnosis,
    Evidence,
    Lately,
    RepairId,
    SignQuery,
    Step,
    Unrest,
    Verdict,
)
from assistant.dialogue.ports import Belief

__all__ = ["Guarded", "Warmer"]

_YIELD_S: Final = 0.02


class Guarded:
    """A diagnosis that several threads may use, one at a time; it does just what the diagnosis does.

    Parameters
    ----------
    diagnosis
        What is used through this alone from now on.
    """

    def __init__(self, diagnosis: Diagnosis) -> None:
        self._diagnosis = diagnosis
        self._lock = threading.Lock()
        self.in_demand = False

    @contextmanager
    def _in_turn(self) -> Iterator[Diagnosis]:
        self.in_demand = True
        with self._lock:
            self.in_demand = False
            yield self._diagnosis

    def prepare(self, states: Sequence[BoatState]) -> None:
        """Compute what may be needed in these states."""
        with self._lock:
            self._diagnosis.prepare(states)

    def belief(self, evidence: Sequence[Evidence], lately: Lately = NOTHING_LATELY) -> Belief:
        """See `Diagnosis.belief`."""
        with self._in_turn() as diagnosis:
            return diagnosis.belief(evidence, lately)

    def next_step(
        self,
        belief: Belief,
        *,
        state: BoatState,
        last: Measurement | None,
        refused: frozenset[Barred],
        states: Sequence[BoatState] | None = None,
        at_hand: frozenset[AtHand] | None = None,
    ) -> Step | None:
        """See `Diagnosis.next_step`."""
        with self._in_turn() as diagnosis:
            return diagnosis.next_step(
                belief, state=state, last=last, refused=refused, states=states, at_hand=at_hand
            )

    def verdict(self, belief: Belief, step: Step | None) -> Verdict:
        """See `Diagnosis.verdict`."""
        with self._in_turn() as diagnosis:
            return diagnosis.verdict(belief, step)

    def band(self, measurement: Measurement) -> Band:
        """See `Diagnosis.band`."""
        with self._in_turn() as diagnosis:
            return diagnosis.band(measurement)

    def levels(self, query: SignQuery) -> Mapping[str, str]:
        """See `Diagnosis.levels`."""
        with self._in_turn() as diagnosis:
            return diagnosis.levels(query)

    def plausible(self, measurement: Measurement, value: float) -> bool:
        """See `Diagnosis.plausible`."""
        with self._in_turn() as diagnosis:
            return diagnosis.plausible(measurement, value)

    def proof(
        self,
        repair: RepairId,
        belief: Belief,
        *,
        state: BoatState,
        states: Sequence[BoatState] | None = None,
        refused: frozenset[Barred] = frozenset(),
    ) -> Step | None:
        """See `Diagnosis.proof`."""
        with self._in_turn() as diagnosis:
            return diagnosis.proof(repair, belief, state=state, states=states, refused=refused)

    def explain(self, step: Step, belief: Belief) -> str:
        """See `Diagnosis.explain`."""
        with self._in_turn() as diagnosis:
            return diagnosis.explain(step, belief)

    def unrest(self, repair: RepairId, belief: Belief) -> Unrest | None:
        """See `Diagnosis.unrest`."""
        with self._in_turn() as diagnosis:
            return diagnosis.unrest(repair, belief)


class Warmer:
    """A thread that prepares boat states of a diagnosis, each once.

    Parameters
    ----------
    guarded
        What is prepared.
    """

    def __init__(self, guarded: Guarded) -> None:
        self._guarded = guarded
        self._wanted: tuple[BoatState, ...] = ()
        self._news = threading.Condition()
        self._over = False
        # Left alone at the end of the program: what it computes is wanted by nobody then.
        self._thread = threading.Thread(target=self._run, name="warmer", daemon=True)

    def start(self) -> None:
        """Begin; the fault table itself comes first."""
        self._thread.start()

    def want(self, states: Sequence[BoatState]) -> None:
        """Say which states may be needed, the likeliest first, in place of those said before."""
        with self._news:
            self._wanted = tuple(states)
            self._news.notify()

    def close(self) -> None:
        """Prepare nothing more."""
        with self._news:
            self._over = True
            self._news.notify()

    def wait(self, seconds: float) -> bool:
        """Wait until the thread has ended; tell whether it has."""
        self._thread.join(seconds)
        return not self._thread.is_alive()

    def _run(self) -> None:
        done: set[BoatState] = set()
        self._guarded.prepare(())
        while (state := self._next(done)) is not None:
            self._guarded.prepare((state,))
            done.add(state)

    def _next(self, done: set[BoatState]) -> BoatState | None:
        """Wait until a state is wanted and the dialogue does not want its turn; None at the end."""
        with self._news:
            while not self._over:
                state = next((one for one in self._wanted if one not in done), None)
                if state is not None and not self._guarded.in_demand:
                    return state
                self._news.wait(None if state is None else _YIELD_S)
        return None
