"""The circuit model: described wiring in, voltages and currents of healthy and faulty boats out."""

from assistant.circuit.alike import REST, Alike, Likeness
from assistant.circuit.batch import Fault, Variant
from assistant.circuit.diode_test import diode_volts
from assistant.circuit.drops import Drop, drops_along
from assistant.circuit.hold import Hold
from assistant.circuit.lamp import LAMP_LEVELS, lamp_edges, lamp_level, lamp_share, lamp_value, level_span
from assistant.circuit.meter import (
    BEEP_OHM,
    CHEAP_METER,
    Accuracy,
    CurrentRange,
    Measurement,
    MeterFunction,
    MeterProfile,
    half_width,
    last_digit,
    ohms_shown,
    share_loaded,
    volts_shown,
)
from assistant.circuit.meter_file import load_meter
from assistant.circuit.network import Network, build_network
from assistant.circuit.opening import Opening, opening_of
from assistant.circuit.pulses import pulses_shown
from assistant.circuit.ripple import RIPPLE_FLOOR_V, RIPPLE_SPREAD, ripple_shown
from assistant.circuit.series import (
    Gap,
    amps_shown,
    around_ohm,
    gap_between,
    gaps_by_ends,
    gaps_of,
    own_ohm,
    through,
)
from assistant.circuit.solution import Phase, Solution
from assistant.circuit.solve import Solver, make_solver
from assistant.circuit.state import (
    BoatState,
    forward_states,
    is_unplugged,
    pack_settings,
    ready_state,
    rest_state,
    working_states,
)
from assistant.circuit.survey import Survey

__all__ = [
    "BEEP_OHM",
    "CHEAP_METER",
    "LAMP_LEVELS",
    "REST",
    "RIPPLE_FLOOR_V",
    "RIPPLE_SPREAD",
    "Accuracy",
    "Alike",
    "BoatState",
    "CurrentRange",
    "Drop",
    "Fault",
    "Gap",
    "Hold",
    "Likeness",
    "Measurement",
    "MeterFunction",
    "MeterProfile",
    "Network",
    "Opening",
    "Phase",
    "Solution",
    "Solver",
    "Survey",
    "Variant",
    "amps_shown",
    "around_ohm",
    "build_network",
    "diode_volts",
    "drops_along",
    "forward_states",
    "gap_between",
    "gaps_by_ends",
    "gaps_of",
    "half_width",
    "is_unplugged",
    "lamp_edges",
    "lamp_level",
    "lamp_share",
    "lamp_value",
    "last_digit",
    "level_span",
    "load_meter",
    "make_solver",
    "ohms_shown",
    "opening_of",
    "own_ohm",
    "pack_settings",
    "pulses_shown",
    "ready_state",
    "rest_state",
    "ripple_shown",
    "share_loaded",
    "through",
    "volts_shown",
    "working_states",
]
