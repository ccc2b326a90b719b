"""The steps on offer, each with what it is expected to tell and what it costs, and the best of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Reach
from assistant.circuit import BoatState, Measurement, MeterFunction, MeterProfile
from assistant.diagnosis.candidates import Readings, looks
from assistant.diagnosis.choose import (
    TOGETHER,
    Field,
    entropy_bits,
    forecast,
    gains_bits,
    reading_gains,
    sign_gain,
    sign_gains,
    wiggle_gains,
)
from assistant.diagnosis.costs import (
    INSERT_S,
    LEAST_LOOK_S,
    look_seconds,
    probe_seconds,
    state_seconds,
    trial_seconds,
    wiggle_seconds,
)
from assistant.diagnosis.ending import NEARLY, chance_to_end, foremost, outcomes_of
from assistant.diagnosis.further import bearable, currents, further_readings, lamp_readings
from assistant.diagnosis.model import Barred, SignQuery, Trial, Wiggle
from assistant.diagnosis.moving import fickle_places
from assistant.diagnosis.race import LEAST_BITS, OVERHEAD_S, Offer, Race
from assistant.diagnosis.table import FaultTable
from assistant.diagnosis.trials import looks_across, looks_after
from assistant.wiring import Point

Array = NDArray[np.float64]

_FIRST, _NEXT = 8, 32
"""How many readings, the most promising first, are weighed before the race is looked at again (by trial)."""

FEW_BITS = 3.0
"""What is left to be known when few suspects are left: then it counts which steps may end the hunt."""

_UNLIKE = 6
"""So many of the best offers are held against each other then (it bounds the time of a step)."""


def is_allowed(what: Measurement | SignQuery, barred: frozenset[Barred]) -> bool:
    """Tell whether a step is not barred, nor any point that it needs."""
    points = (what.red, what.black) if isinstance(what, Measurement) else ()
    return barred.isdisjoint((what, *points))


@dataclass(frozen=True, slots=True)
class Offers:
    """Everything that could be asked: readings and signs in some boat states, but for what was `asked`.

    A point among `asked` bars every reading at it.  With each of the `trials`, the signs `seen` can be looked at anew.
    While anything of `watched` is watched, what may come and go can be moved.
    `lamp` tells whether there is a test lamp, `between` which readings between points there are in a boat state,
    and `least_bits` what a step must be expected to tell.
    """

    table: FaultTable
    meter: MeterProfile
    pairs: Sequence[tuple[Point, Point]]
    reach: Mapping[Point, Reach]
    states: Sequence[BoatState]
    asked: frozenset[Barred]
    between: Callable[[BoatState], Readings]
    trials: Sequence[Trial] = ()
    lamp: bool = False
    seen: Sequence[SignQuery] = ()
    watched: Sequence[Measurement | SignQuery] = ()
    least_bits: float = LEAST_BITS

    def best(self, field: Field, state: BoatState, last: Measurement | None) -> Offer | None:
        """Return the offer with the most information for its cost, or None when none is worth asking.

        Parameters
        ----------
        state, last : how the boat stands now, and the reading before.
        """
        left_bits = float(entropy_bits(field.masses()))
        # Of what comes and goes no single answer makes sure.
        few = left_bits <= FEW_BITS and field.there is None
        race = Race(left_bits, self.least_bits, nearly=NEARLY if few else 1.0)
        boat = self.table.solver.network.boat
        moving = {there: state_seconds(boat, state, there) for there in self.states}
        race.enter(self._wiggles(field, state, last), len(self.states))
        for there in sorted(self.states, key=lambda one: moving[one]):
            self._glimpse(race, field, there, moving[there], self.states.index(there))
            self._read(race, field, there, last, moving[there], self.states.index(there))
        for number, there in enumerate(self.states):
            self._try(race, field, there, moving[there], number)
        for number, there in enumerate(self.states):
            self._open(race, field, there, last, moving[there], len(self.states) + 1 + number)
        return self._foremost(field, race.close())

    def _foremost(self, field: Field, close: Sequence[Offer]) -> Offer | None:
        """Return the offer to take of those that are nearly as good as the best."""
        # What tells exactly as much is much the same step elsewhere, or in another boat state.
        unlike: dict[float, Offer] = {}
        for offer in close:
            unlike.setdefault(round(offer.gain_bits, 6), offer)
        held = list(unlike.values())[:_UNLIKE]
        if not held:
            return None
        return held[foremost([o.rate for o in held], lambda n: self._chance(field, held[n]))]

    def _chance(self, field: Field, offer: Offer) -> float:
        return chance_to_end(field, outcomes_of(self.table, field, offer.what))

    def _glimpse(self, race: Race, field: Field, there: BoatState, moving: float, number: int) -> None:
        """Enter the looks in a state that could tell enough, if any could win."""
        if not race.is_open(moving + LEAST_LOOK_S):
            return
        found = self.table.telling(there, field.cells, field.there, self.least_bits)
        queries = [query for query in found if query not in self.asked]
        gains = sign_gains(field, [found[query] for query in queries]).tolist()
        looked = (
            Offer(query, gain, moving + self._look_seconds(query))
            for query, gain in zip(queries, gains, strict=True)
        )
        race.enter(looked, number, 1)

    def _try(self, race: Race, field: Field, there: BoatState, moving: float, number: int) -> None:
        """Enter the looks after a trial in a state, as far as they could win."""
        boat = self.table.solver.network.boat
        self._look(race, field, looks_after(boat, there, self.trials, self.seen), moving, (number, 2))

    def _look(
        self, race: Race, field: Field, queries: Iterable[SignQuery], moving: float, place: tuple[int, int]
    ) -> None:
        """Enter looks one by one, as far as they could win."""
        for n, query in enumerate(queries):
            seconds = moving + self._look_seconds(query)
            if query not in self.asked and race.is_open(seconds):
                race.enter_one(Offer(query, sign_gain(self.table, field, query), seconds), *place, n)

    def _read(
        self,
        race: Race,
        field: Field,
        there: BoatState,
        last: Measurement | None,
        moving: float,
        number: int,
    ) -> None:
        """Enter the readings in a state that could win."""
        first = 0
        for offered, seconds in self._offered(field, there, last):
            for start in range(0, len(offered), TOGETHER):
                some = slice(start, start + TOGETHER)
                self._weigh(race, field, offered[some], moving + seconds[some], (number, 0, first + start))
            first += len(offered)

    def _weigh(
        self,
        race: Race,
        field: Field,
        offered: Sequence[Measurement],
        seconds: Array,
        place: tuple[int, int, int],
    ) -> None:
        """Enter readings of one function, the most promising first, as long as one could win."""
        if not race.is_open(float(seconds.min())):
            return
        expected = forecast(self.table, field, offered)
        most = np.minimum(expected.most_bits(field), race.most_bits)
        order = np.argsort(-most / (OVERHEAD_S + seconds), kind="stable")
        for some in np.split(order, range(_FIRST, len(order), _NEXT)):
            worth = some[most[some] >= race.needed_bits(seconds[some])]
            if not len(worth):
                continue
            gains = gains_bits(field, expected.take(worth).outcomes(field)).tolist()
            for n, gain in zip(worth.tolist(), gains, strict=True):
                race.enter_one(Offer(offered[n], gain, float(seconds[n])), *place[:2], place[2] + n)

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
        boat = self.table.solver.network.boat
        for there in self.states:
            moving = state_seconds(boat, state, there)
            for offered, seconds in self._offered(field, there, last):
                gains = reading_gains(self.table, field, offered, least_bits=self.least_bits).tolist()
                for reading, gain, probing in zip(offered, gains, seconds.tolist(), strict=True):
                    yield Offer(reading, gain, moving + probing)
            yield from self._looks(field, looks(boat, there), moving)
            yield from self._looks(field, looks_after(boat, there, self.trials, self.seen), moving)
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
            offered = bearable(self.table, field, self._currents(there))
            gains = reading_gains(self.table, field, offered, least_bits=self.least_bits)
            for reading, gain in zip(offered, gains, strict=True):
                yield Offer(reading, float(gain), moving + probe_seconds(self.reach, reading, last))
            yield from self._looks(field, looks_across(boat, there, self.trials, self.seen), moving)

    def _looks(self, field: Field, queries: Iterable[SignQuery], moving: float) -> Iterator[Offer]:
        for query in queries:
            if query not in self.asked:
                yield Offer(query, sign_gain(self.table, field, query), moving + self._look_seconds(query))

    def _currents(self, there: BoatState) -> list[Measurement]:
        boat = self.table.solver.network.boat
        return [one for one in currents(boat, there, self.meter) if is_allowed(one, self.asked)]

    def _open(
        self,
        race: Race,
        field: Field,
        there: BoatState,
        last: Measurement | None,
        moving: float,
        number: int,
    ) -> None:
        """Enter what takes long to do and to work out, as far as it could win; see `_dear`."""
        if not race.is_open(moving + INSERT_S):
            return
        offered = bearable(self.table, field, self._currents(there))
        seconds = np.array([moving + probe_seconds(self.reach, one, last) for one in offered])
        for start in range(0, len(offered), TOGETHER):
            some = slice(start, start + TOGETHER)
            self._weigh(race, field, offered[some], seconds[some], (number, 0, start))
        boat = self.table.solver.network.boat
        self._look(race, field, looks_across(boat, there, self.trials, self.seen), moving, (number, 1))

    def _offered(
        self, field: Field, state: BoatState, last: Measurement | None
    ) -> Iterator[tuple[Sequence[Measurement], Array]]:
        """Yield the readings on offer in a state, and what each costs once the boat is set, function by function."""
        between = self.between(state)
        allowed = between.allowed(self.asked)
        yield [between.every[n] for n in allowed.tolist()], between.seconds(self.reach, last)[allowed]
        network = self.table.solver.network
        suspected = suspected_parts(self.table, field)
        further = (
            *further_readings(network, state, self.meter, suspected),
            *(lamp_readings(self.pairs, network.boat, state, self.table.highest_v) if self.lamp else ()),
        )
        by_function: dict[MeterFunction, list[Measurement]] = {}
        for reading in further:
            if is_allowed(reading, self.asked):
                by_function.setdefault(reading.function, []).append(reading)
        for offered in by_function.values():
            yield offered, np.array([probe_seconds(self.reach, one, last) for one in offered])


def suspected_parts(table: FaultTable, field: Field) -> frozenset[str]:
    """Return the parts, wires and joints that some story still in question holds to be at fault."""
    owners = set(table.cells.owner[field.cells].tolist())
    return frozenset(mode.part for owner in owners for mode in table.hypotheses[owner].modes)
