"""Places moved while something is watched, on a boat small enough to reckon everything by hand."""

from itertools import permutations
from random import Random

import numpy as np
import pytest

from assistant.circuit import Fault, Measurement
from assistant.diagnosis import (
    Diagnosis,
    Evidence,
    Outcome,
    SignQuery,
    SignSeen,
    Step,
    StepKind,
    Unsteady,
    Wiggle,
    Wiggled,
)
from assistant.diagnosis.belief import MISSEEN, believe, likelihood
from assistant.diagnosis.choose import field_of, wiggle_gains, wiggle_outcomes
from assistant.diagnosis.costs import WIGGLE_S
from assistant.diagnosis.moving import (
    BESIDE,
    BY_ITSELF,
    FLIPS,
    is_caught,
    moved_once,
    says_it_comes_and_goes,
    swing_of,
    visible,
    watched_before,
)
from assistant.drill import VirtualBoat
from tests.diagnosis.boats import SMEW, diagnosis_of, light, ohms, read, ready, unplugged, volts

READY = ready(SMEW)
LAMP = light(READY, "dark").query
OVER_LAMP, OVER_FUSE = volts("lamp +", "lamp -", READY), volts("fuse in", "fuse out", READY)
JOINT, WIRE = "pack.+--fuse.in@1", "pack.+--fuse.in"
SAID: tuple[Evidence, ...] = (light(READY, "dark"), Unsteady(asked=LAMP))


@pytest.fixture(scope="module")
def smew() -> Diagnosis:
    return diagnosis_of(SMEW)


def cell_of(smew: Diagnosis, place: str, *, fickle: bool) -> int:
    table = smew.table
    return next(
        cell
        for cell, owner in enumerate(table.cells.owner)
        if table.hypotheses[owner].modes[:1]
        and table.hypotheses[owner].modes[0].part == place
        and table.hypotheses[owner].comes_and_goes is fickle
    )


def test_only_what_the_fault_bears_on_is_seen_to_change(smew: Diagnosis) -> None:
    cell = cell_of(smew, JOINT, fickle=True)
    assert visible(smew.table, LAMP)[cell] == pytest.approx(1.0, abs=0.01)
    assert visible(smew.table, OVER_LAMP)[cell] == pytest.approx(1.0)
    assert visible(smew.table, OVER_FUSE)[cell] == pytest.approx(0.0)
    assert visible(smew.table, LAMP)[smew.table.cells.well] == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize(
    ("moved", "chance"),
    [(JOINT, FLIPS), (WIRE, BESIDE), ("pack.---lamp.-@1", BY_ITSELF)],
)
def test_a_place_moved_changes_what_is_watched_where_it_is_guilty(
    smew: Diagnosis, moved: str, chance: float
) -> None:
    wiggle = Wiggle(place=moved, watched=OVER_LAMP)
    changed, unknown = likelihood(smew.table, Wiggled(asked=wiggle, changed=True))
    stays, _ = likelihood(smew.table, Wiggled(asked=wiggle, changed=False))
    guilty, lasting = (cell_of(smew, JOINT, fickle=fickle) for fickle in (True, False))
    assert changed[guilty] == pytest.approx((1.0 - MISSEEN) * chance + 0.5 * MISSEEN)
    assert changed[lasting] == pytest.approx(0.5 * MISSEEN)
    assert changed + stays == pytest.approx(np.ones_like(changed))
    assert unknown == 0.5


def test_information_of_a_move_is_that_of_its_two_outcomes(smew: Diagnosis) -> None:
    field = field_of(smew.table, smew.belief(SAID))
    (gain,) = wiggle_gains(smew.table, field, [JOINT], LAMP)
    outcomes = wiggle_outcomes(smew.table, field, [JOINT], LAMP)[0]
    by_repair = np.zeros((2, field.count))
    for outcome in range(2):
        mass = (outcomes[outcome] * field.weights.reshape(-1)).reshape(field.weights.shape).sum(axis=1)
        by_repair[outcome] = np.bincount(field.repairs, mass, field.count)
    product = by_repair.sum(axis=1, keepdims=True) * by_repair.sum(axis=0)
    assert gain == pytest.approx(float((by_repair * np.log2(by_repair / product)).sum()), abs=1e-9)
    assert gain > 0.1


def steps_of(smew: Diagnosis, told: tuple[Evidence, ...]) -> list[Step]:
    """Return the steps of a hunt for a joint under insulation that is loose now and then."""
    boat = VirtualBoat(smew.table.solver, (Fault("pack.---lamp.-@2", "loose"),), Random(2), away=0.4)
    found: list[Step] = []
    given = list(told)
    while len(found) < 12:
        boat.let_time_pass()
        step = smew.next_step(smew.belief(given), state=READY, last=None, refused=frozenset())
        if step is None:
            break
        found.append(step)
        if step.wiggle is not None:
            given.append(Wiggled(asked=step.wiggle, changed=boat.wiggle(step.wiggle)))
        elif step.measurement is not None:
            given.append(read(step.measurement, boat.read(step.measurement)))
        elif step.query is not None:
            given.append(SignSeen(query=step.query, levels=(boat.look(step.query),)))
    return found


