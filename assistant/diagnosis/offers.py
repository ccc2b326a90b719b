"""The steps on offer, each with what it is expected to tell and what it costs, and the best of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from assistant.catalogue import Reach
from assistant.circuit import BoatState, Measurement, MeterFunction, MeterProfile
from assistant.diagnosis.candidates import looks, readings
from assistant.diagnosis.choose import Field, entropy_bits, reading_gains, sign_gain, wiggle_gains
from assistant.diagnosis.costs import (
    INSERT_S,
    look_seconds,
    probe_seconds,
    state_seconds,
    trial_seconds,
    wiggle_seconds,
)
from assistant.diagnosis.further import bearable, currents, further_readings, lamp_readings
from assistant.diagnosis.model import Asked, Barred, SignQuery, Trial, Wiggle
from assistant.diagnosis.moving import fickle_places
from assistant.diagnosis.table import FaultTable
from assistant.diagnosis.trials import looks_across, looks_after
from assistant.wiring import Point

OVERHEAD_S = 25.0
"""Seconds any step takes besides its own cost: reading the screen, finding the place, typing (no source)."""

LEAST_BITS = 0.1
"""What a step must be expected to tell to be worth asking (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A reading, a sign or a place to be moved, the information about the repair expected of it, and its cost."""

    what: Asked
    gain_bits: float
    seconds: float

    @property
    def rate(self) -> float:
        """Return bits a second."""
        return self.gain_bits / (OVERHEAD_S + self.seconds)


def is_allowed(what: Measurement | SignQuery, barred: frozenset[Barred]) -> bool:
    """Tell whether a step is not barred, nor any point that it needs."""
    points = (what.red, what.black) if isinstance(what, Measurement) else ()
    return barred.isdisjoint((what, *points))


@dataclass(frozen=True, slots=True)
class Offers:
    """Everything that could be asked: probe pairs and signs in some boat states, but for what was `asked`.

    A point among `asked` bars every reading at it.  With each of the `trials`, the signs `seen` can be looked at anew.
    While anything of `watched` is watched, what may come and go can be moved.
    `lamp` tells whether there is a test lamp.
    """

    table: FaultTable
    meter: MeterProfile
    pairs: Sequence[tuple[Point, Point]]
    reach: Mapping[Point, Reach]
    states: Sequence[BoatState]
    asked: frozenset[Barred]
    trials: Sequence[Trial] = ()
    lamp: bool = False
    seen: Sequence[SignQuery] = ()
    watched: Sequence[Measurement | SignQuery] = ()

    def best(self, field: Field, state: BoatState, last: Measurement | None) -> Offer | None:
        """Return the offer with the most information for its cost, or None when none is worth asking.

        Parameters
        ----------
        state, last : how the boat stands now, and the reading before.
        """
        best = _best_of(chain(self._plain(field, state, last), self._wiggles(field, state, last)))
        # Nothing tells more than which repair it is; what could not win even so is not worked out.
        most = float(entropy_bits(field.masses())) / (OVERHEAD_S + INSERT_S)
        if best is not None and best.rate >= most:
            return best
        return _best_of(filter(None, (best, _best_of(self._dear(field, state, last)))))

    def again(
        self, what: Measurement | SignQuery, field: Field, state: BoatState, last: Measurement | None
    ) -> Offer:
        """Return the offer to take a reading, or look at a sign, once more."""
        boat = self.table.solver.network.boat
        moving = state_seconds(boat, state, what.state)
        if isinstance(what, Measurement):
            gain = float(reading_gains(self.table, field, [what])[0])
            return Offer(what, gain, moving + probe_seconds(self.reach, what, last))
        return Offer(what, sign_gain(self.table, field, what), moving + self._look_seconds(what))

    def _look_seconds(self, query: SignQuery) -> float:
        kind = self.table.solver.network.boat.parts[query.part].kind
        trying = 0.0 if query.after is None else trial_seconds(self.reach, query.after)
        return trying + look_seconds(kind.signs[query.sign].look)

    def all(self, field: Field, state: BoatState, last: Measurement | None) -> Iterator[Offer]:
        """Yield every offer."""
        yield from self._plain(field, state, last)
        yield from self._dear(field, state, last)
        yield from self._wiggles(field, state, last)

    def _wiggles(self, field: Field, state: BoatState, last: Measurement | None) -> Iterator[Offer]:
        """Yield every place in question to be moved while something is watched."""
        places = fickle_places(self.table, field.cells)
        boat = self.table.solver.network.boat
        for watched in self.watched if places else ():
            if isinstance(watched, SignQuery):
                watching, points = self._look_seconds(watched), set[Point]()
            else:
                watching, points = probe_seconds(self.reach, watched, last), {watched.red, watched.black}
            if watched.state not in self.states or not self.asked.isdisjoint(points):
                continue
            watching += state_seconds(boat, state, watched.state)
            gains = wiggle_gains(self.table, field, places, watched).tolist()
            for place, gain in zip(places, gains, strict=True):
                wiggle = Wiggle(place=place, watched=watched)
                if wiggle not in self.asked:
                    yield Offer(wiggle, gain, watching + wiggle_seconds(self.reach, place))

    def _dear(self, field: Field, state: BoatState, last: Measurement | None) -> Iterator[Offer]:
        """Yield what takes long to do and to work out: readings with something opened, looks with plugs swapped."""
        boat = self.table.solver.network.boat
        for there in self.states:
            moving = state_seconds(boat, state, there)
            offered = [m for m in currents(boat, there, self.meter) if is_allowed(m, self.asked)]
            offered = bearable(self.table, field, offered)
            gains = reading_gains(self.table, field, offered, least_bits=LEAST_BITS)
            for reading, gain in zip(offered, gains, strict=True):
                yield Offer(reading, float(gain), moving + probe_seconds(self.reach, reading, last))
            for query in looks_across(boat, there, self.trials, self.seen):
                if query not in self.asked:
                    gain_bits = sign_gain(self.table, field, query)
                    yield Offer(query, gain_bits, moving + self._look_seconds(query))

    def _plain(self, field: Field, state: BoatState, last: Measurement | None) -> Iterator[Offer]:
        """Yield what wants nothing opened: readings between points, and looks."""
        boat = self.table.solver.network.boat
        for there in self.states:
            moving = state_seconds(boat, state, there)
            for reading, gain in self._readings(field, there):
                yield Offer(reading, gain, moving + probe_seconds(self.reach, reading, last))
            tried = looks_after(boat, there, self.trials, self.seen)
            for query in (*looks(boat, there), *tried):
                if query not in self.asked:
                    seconds = moving + self._look_seconds(query)
                    yield Offer(query, sign_gain(self.table, field, query), seconds)

    def _readings(self, field: Field, state: BoatState) -> Iterator[tuple[Measurement, float]]:
        """Yield every reading in a state with the information it is expected to bring, function by function."""
        network = self.table.solver.network
        suspected = suspected_parts(self.table, field)
        every = (
            *readings(self.pairs, network.boat, state, self.meter),
            *further_readings(network, state, self.meter, suspected),
            *(lamp_readings(self.pairs, network.boat, state, self.table.highest_v) if self.lamp else ()),
        )
        by_function: dict[MeterFunction, list[Measurement]] = {}
        for reading in every:
            if is_allowed(reading, self.asked):
                by_function.setdefault(reading.function, []).append(reading)
        for offered in by_function.values():
            gains = reading_gains(self.table, field, offered, least_bits=LEAST_BITS)
            yield from zip(offered, gains.tolist(), strict=True)


def _best_of(offers: Iterable[Offer]) -> Offer | None:
    """Return the offer with the most information a second of those worth asking."""
    worth = (offer for offer in offers if offer.gain_bits >= LEAST_BITS)
    return max(worth, key=lambda offer: offer.rate, default=None)


def suspected_parts(table: FaultTable, field: Field) -> frozenset[str]:
    """Return the parts, wires and joints that some story still in question holds to be at fault."""
    owners = set(table.cells.owner[field.cells].tolist())
    return frozenset(mode.part for owner in owners for mode in table.hypotheses[owner].modes)
