"""The meter as part of the network, and how far its display can be trusted.

A voltmeter is a resistance between its probes: what it shows is the open voltage, divided between its own input and
the resistance of the network as seen from the probes.  On a point that nothing holds it therefore shows what leaks
in, which is how ghost voltages come about.  Ohms and continuity send a small current through whatever paths there
are; the standing network is linear for such small voltages, so the resistance seen from the probes is the reading.
A diode test sends about a milliampere and shows the volts that takes, as far as its own battery and its display go.
AC millivolts, duty and frequency are taken between two points like volts; what makes them is in `ripple` and `pulses`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.state import BoatState
from assistant.wiring import Point

Array = NDArray[np.float64]

BEEP_OHM = 50.0

PROBE_OHM = 0.3
"""What test leads and touch add to a reading of ohms (common practice, no source)."""

JUNCTION_V = 0.05
"""How far a junction of unknown make stands off its curve at the small current of a diode test (no source)."""

PULSE_SHARE = 0.003
"""What makes of transmitters change in the duty of a servo signal: 60 us of 20 ms (common practice, no source)."""

FRAME_HZ = 5.0
"""How far the frames of receivers stand off their usual rate (common practice, no source)."""


class MeterFunction(StrEnum):
    """What the meter is set to; or the test lamp that is held there in its stead."""

    DC_VOLTS = "DC volts"
    OHMS = "ohms"
    CONTINUITY = "continuity"
    DIODE_TEST = "diode test"
    DC_AMPS = "DC amps"
    AC_MILLIVOLTS = "AC millivolts"
    DUTY = "duty"
    FREQUENCY = "frequency"
    LAMP = "test lamp"

    @property
    def is_dead(self) -> bool:
        """Tell whether the meter sends a current of its own, which wants every pack unplugged."""
        return self in _DEAD

    @property
    def is_inserted(self) -> bool:
        """Tell whether something is opened for the meter, and it takes its place."""
        return self is MeterFunction.DC_AMPS

    @property
    def is_pulsed(self) -> bool:
        """Tell whether the meter counts pulses: how long they are, or how often they come."""
        return self in (MeterFunction.DUTY, MeterFunction.FREQUENCY)


_DEAD = frozenset({MeterFunction.OHMS, MeterFunction.CONTINUITY, MeterFunction.DIODE_TEST})

_SMALLEST_RANGE: Mapping[MeterFunction, float] = MappingProxyType(
    {
        MeterFunction.DC_VOLTS: 0.2,
        MeterFunction.OHMS: 200.0,
        MeterFunction.CONTINUITY: 200.0,
        MeterFunction.DIODE_TEST: 2.0,
        MeterFunction.AC_MILLIVOLTS: 0.2,
        MeterFunction.DUTY: 2.0,  # a tenth of a percent is the last digit of 2000 counts
        MeterFunction.FREQUENCY: 20.0,
        MeterFunction.LAMP: 2.0,
    }
)

_BESIDE: Mapping[MeterFunction, float] = MappingProxyType(
    {
        MeterFunction.OHMS: PROBE_OHM,
        MeterFunction.CONTINUITY: PROBE_OHM,
        MeterFunction.DIODE_TEST: JUNCTION_V,
        MeterFunction.DUTY: PULSE_SHARE,
        MeterFunction.FREQUENCY: FRAME_HZ,
    }
)
"""What a reading may be off besides the meter's own accuracy, in the unit of the reading."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Accuracy:
    """Uncertainty of a range: a share of the reading plus so many of its last digits."""

    share: float
    digits: float


_ANOTHER = Accuracy(share=0.02, digits=5.0)
"""Accuracy where something was read that the meter at hand does not have (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentRange:
    """A range of current: the most it shows, its burden (shunt, fuse and leads), and the meter's fuse in it."""

    full_a: float
    ohm: float
    fuse_a: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterProfile:
    """What a meter has.

    Attributes
    ----------
    functions : accuracy by function; a function it lacks is missing.
    name : what it is called.
    input_ohm : input resistance on volts (10 MΩ: OpenStax, seen).
    counts : display counts of a range (2000 for a three-and-a-half digit meter).
    largest_ohm : above this the display shows OL.
    beep_ohm : below this the beeper sounds.
    diode_open_v, diode_a : volts between the open probes on diode test, and the current when they touch (1 to
        1.5 mA: data sheets, seen); in between both fall together, as behind a resistor.
    diode_largest_v : above this the display of the diode test shows OL.
    currents : ranges of direct current, the smallest first.
    ripple_hz : up to what frequency AC millivolts are shown whole; a meter that responds to the average is right for a
        sine alone, and falls off beyond some hundred hertz (common practice, no source).
    pulse_v : from what height on pulses are counted for duty and frequency (common practice, no source).
    """

    functions: Mapping[MeterFunction, Accuracy]
    name: str = "cheap meter"
    input_ohm: float = 10e6
    counts: int = 2000
    largest_ohm: float = 20e6
    beep_ohm: float = BEEP_OHM
    diode_open_v: float = 2.8
    diode_a: float = 1e-3
    diode_largest_v: float = 2.0
    currents: tuple[CurrentRange, ...] = ()
    ripple_hz: float = 400.0
    pulse_v: float = 1.5

    def only(self, functions: Iterable[MeterFunction]) -> MeterProfile:
        """Return a meter with these of its functions, maybe with none."""
        kept = {function: self.functions[function] for function in functions}
        return replace(self, functions=MappingProxyType(kept))


