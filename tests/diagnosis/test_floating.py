"""Volts between points that only leakage holds: of the megohms behind such a reading only the magnitude is known."""

from functools import cache

import numpy as np

from assistant.circuit import CHEAP_METER, Measurement, MeterFunction, build_network, make_solver, ready_state
from assistant.diagnosis.belief import LEAK_SPREAD, believe, reading_sigma
from assistant.diagnosis.hypotheses import single_faults
from assistant.diagnosis.model import ReadingSeen
from assistant.diagnosis.table import FaultTable
from tests.diagnosis.boats import point
from tests.support.boats import example_boats


@cache
def table() -> FaultTable:
    """Return what tells the sound boat from what may be wrong with its drive and its fuse."""
    network = build_network(example_boats()["dabchick"])
    stories = [h for h in single_faults(network) if not h.modes or h.modes[0].part in ("drive", "fuse")]
    return FaultTable(make_solver(network), stories, CHEAP_METER)


def volts(red: str, black: str) -> Measurement:
    state = ready_state(table().solver.network.boat)
    return Measurement(function=MeterFunction.DC_VOLTS, red=point(red), black=point(black), state=state)


def test_where_leakage_alone_holds_both_ends_a_reading_is_known_to_its_magnitude_only() -> None:
    floating = volts("drive A", "drive b")
    shown = table().state(floating.state).shown_everywhere(floating)
    sigma = reading_sigma(table(), shown)
    leaky = (shown.loaded > 0.5) & (np.abs(shown.values) > 0.1)
    assert leaky.any()
    assert (sigma[leaky] > 0.5 * LEAK_SPREAD * np.abs(shown.values[leaky])).all()


def test_what_a_pack_holds_is_read_as_exactly_as_the_meter_does() -> None:
    held = volts("pack +", "pack -")
    shown = table().state(held.state).shown_everywhere(held)
    assert float(shown.loaded.max()) < 1e-6
    assert float((reading_sigma(table(), shown) / shown.values).max()) < 0.01


def test_some_tenths_of_a_volt_more_on_what_floats_do_not_rule_a_fault_out() -> None:
    floating = volts("drive A", "drive b")
    shown = table().state(floating.state).shown_everywhere(floating)
    at = np.where(shown.loaded[0] > 0.5, np.abs(shown.values[0]), 0.0).mean(axis=1)
    cell = int(at.argmax())
    value = float(shown.values[0, cell].mean())
    seen = [ReadingSeen(measurement=floating, value=factor * value) for factor in (1.0, 0.7)]
    exact, off = (believe(table(), [one]).factors[0, cell].mean() for one in seen)
    assert off > 0.5 * exact
