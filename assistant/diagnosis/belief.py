"""From evidence to probabilities.

Each piece of evidence multiplies every variant (hypothesis at a severity, on one draw of the tolerances) by how
likely it is there; a variant that fits one reading by its pack's charge must fit the next by the same charge.  No
answer is ever trusted wholly: with a small chance it says nothing, so nothing ever drops to zero and a later answer
can bring it back.  Beside the cells stands *unknown*, which expects nothing in particular.  Volts readings share the
tolerances of one boat and are weighed together; so are looks at a test lamp.  The result is computed from all evidence
at once, so its order does not matter and taking back an answer is exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import (
    LAMP_LEVELS,
    RIPPLE_FLOOR_V,
    RIPPLE_SPREAD,
    MeterFunction,
    half_width,
    lamp_level,
)
from assistant.diagnosis.lamps import lamp_chances, looks_together
from assistant.diagnosis.model import Evidence, ReadingSeen, SignQuery, SignSeen, Unsteady, Wiggled
from assistant.diagnosis.moving import changes, says_it_comes_and_goes, unsteady_chance
from assistant.diagnosis.normal import box_density, normal_cdf, normal_density
from assistant.diagnosis.shown import Shown
from assistant.diagnosis.table import FaultTable
from assistant.diagnosis.tolerances import KERNEL, Place, Sight, sighted, ways_of

Array = NDArray[np.float64]
Rows = NDArray[np.intp]

MISREAD = 0.02
"""Chance that a reading says nothing about the boat: probe, range, polarity or boat state (common practice)."""

MISSEEN = 0.04
"""The same for a sign (common practice, no source)."""

MISTOLD = 0.005
"""Chance that a sign is said to come and go although it does not: people watched it (common practice, no source)."""

SAID_UNSTEADY = 0.25
"""How often that answer is given when it tells nothing (common practice, no source)."""

UNKNOWN_SHARE = 0.01
"""Prior share of troubles that no hypothesis describes (common practice, no source)."""

MODEL_SHARE = 0.004
MODEL_V = 0.003
"""How far a real boat may stand off its description beyond tolerances (common practice, no source)."""

AMPS_SHARE = 0.03
"""The same share for amps, with what is left out when the meter is put in without solving anew (no source)."""

DUTY_SPAN = 0.3
RATE_SPAN_HZ = 200.0
"""Widths of the ranges in which duty and frequency may fall that nothing is known of (common practice, no source)."""

_PULSE_SPANS = {MeterFunction.DUTY: DUTY_SPAN, MeterFunction.FREQUENCY: RATE_SPAN_HZ}

OHM_SPREAD = 0.25
OHM_FLOOR = 0.3
"""Spread of an ohms reading in log units, and the ohms that probes and skin add (common practice, no source)."""

BEEP_SPREAD = 0.6
"""Spread of the limits of beepers in log units: 20 to 150 ohm (common practice, no source)."""

SKIN_OHM = 300e3
SKIN_SPREAD = 1.2
SKIN_SHARE = 0.1
"""Ohms of fingers on both tips, their spread in log units, and how often an open is read through them (practice)."""

OL_SHARE = 1.25
"""Where OL of a diode test is put on the scale of volts, as a share of the most that the display shows."""

LEAK_SPREAD = 1.0
"""Spread in log units of the megohms by which a point hangs that nothing else holds: leakage, dirt and damp (common
practice, no source)."""

UNREST = 0.6
"""Standard deviation of a jumping reading, as a share of half its jump (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """Probabilities after some evidence.

    Attributes
    ----------
    table : what it is a belief about.
    variants : probability of each variant, shape (cells, draws); with `unknown` they sum to 1.
    prior : the same before evidence; sums to 1 without `unknown`.
    logs : logarithm of how likely all evidence together is on each variant.
    factors : by how much each piece of evidence changed that, given the others, shape (evidence, cells, draws).
    unknown_factors : the factor of each on *unknown*, shape (evidence,).
    place : where the tolerances lie, as far as readings tell; None before the first reading.
    there : share of the time that the fault of each cell is there, once it was said to come and go; None: always.
    """

    table: FaultTable = field(repr=False)
    evidence: tuple[Evidence, ...]
    variants: Array
    unknown: float
    prior: Array
    logs: Array
    factors: Array
    unknown_factors: Array
    place: Place | None = None
    there: Array | None = None

    @property
    def cells(self) -> Array:
        """Return the probability of each cell."""
        return np.asarray(self.variants.sum(axis=1))

    def without(self, number: int) -> Belief:
        """Return the belief with one piece of evidence withdrawn."""
        kept = [i for i in range(len(self.evidence)) if i != number]
        return _normal(
            replace(
                self,
                evidence=tuple(self.evidence[i] for i in kept),
                logs=self.logs - np.log(self.factors[number]),
                factors=self.factors[kept],
                unknown_factors=self.unknown_factors[kept],
            )
        )

    def having(self, piece: Evidence, factor: Array, unknown_factor: float) -> Belief:
        """Return the belief with one more piece of evidence, which tells nothing about the tolerances."""
        return _normal(
            replace(
                self,
                evidence=(*self.evidence, piece),
                logs=self.logs + np.log(factor),
                factors=np.concatenate([self.factors, factor[None]]),
                unknown_factors=np.append(self.unknown_factors, unknown_factor),
            )
        )

    def weighed(self, by: Array) -> Belief:
        """Return the belief with the prior of each cell multiplied by something."""
        prior = self.prior * by[:, None]
        return _normal(replace(self, prior=prior / prior.sum()))


def believe(table: FaultTable, evidence: Sequence[Evidence], raised: Sequence[float] = ()) -> Belief:
    """Return the belief after `evidence`, in whatever order it came.

    Once any answer says that the trouble comes and goes, all of them may have been given while it was away.
    `raised` multiplies the prior weight of each hypothesis; nothing is raised when it is left out.
    """
    weights = np.array([h.weight for h in table.hypotheses])
    if raised:
        weights = weights * np.array(raised)
    prior = np.repeat((weights[table.cells.owner] * table.cells.share)[:, None], table.cells.draws, axis=1)
    prior = prior / prior.sum()
    there = table.cells.there if says_it_comes_and_goes(evidence) else None
    factors = np.ones((len(evidence), *prior.shape))
    unknown, logs = np.ones(len(evidence)), np.zeros_like(prior)
    sights: dict[int, Sight] = {}
    lit: dict[int, tuple[ReadingSeen, float]] = {}
    for i, piece in enumerate(evidence):
        same = [n for n, other in enumerate(evidence) if n == i or _is_repeated(table, piece, other)]
        if same[0] != i:
            continue
        factors[i], unknown[i] = likelihood(table, piece, times=len(same), there=there)
        if isinstance(piece, ReadingSeen) and piece.measurement.function is MeterFunction.DC_VOLTS:
            sights[i] = _sight(table, piece, MISREAD ** len(same))
        elif isinstance(piece, ReadingSeen) and piece.measurement.function is MeterFunction.LAMP:
            lit[i] = piece, MISREAD ** len(same)
        else:
            logs = logs + np.log(factors[i])
    if lit:
        at_lamp, factors[list(lit)] = looks_together(table, list(lit.values()), there)
        logs = logs + at_lamp
    place = None
    if sights:
        together = sighted(tuple(sights.values()), there, table.cells.well)
        factors[list(sights)] = together.factors
        logs, place = logs + together.logs, together.place
    return _normal(Belief(table, tuple(evidence), prior, 0.0, prior, logs, factors, unknown, place, there))


def _masses(belief: Belief) -> tuple[Array, float]:
    """Return the logarithms of prior times likelihood, of each variant and of *unknown*."""
    unknown = float(np.log(belief.unknown_factors).sum() + np.log(UNKNOWN_SHARE))
    return belief.logs + np.log(belief.prior * (1.0 - UNKNOWN_SHARE)), unknown


def _normal(belief: Belief) -> Belief:
    """Return the belief with its probabilities reckoned anew from prior and likelihood."""
    logs, unknown_log = _masses(belief)
    top = max(float(logs.max()), unknown_log)
    variants, unknown = np.exp(logs - top), float(np.exp(unknown_log - top))
    total = float(variants.sum()) + unknown
    return replace(belief, variants=variants / total, unknown=unknown / total)


def _is_repeated(table: FaultTable, piece: Evidence, other: Evidence) -> bool:
    """Tell whether two answers are one and the same, given again.

    What tolerances and contacts made of the first they make of the second; only a slip, and what shows by chance, would
    be another the second time.
    """
    if isinstance(piece, SignSeen):
        return piece == other and table.fleeting_level(piece.query) not in piece.levels
    if not isinstance(piece, ReadingSeen):
        return piece == other and isinstance(piece, Unsteady)
    if not isinstance(other, ReadingSeen) or piece.measurement != other.measurement:
        return False
    if np.isinf(piece.value) or np.isinf(other.value):
        return piece.value == other.value
    width = half_width(table.meter, piece.measurement.function, np.array([piece.value, other.value])).sum()
    return bool(abs(piece.value - other.value) <= width + piece.within + other.within)


def likelihood(
    table: FaultTable, piece: Evidence, times: int = 1, there: Array | None = None
) -> tuple[Array, float]:
    """Return how likely a piece of evidence is on each variant, shape (cells, draws), and on *unknown*.

    Densities of readings are by volt, or by log unit for ohms.  An answer given several `times` alike counts once; it
    is a slip only if each was one.  `there` is the share of the time that the fault of each cell is there, always when
    left out.
    """
    if there is not None and there is not table.cells.there:
        return _fit(table, piece, times, there)
    return table.fits.get((piece, times, there is not None), lambda: _fit(table, piece, times, there))


def _fit(table: FaultTable, piece: Evidence, times: int, there: Array | None) -> tuple[Array, float]:
    if isinstance(piece, SignSeen):
        return _sign_likelihood(table, piece, MISSEEN**times, there)
    if isinstance(piece, Wiggled):
        chance = (1.0 - MISSEEN) * changes(table, piece.asked) + 0.5 * MISSEEN
        return (chance if piece.changed else 1.0 - chance), 0.5
    if isinstance(piece, Unsteady):
        slip = (MISTOLD if isinstance(piece.asked, SignQuery) else MISSEEN) ** times
        return (1.0 - slip) * unsteady_chance(table, piece.asked) + slip * SAID_UNSTEADY, SAID_UNSTEADY
    return _reading_likelihood(table, piece, MISREAD**times, there)


def _sign_likelihood(
    table: FaultTable, piece: SignSeen, slip: float, there: Array | None
) -> tuple[Array, float]:
    names = table.level_names(piece.query)
    chances = table.levels(piece.query, there)
    chosen = [names.index(level) for level in piece.levels]
    even = len(chosen) / len(names)
    return (1.0 - slip) * chances[chosen].sum(axis=0) + slip * even, even


def _reading_likelihood(
    table: FaultTable, piece: ReadingSeen, slip: float, there: Array | None
) -> tuple[Array, float]:
    if piece.measurement.function is MeterFunction.DC_VOLTS:
        sight = _sight(table, piece, slip)
        kernel = (sight.ways**2).sum(axis=1, keepdims=True)
        density = sight.density(np.zeros_like(sight.sigma), kernel)
        return table.cells.by_time(density, there), sight.wide
    shown = table.state(piece.measurement.state).shown_everywhere(piece.measurement)
    values = shown.values[0]
    if piece.measurement.function.is_inserted or piece.measurement.function.is_pulsed:
        wide, density = 1.0 / span_of(table, piece.measurement.function), _box(table, piece, shown)
    elif piece.measurement.function is MeterFunction.LAMP:
        wide = 1.0 / len(LAMP_LEVELS)
        density = lamp_chances(values, shown.unrest[0])[LAMP_LEVELS.index(lamp_level(piece.value))]
    elif piece.measurement.function is MeterFunction.AC_MILLIVOLTS:
        wide = 1.0 / np.log(table.highest_v / RIPPLE_FLOOR_V)
        seen = ripple_log(np.array(piece.value))
        density = normal_density(seen, ripple_log(values), np.array(RIPPLE_SPREAD))
    elif piece.measurement.function is MeterFunction.DIODE_TEST:
        wide, density = _diode_density(table, piece, shown)
    elif piece.measurement.function is MeterFunction.CONTINUITY and piece.value in (0.0, np.inf):
        wide, density = 0.5, _beep_chance(table, values, beeps=piece.value == 0.0)
    else:
        wide = 1.0 / np.log(table.meter.largest_ohm / 1e-3)
        density = _ohm_density(table, piece.value, values, wide)
    density = table.cells.by_time(np.where(np.isnan(values), wide, density), there)
    return (1.0 - slip) * density + slip * wide, float(wide)


def _box(table: FaultTable, piece: ReadingSeen, shown: Shown) -> Array:
    """Return the density of a reading in volts on each variant, each standing for severities around its own."""
    even = np.hypot(reading_sigma(table, shown, piece.measurement.function)[0], piece.within / np.sqrt(3.0))
    sigma = np.hypot(even, KERNEL * shown.spread()[0])
    below, above = shown.reach()
    values = shown.values[0]
    return box_density(np.asarray(piece.value), values - below[0], values + above[0], sigma)


def _diode_density(table: FaultTable, piece: ReadingSeen, shown: Shown) -> tuple[float, Array]:
    """Return how likely volts or OL on diode test are about which nothing is known, and on each variant."""
    wide = 0.5 / table.meter.diode_largest_v
    blocks = np.isinf(shown.values[0])
    if np.isinf(piece.value):
        return 0.5, np.where(blocks, 0.99, 0.01)
    return wide, np.where(blocks, 0.01 * wide, _box(table, piece, on_scale(table, shown)))


def on_scale(table: FaultTable, shown: Shown) -> Shown:
    """Return what a diode test shows with OL as some volts beyond the display, so that it can be reckoned with."""
    return replace(shown, values=np.minimum(shown.values, OL_SHARE * table.meter.diode_largest_v))


def _sight(table: FaultTable, piece: ReadingSeen, slip: float) -> Sight:
    """Return a volts reading against what every variant would show."""
    return table.sights.get((piece, slip), lambda: _against(table, piece, slip))


def _against(table: FaultTable, piece: ReadingSeen, slip: float) -> Sight:
    shown = table.state(piece.measurement.state).shown_everywhere(piece.measurement)
    values = np.nan_to_num(shown.values[0])
    below, above = shown.reach()
    return Sight(
        value=piece.value,
        low=values - below[0],
        high=values + above[0],
        ways=ways_of(values),
        sigma=np.hypot(reading_sigma(table, shown)[0], piece.within / np.sqrt(3.0)),
        slip=slip,
        wide=1.0 / volts_span(table),
        blind=np.isnan(shown.values[0]),
    )


def volts_span(table: FaultTable) -> float:
    """Return the width of the range in which a reading about which nothing is known may fall."""
    return 2.4 * table.highest_v


def span_of(table: FaultTable, function: MeterFunction) -> float:
    """Return the same for functions other than volts: amps as much as the meter shows, either way; pulses as many."""
    if function is MeterFunction.DC_AMPS:
        return 2.0 * table.meter.currents[-1].full_a
    return _PULSE_SPANS[function]


def ripple_log(volts: Array) -> Array:
    """Return AC volts on the scale on which they are compared."""
    return np.asarray(np.log(np.abs(volts) + RIPPLE_FLOOR_V))


def reading_sigma(table: FaultTable, shown: Shown, function: MeterFunction = MeterFunction.DC_VOLTS) -> Array:
    """Return the standard deviation of readings from all but tolerances, shape (readings, cells, draws).

    The meter's accuracy counts as a rectangular distribution (half-width over the square root of 3).  A display that
    jumps between two phases is read anywhere between them.  What the meter's input loads down depends on leakage, of
    which only the magnitude is known.
    """
    usable = np.nan_to_num(shown.values)
    meter = half_width(table.meter, function, usable) / np.sqrt(3.0)
    share = AMPS_SHARE if function is MeterFunction.DC_AMPS else MODEL_SHARE
    # Of duty and frequency the half-width holds already how far boats stand off their description.
    model = 0.0 if function.is_pulsed else share * np.abs(usable) + MODEL_V
    leaks = LEAK_SPREAD * shown.loaded * np.abs(usable)
    return np.asarray(np.sqrt(meter**2 + model**2 + leaks**2 + (UNREST * shown.unrest) ** 2))


def ohm_spread(table: FaultTable, ohms: Array) -> Array:
    """Return the spread of ohms readings in log units; few ohms drown in what probes add and the last digits."""
    width = half_width(table.meter, MeterFunction.OHMS, ohms) / np.sqrt(3.0)
    return np.asarray(np.hypot(OHM_SPREAD, width / (np.maximum(ohms, 0.0) + OHM_FLOOR)))


def _ohm_density(table: FaultTable, value: float, values: Array, wide: float) -> Array:
    if np.isinf(value):
        return np.where(np.isinf(values), 1.0, 0.01 * wide)
    if value > 0.0:
        skin = normal_density(np.log(value), np.log(np.asarray(SKIN_OHM)), np.asarray(SKIN_SPREAD))
    else:
        skin = np.asarray(0.0)
    finite = np.where(np.isinf(values), table.meter.largest_ohm, values)
    seen = np.asarray(np.log(max(value, 0.0) + OHM_FLOOR))
    close = normal_density(seen, np.log(np.maximum(finite, 0.0) + OHM_FLOOR), ohm_spread(table, finite))
    return np.where(np.isinf(values), 0.01 * wide + SKIN_SHARE * skin, close)


def _beep_chance(table: FaultTable, ohms: Array, *, beeps: bool) -> Array:
    """Return how likely a beep, or its absence, is: it tells only on which side of the beeper's limit the path lies."""
    logs = np.log(np.maximum(np.where(np.isinf(ohms), 1e12, ohms), 1e-3) / table.meter.beep_ohm)
    chance = normal_cdf(-logs / BEEP_SPREAD)
    return np.asarray(chance if beeps else 1.0 - chance)