def test_no_move_is_on_offer_before_somebody_says_that_it_comes_and_goes(smew: Diagnosis) -> None:
    moves = [step for step in steps_of(smew, SAID) if step.kind is StepKind.WIGGLE]
    assert moves
    for step in moves:
        assert step.asked == step.wiggle
        assert step.seconds >= WIGGLE_S
        assert step.swing is not None
    assert all(step.kind is not StepKind.WIGGLE for step in steps_of(smew, SAID[:1]))
    assert not says_it_comes_and_goes(SAID[:1])
    assert says_it_comes_and_goes(SAID)


def test_a_place_that_makes_it_change_is_found_in_whatever_order_it_was_told(smew: Diagnosis) -> None:
    moves: tuple[Evidence, ...] = (
        Wiggled(asked=Wiggle(place=JOINT, watched=LAMP), changed=True),
        Wiggled(asked=Wiggle(place=WIRE, watched=LAMP), changed=False),
        Wiggled(asked=Wiggle(place="pack.---lamp.-@1", watched=LAMP), changed=False),
    )
    first = smew.belief((*SAID, *moves))
    for order in permutations((*SAID, *moves)):
        assert smew.belief(order).cells == pytest.approx(first.cells, rel=1e-9)
    verdict = smew.verdict(first, None)
    assert verdict.suspects[0].repair.place == JOINT
    assert verdict.suspects[0].probability > 0.5
    mode = verdict.suspects[0].modes[0].mode
    assert smew.network.parts[JOINT].kind.faults[mode].intermittent
    assert first.without(4).cells == pytest.approx(smew.belief((*SAID, *moves[:2])).cells, rel=1e-9)


def test_the_same_move_made_again_counts_again(smew: Diagnosis) -> None:
    """A hand that moves a place makes a fresh draw, unlike a reading of a boat left still."""
    still = Wiggled(asked=Wiggle(place=JOINT, watched=LAMP), changed=False)
    guilty = smew.table.cells.owner == smew.table.cells.owner[cell_of(smew, JOINT, fickle=True)]
    masses = [float(believe(smew.table, [*SAID, *[still] * count]).cells[guilty].sum()) for count in range(3)]
    assert masses[0] > 3.0 * masses[1] > 9.0 * masses[2]


def test_a_move_that_made_it_change_is_asked_for_a_second_time_before_the_place_is_named(
    smew: Diagnosis,
) -> None:
    moved = Wiggle(place=JOINT, watched=LAMP)
    once = smew.belief((*SAID, Wiggled(asked=moved, changed=True)))
    step = smew.next_step(once, state=READY, last=None, refused=frozenset())
    assert step is not None
    assert step.wiggle == moved
    assert "move it once more" in smew.explain(step, once)
    for again in (True, False):
        twice = smew.belief((*once.evidence, Wiggled(asked=moved, changed=again)))
        after = smew.next_step(twice, state=READY, last=None, refused=frozenset())
        assert after is None or after.wiggle != moved


def test_caught_is_what_was_met_with_beside_the_sign_that_was_told_of(smew: Diagnosis) -> None:
    steady = (*SAID, read(OVER_LAMP, 7.5), Wiggled(asked=Wiggle(place=JOINT, watched=LAMP), changed=False))
    assert not is_caught(steady, smew.is_amiss)
    assert smew.verdict(smew.belief(steady), None).outcome is Outcome.UNCAUGHT
    for met in (
        read(OVER_FUSE, 7.0),
        Unsteady(asked=OVER_LAMP),
        Wiggled(asked=Wiggle(place=WIRE, watched=LAMP), changed=True),
    ):
        assert is_caught((*steady, met), smew.is_amiss)
        assert smew.verdict(smew.belief((*steady, met)), None).outcome in (Outcome.SOLE, Outcome.GROUP)


def test_only_what_changed_at_a_single_move_is_moved_again() -> None:
    first, second = (Wiggle(place=place, watched=LAMP) for place in (JOINT, WIRE))
    changed, stayed = Wiggled(asked=first, changed=True), Wiggled(asked=second, changed=False)
    assert moved_once((*SAID, changed, stayed)) == {first}
    assert moved_once((*SAID, changed, changed, stayed)) == frozenset()
    assert moved_once(SAID) == frozenset()


def test_what_it_should_show_and_what_with_the_fault_comes_from_the_circuit(smew: Diagnosis) -> None:
    swing = swing_of(smew.table, Wiggle(place=JOINT, watched=OVER_LAMP))
    assert swing is not None
    well, faulty = swing
    assert 7.0 < float(well) < 8.5
    assert abs(float(faulty)) < 0.1
    assert swing_of(smew.table, Wiggle(place=JOINT, watched=LAMP)) == ("bright", "dark")
    assert swing_of(smew.table, Wiggle(place="lamp", watched=LAMP)) is None


def test_only_volts_and_signs_of_a_boat_that_is_fed_are_watched(smew: Diagnosis) -> None:
    dead = ohms("fuse in", "fuse out", unplugged(SMEW))
    grip = SignQuery(part=JOINT, sign="contacts", state=unplugged(SMEW))
    assert "contacts" in smew.network.parts[JOINT].kind.signs
    evidence = (*SAID, read(OVER_LAMP, 7.6), read(dead, 0.2), Unsteady(asked=grip))
    watched: tuple[Measurement | SignQuery, ...] = (LAMP, OVER_LAMP)
    assert watched_before(smew.network.boat, evidence) == watched
