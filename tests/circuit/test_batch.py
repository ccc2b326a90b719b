"""Values of many variants: tolerances, faults, presence of elements and stuck conditions."""

import numpy as np
import pytest

from assistant.catalogue import nominal_values
from assistant.circuit import Fault, Variant, build_network
from assistant.circuit.batch import PartValues, make_batch, values_by_draw
from assistant.errors import CircuitError
from assistant.wiring import Boat
from tests.support.boats import example_boats

BOATS = example_boats()
DRAWS = 200


@pytest.fixture(params=sorted(BOATS))
def boat(request: pytest.FixtureRequest) -> Boat:
    return BOATS[str(request.param)]


def test_draw_0_is_the_nominal_boat(boat: Boat) -> None:
    for part in boat.parts.values():
        drawn = values_by_draw(part, DRAWS)
        assert {name: float(column[0]) for name, column in drawn.items()} == pytest.approx(
            nominal_values(part.kind, part.given)
        )


def test_draws_stay_within_tolerance_and_use_all_of_it(boat: Boat) -> None:
    for part in boat.parts.values():
        drawn = values_by_draw(part, DRAWS)
        for name, spec in part.kind.values.items():
            if name in part.given:
                centre = np.full(1 + DRAWS, part.given[name])
            else:
                assert spec.default is not None
                centre = np.broadcast_to(spec.default(drawn, part.kind.curves), (1 + DRAWS,))
            most = spec.tolerance * np.abs(centre) + spec.spread
            off = np.abs(drawn[name] - centre)
            assert (off <= most * (1 + 1e-9)).all()
            if most.min() > 0.0 and spec.low is None and spec.high is None:
                assert (off / most).max() > 0.95


def test_draws_fill_the_tolerance_evenly_and_apart() -> None:
    """Each two-hundredth of the tolerance is drawn once, and no two values of a boat go together."""
    boat = BOATS["dabchick"]
    columns = [
        values_by_draw(p, DRAWS)["ohm"][1:] / values_by_draw(p, DRAWS)["ohm"][0] - 1.0
        for p in boat.parts.values()
        if p.kind.group == "joint"
    ]
    for column in columns:
        stratum = np.floor((column / 0.5 + 1.0) / 2.0 * DRAWS)
        assert sorted(stratum.astype(int)) == list(range(DRAWS))
    together = np.corrcoef(columns) - np.eye(len(columns))
    assert np.abs(together).max() < 0.35


def test_fault_changes_its_own_part_on_its_own_rows_alone() -> None:
    network = build_network(BOATS["dabchick"])
    variants = [Variant(), Variant(faults=(Fault("pump", "drags", 3.0),)), Variant(draw=2)]
    batch = make_batch(network, variants, draws=4)
    assert batch.values["pump"]["load"].tolist()[:2] == pytest.approx([1.0, 3.0])
    assert batch.values["pump"]["severity"].tolist() == [1.0, 3.0, 1.0]
    for part, values in batch.values.items():
        for name, column in values.items():
            if part != "pump":
                assert column[1] == column[0], (part, name)


def test_values_alone_are_those_of_the_batch() -> None:
    network = build_network(BOATS["dabchick"])
    variants = [Variant(), Variant(faults=(Fault("pack", "flat", 0.05), Fault("pump", "drags", 2.0)), draw=1)]
    batch = make_batch(network, variants, draws=4)
    for name, column in PartValues(network, variants, 4).of("pack").items():
        assert column.tolist() == batch.values["pack"][name].tolist()


def test_faults_open_add_and_stick() -> None:
    network = build_network(BOATS["dabchick"])
    faults = [
        Fault("fuse", "open"),
        Fault("switch", "wet", 500.0),
        Fault("switch", "welded"),
        Fault("switch", "open"),
    ]
    batch = make_batch(network, [Variant(), *(Variant(faults=(f,)) for f in faults)], draws=0)
    numbers = {(e.part, e.name): n for n, e in enumerate(network.elements)}
    conditions = {(c.part, c.name): n for n, c in enumerate(network.conditions)}
    assert batch.present[numbers["fuse", "link"]].tolist() == [True, False, True, True, True]
    assert batch.present[numbers["switch", "wet/leak"]].tolist() == [False, False, True, False, False]
    assert batch.forced[conditions["switch", "closed"]].tolist() == [0, 0, 0, 1, -1]


@pytest.mark.parametrize(
    ("fault", "told"),
    [(Fault("keel", "open"), "keel"), (Fault("fuse", "bent"), "bent")],
)
def test_a_fault_that_the_boat_cannot_have_is_refused_by_name(fault: Fault, told: str) -> None:
    network = build_network(BOATS["dabchick"])
    with pytest.raises(CircuitError, match=told) as caught:
        make_batch(network, [Variant(), Variant(faults=(fault,))], draws=0)
    assert caught.value.places == (fault.part,)
