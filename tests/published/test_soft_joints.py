"""Joints that have gone soft: what they do to a circuit, and what one reading says about them.

Values were computed apart from this program (c).
"""

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.catalogue import Action, Severity
from assistant.circuit import (
    CHEAP_METER,
    Accuracy,
    BoatState,
    Fault,
    Measurement,
    MeterFunction,
    MeterProfile,
    Solver,
    Variant,
    make_solver,
    ready_state,
    volts_shown,
)
from assistant.diagnosis import Hypothesis, ModeAt, ReadingSeen, RepairId
from assistant.diagnosis.belief import believe
from assistant.diagnosis.hypotheses import severity_grid
from assistant.diagnosis.table import FaultTable
from assistant.quantities import Unit
from assistant.wiring import Point
from tests.diagnosis.discrete import (
    NEXT_TO_NOTHING,
)
from tests.published.check_circuit import (
    JOINT_ONE,
    JOINT_TWO,
    LOAD_TO_NEGATIVE,
    OVER_JOINT_ONE,
    OVER_LOAD,
    SWITCH_TO_NEGATIVE,
    check_network,
)

Array = NDArray[np.float64]


@pytest.fixture(scope="module")
def solver() -> Solver:
    return make_solver(check_network())


def soft(joint: str, ohm: float) -> Variant:
    return Variant(faults=(Fault(joint, "soft", ohm),))


def volts(
    solver: Solver, state: BoatState, variants: Sequence[Variant], points: tuple[Point, Point]
) -> list[float]:
    """Return what the meter of 10 MΩ shows between two points on each variant."""
    red, black = (np.array([solver.network.node(p)]) for p in points)
    solution = solver.solve(state, variants)
    columns = np.arange(len(variants))
    source_ohm = solver.hold(solution, variants, columns).between(red, black, columns)
    apart = solution.phase.volts[red] - solution.phase.volts[black]
    return [float(v) for v in volts_shown(apart, source_ohm, CHEAP_METER)[0]]


class TestCheckCircuit:
    """One source, one load and two joints in series; voltages computed (c)."""

    variants = (
        Variant(),
        soft(JOINT_ONE, 0.5),
        soft(JOINT_ONE, 5.0),
        soft(JOINT_TWO, 0.5),
    )

    def test_volts_and_amps_under_load(self, solver: Solver) -> None:
        state = ready_state(solver.network.boat)
        drops = volts(solver, state, self.variants, OVER_JOINT_ONE)
        over_load = volts(solver, state, self.variants, OVER_LOAD)
        assert drops == pytest.approx([0.0174, 1.4095, 5.1930, 0.0141], abs=1e-4)
        assert over_load == pytest.approx([6.9484, 5.6381, 2.0772, 5.6381], abs=1e-4)
        assert [v / 2.0 for v in over_load] == pytest.approx([3.4742, 2.8190, 1.0386, 2.8190], abs=1e-4)

    def test_side_shows_only_against_the_battery_negative(self, solver: Solver) -> None:
        state = ready_state(solver.network.boat)
        one, two = (soft(joint, 0.5) for joint in (JOINT_ONE, JOINT_TWO))
        plain = volts(solver, state, [one, two], OVER_LOAD)
        against_negative = volts(solver, state, [one, two], LOAD_TO_NEGATIVE)
        assert plain[0] == pytest.approx(plain[1], abs=1e-4)
        assert against_negative[1] - against_negative[0] == pytest.approx(0.5 * 2.8190 - 0.0141, abs=1e-3)

    def test_soft_joints_are_invisible_without_load(self, solver: Solver) -> None:
        """Unloaded, on a 10 MΩ meter: half an ohm hides, only near the meter's own input does it show.

        In this program every node also leaks a billionth of a siemens, which takes 0.5 % off the last value.
        """
        state = ready_state(solver.network.boat).with_({"load.drawing": 0.0})
        variants = [soft(JOINT_ONE, ohm) for ohm in (0.5, 100e3, 1e6)]
        shown = volts(solver, state, variants, SWITCH_TO_NEGATIVE)
        assert shown == pytest.approx([7.4000, 7.3267, 6.7273], rel=5e-3)
        assert shown[0] == pytest.approx(7.4, abs=1e-5)

    @pytest.mark.parametrize("joint", [JOINT_ONE, JOINT_TWO])
    def test_direction_tells_the_place_and_size_the_severity(self, solver: Solver, joint: str) -> None:
        """Sherman-Morrison: ΔV = -Δg (aᵀV₀) / (1 + Δg aᵀG⁻¹a) · G⁻¹a, whatever Δg, points along G⁻¹a."""
        network = solver.network
        state = ready_state(network.boat)
        ohms = np.array([0.01, 0.05, 0.5, 5.0, 50.0])
        solution = solver.solve(state, [Variant(), *(soft(joint, ohm) for ohm in ohms)])
        (contact,) = (network.elements[i].nodes for i in network.elements_of(joint))
        healthy = solution.phase.volts[:, :1]
        moved = solution.phase.volts[:, 1:] - healthy
        directions = moved / moved[contact[0]]
        assert directions == pytest.approx(np.repeat(directions[:, :1], len(ohms), axis=1), abs=1e-5)
        first, second = (np.array([node]) for node in contact)
        hold = solver.hold(solution, [Variant()], np.array([0])).between(first, second, np.array([0]))
        more_siemens = 1.0 / ohms - 1.0 / 0.005
        drop = healthy[contact[0]] - healthy[contact[1]]
        expected = -more_siemens * drop / (1.0 + more_siemens * hold[0]) * hold[0]
        assert moved[contact[0]] - moved[contact[1]] == pytest.approx(expected, rel=1e-4)


