"""A boat that is well is not accused, however its tolerances fall."""

import numpy as np

from assistant.circuit import Measurement, MeterFunction, rest_state
from assistant.diagnosis import Diagnosis
from assistant.dialogue import Setup
from assistant.wiring import Point
from tests.hunts.campaign import setup_of


def grebe() -> Diagnosis:
    setup: Setup = setup_of("grebe")
    assert isinstance(setup.diagnosis, Diagnosis)
    return setup.diagnosis


def test_band_of_cold_lamp_ohms_spans_the_tolerance_of_the_lamp() -> None:
    diagnosis = grebe()
    state = rest_state(diagnosis.network.boat)
    ends = [Point(part="mast-lamp", terminal=t) for t in "+-"]
    measurement = Measurement(function=MeterFunction.OHMS, red=ends[0], black=ends[1], state=state)
    shown = diagnosis.table.healthy(state).shown([measurement]).values[0, 0]
    assert np.ptp(shown) > 0.2 * shown[0]
    band = diagnosis.band(measurement)
    assert np.mean((shown >= band.low) & (shown <= band.high)) > 0.98
