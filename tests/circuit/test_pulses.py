"""Duty and frequency: what of a servo signal reaches the probes."""

import numpy as np
import pytest

from assistant.circuit import (
    CHEAP_METER,
    Fault,
    Variant,
    build_network,
    make_solver,
    pulses_shown,
    ready_state,
)
from assistant.circuit.batch import make_batch
from assistant.wiring import TRANSMITTER, Point, load_boat
from tests.support.boats import ROOT, read_catalogue

BOAT = load_boat(
    (ROOT / "cases" / "dabchick.yaml").read_text(encoding="utf-8"), "dabchick.yaml", read_catalogue()
)
SOLVER = make_solver(build_network(BOAT))
ONE = np.zeros(1, dtype=np.intp)
(LEAD,) = [lead.id for lead in BOAT.leads.values() if Point(part="rudder", terminal="s") in lead.ends]


def shown(at: str, settings: dict[str, float], *faults: Fault) -> tuple[float, float]:
    """Return duty and frequency on a signal pin against the minus beside it."""
    state = ready_state(BOAT).with_(settings)
    variants = [Variant(faults=faults)]
    solution = SOLVER.solve(state, variants)
    hold = SOLVER.hold(solution, variants, ONE)
    part, signal = at.split(".")
    minus = "b" if signal == "s" else signal.replace("s", "-")
    red, black = (np.array([SOLVER.network.node(Point(part=part, terminal=t))]) for t in (signal, minus))
    batch = make_batch(SOLVER.network, variants, draws=0)
    seen = pulses_shown(batch, state, solution.phase.conditions, hold, ONE, (red, black), CHEAP_METER)
    return float(seen.duty[0, 0]), float(seen.rate_hz[0, 0])


@pytest.mark.parametrize("at", ["receiver.1s", "rudder.s"])
@pytest.mark.parametrize(("helm", "duty"), [(-1.0, 0.05), (0.0, 0.075), (1.0, 0.1)])
def test_duty_is_the_pulse_over_the_frame_at_both_ends_of_the_lead(at: str, helm: float, duty: float) -> None:
    assert shown(at, {"helm": helm}) == pytest.approx((duty, 50.0))


def test_without_pulses_nothing_is_counted() -> None:
    assert shown("receiver.1s", {TRANSMITTER: 0.0}) == (0.0, 0.0)
    assert shown("receiver.1s", {}, Fault("receiver", "dead")) == (0.0, 0.0)
    assert shown("receiver.1s", {"pack.plugged": 0.0}) == (0.0, 0.0)


def test_behind_a_broken_signal_wire_nothing_arrives_and_before_it_all() -> None:
    broken = Fault(f"{LEAD}@2", "open")
    assert shown("rudder.s", {}, broken) == (0.0, 0.0)
    assert shown("receiver.1s", {}, broken) == pytest.approx((0.075, 50.0))


def test_what_leaks_makes_pulses_too_low_to_be_counted_and_not_narrower() -> None:
    """470 ohm from the socket: with 50 ohm to minus 0.3 V of 3.3 V are left, with 5 kohm 3.0 V (c)."""
    assert shown("rudder.s", {}, Fault("rudder", "wet", 50.0)) == (0.0, 0.0)
    assert shown("rudder.s", {}, Fault("rudder", "wet", 5000.0)) == pytest.approx((0.075, 50.0))


def test_what_is_set_wrongly_shows_in_the_duty() -> None:
    assert shown("rudder.s", {"helm": 1.0}, Fault("channel 1", "reversed"))[0] == pytest.approx(0.05)