CHEAP_METER = MeterProfile(
    functions=MappingProxyType(
        {
            MeterFunction.DC_VOLTS: Accuracy(share=0.005, digits=2.0),  # typical, from memory
            MeterFunction.OHMS: Accuracy(share=0.008, digits=2.0),  # data sheets, seen
            MeterFunction.CONTINUITY: Accuracy(share=0.05, digits=2.0),  # common practice, no source
            MeterFunction.DIODE_TEST: Accuracy(share=0.01, digits=2.0),  # common practice, no source
            MeterFunction.DC_AMPS: Accuracy(share=0.015, digits=3.0),  # common practice, no source
        }
    ),
    # Burden of a mA range about 1 ohm (seen), of a 10 A range 0.01 ohm and leads of 0.03 to 0.1 ohm (from memory).
    currents=(
        CurrentRange(full_a=0.2, ohm=1.05, fuse_a=0.2),
        CurrentRange(full_a=10.0, ohm=0.06, fuse_a=10.0),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Measurement:
    """What is measured: function, where the red and the black probe go, and the boat state."""

    function: MeterFunction
    red: Point
    black: Point
    state: BoatState


def last_digit(profile: MeterProfile, function: MeterFunction, value: Array) -> Array:
    """Return what the last digit of the display stands for, on the smallest decade range that holds `value`.

    The smallest range is 200 mV on volts and 200 Ω on ohms, with 2000 counts (hand-held meters, common practice).

    >>> float(last_digit(CHEAP_METER, MeterFunction.DC_VOLTS, np.array(11.1)))
    0.01
    """
    if function is MeterFunction.DC_AMPS:
        return _last_digit_a(profile, value)
    full = _SMALLEST_RANGE[function] * profile.counts / 2000.0
    decades = np.ceil(np.log10(np.maximum(np.abs(value), full) / full) - 1e-12)
    return np.asarray(full * 10.0**decades / profile.counts)


def _last_digit_a(profile: MeterProfile, value: Array) -> Array:
    """Return the last digit of a current on the smallest range that holds it, a power of ten."""
    digits = [10.0 ** np.ceil(np.log10(one.full_a / profile.counts) - 1e-12) for one in profile.currents]
    shown = np.full(np.shape(value), digits[-1])
    for one, digit in zip(reversed(profile.currents), reversed(digits), strict=True):
        shown = np.where(np.abs(value) <= one.full_a, digit, shown)
    return shown


def half_width(profile: MeterProfile, function: MeterFunction, value: Array) -> Array:
    """Return the largest error of a reading (same unit as the reading).

    It is the accuracy, what probes add on ohms, and what the make of a junction leaves open on diode test, that of
    transmitter and receiver on duty and frequency.
    """
    accuracy = profile.functions.get(function, _ANOTHER)
    beside = _BESIDE.get(function, 0.0)
    return accuracy.share * np.abs(value) + accuracy.digits * last_digit(profile, function, value) + beside


def volts_shown(open_volts: Array, source_ohm: Array, profile: MeterProfile) -> Array:
    """Return what a voltmeter shows across an open voltage behind a resistance.

    >>> round(float(volts_shown(np.array(12.0), np.array(1e6), CHEAP_METER)), 1)
    10.9
    """
    return np.asarray(open_volts * profile.input_ohm / (profile.input_ohm + np.maximum(source_ohm, 0.0)))


def share_loaded(source_ohm: Array, profile: MeterProfile) -> Array:
    """Return the share of an open voltage behind a resistance that a voltmeter's own input takes away.

    It is also how much of a reading, in log units, an error of the resistance in log units makes.

    >>> round(float(share_loaded(np.array(10e6), CHEAP_METER)), 2)
    0.5
    """
    ohm = np.maximum(source_ohm, 0.0)
    return np.asarray(ohm / (profile.input_ohm + ohm))


def ohms_shown(source_ohm: Array, profile: MeterProfile) -> Array:
    """Return what an ohmmeter shows; infinite where the display reads OL."""
    return np.where(source_ohm > profile.largest_ohm, np.inf, source_ohm)