@pytest.fixture
def plain_meter(monkeypatch: pytest.MonkeyPatch) -> MeterProfile:
    """Return a meter with a standard deviation of 20 mV; 2 readings of 100 say nothing, spread over 8 V.

    The example does not print the 8 V nor the range of severities (0.05 to 50 Ω); both follow from its values.
    """
    monkeypatch.setattr("assistant.diagnosis.belief.UNKNOWN_SHARE", NEXT_TO_NOTHING)
    monkeypatch.setattr("assistant.diagnosis.belief.MISREAD", 0.02)
    monkeypatch.setattr("assistant.diagnosis.belief.MODEL_SHARE", 0.0)
    monkeypatch.setattr("assistant.diagnosis.belief.MODEL_V", 0.02)
    monkeypatch.setattr("assistant.diagnosis.belief.volts_span", lambda _: 8.0)
    return MeterProfile(functions={MeterFunction.DC_VOLTS: Accuracy(share=0.0, digits=0.0)})


FINE = tuple(float(s) for s in np.geomspace(0.05, 50.0, 400))
AS_ON_A_BOAT = severity_grid(Severity(unit=Unit.OHM, low=0.05, high=50.0, log=True))


@pytest.mark.parametrize(
    ("drop_v", "likeliest", "mass"), [(0.35, "soft", 0.928), (1.41, "soft", 0.792), (7.35, "open", 0.914)]
)
@pytest.mark.parametrize(("severities", "off"), [(FINE, 0.001), (AS_ON_A_BOAT, 0.2)])
def test_ok_soft_or_open(
    solver: Solver,
    plain_meter: MeterProfile,
    severities: tuple[float, ...],
    off: float,
    drop_v: float,
    likeliest: str,
    mass: float,
) -> None:
    """Priors .90 / .07 / .03, soft log-uniform (c); a boat's few severities come within 0.2 of the integral."""
    remake = (RepairId(place=JOINT_ONE, action=Action.REMAKE),)
    healthy = Hypothesis(modes=(), repairs=(), severities=(0.0,), weight=0.90)
    faults = [
        Hypothesis(
            modes=(ModeAt(part=JOINT_ONE, mode=mode),),
            repairs=remake,
            severities=severities if mode == "soft" else (0.0,),
            weight=weight,
        )
        for mode, weight in (("soft", 0.07), ("open", 0.03))
    ]
    table = FaultTable(solver, [healthy, *faults], plain_meter)
    red, black = OVER_JOINT_ONE
    state = ready_state(solver.network.boat)
    drop = Measurement(function=MeterFunction.DC_VOLTS, red=red, black=black, state=state)
    belief = believe(table, [ReadingSeen(measurement=drop, value=drop_v)])
    masses = dict(zip(("ok", "soft", "open"), np.bincount(table.cells.owner, belief.cells), strict=True))
    assert max(masses, key=lambda name: masses[name]) == likeliest
    assert masses[likeliest] == pytest.approx(mass, abs=off)
