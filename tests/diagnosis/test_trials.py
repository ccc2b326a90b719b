"""Trials: what can be tried on a boat, what it makes of a fault, and that the table says what the boat would show."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from random import Random

import numpy as np
import pytest

from assistant.circuit import BoatState, Fault, Variant, ready_state
from assistant.diagnosis import (
    AtHand,
    Diagnosis,
    Evidence,
    ReadingSeen,
    SignQuery,
    SignSeen,
    Trial,
    TrialKind,
)
from assistant.diagnosis.choose import field_of
from assistant.diagnosis.offers import Offers
from assistant.diagnosis.signs import SignModel
from assistant.diagnosis.trials import faults_after, looks_across, looks_after, moved_by, trials_of
from assistant.diagnosis.verdict import SETTLED, is_confirmed, is_tried_out, leader
from assistant.drill.trying import changed
from assistant.drill.virtual import VirtualBoat
from tests.diagnosis.boats import SMEW, boat_of, network_of, volts

TWINS = """\
boat: Gadwall
parts:
  pack: {kind: nimh pack, cells: 6, capacity: 3.3 Ah}
  bus: {kind: splice}
  left-fuse: {kind: blade fuse, rating: 5 A}
  right-fuse: {kind: blade fuse, rating: 5 A}
  left-lamp: {kind: lamp, rated: 7.2 V at 1 A}
  right-lamp: {kind: lamp, rated: 7.2 V at 1 A}
  switch: {kind: toggle switch, rating: 10 A}
  minus: {kind: splice}
runs:
  - [pack +, 16 AWG 15 cm plug/crimped, switch, 16 AWG 10 cm, bus]
  - [bus, 18 AWG 10 cm, left-fuse, 18 AWG 10 cm, left-lamp +]
  - [bus, 18 AWG 10 cm, right-fuse, 18 AWG 10 cm, right-lamp +]
  - [pack -, 16 AWG 10 cm, minus]
  - [minus, 18 AWG 10 cm, left-lamp -]
  - [minus, 18 AWG 10 cm, right-lamp -]
"""
ALL = frozenset(AtHand)


def _find(text: str, kind: TrialKind, first: str) -> Trial:
    found = trials_of(boat_of(text), ALL)
    return next(one for one in found if one.kind is kind and one.places[0] == first)


def test_swapping_wants_nothing_at_hand() -> None:
    found = trials_of(boat_of(TWINS), frozenset())
    assert [(one.kind, one.places) for one in found] == [(TrialKind.SWAP, ("left-fuse", "right-fuse"))]


def test_unlike_fuses_are_not_swapped() -> None:
    unlike = TWINS.replace(
        "right-fuse: {kind: blade fuse, rating: 5 A}", "right-fuse: {kind: blade fuse, rating: 3 A}"
    )
    assert trials_of(boat_of(unlike), frozenset()) == ()


def test_no_lead_ever_bridges_a_fuse() -> None:
    boat = boat_of(TWINS)
    bridged = [one for one in trials_of(boat, ALL) if one.kind is TrialKind.BYPASS]
    assert len(bridged) > 5
    assert not {"left-fuse", "right-fuse"} & {place for one in bridged for place in one.places}


def test_a_bridge_may_span_a_switch_but_is_not_offered_while_that_is_off() -> None:
    boat = boat_of(TWINS)
    across = [one for one in trials_of(boat, ALL) if "switch" in one.places]
    assert across
    ready = ready_state(boat)
    look = SignQuery(part="left-lamp", sign="light", state=ready)
    off = ready.with_({"switch.closed": 0.0})
    assert list(looks_after(boat, ready, across, [look]))
    assert not list(looks_after(boat, off, across, [replace(look, state=off)]))


def test_nothing_is_tried_with_the_pack_unplugged() -> None:
    boat = boat_of(TWINS)
    dead = ready_state(boat).with_({"pack.plugged": 0.0})
    look = SignQuery(part="left-lamp", sign="light", state=dead)
    assert not list(looks_after(boat, dead, trials_of(boat, ALL), [look]))


def test_what_gave_way_to_a_cause_gives_way_again() -> None:
    boat = boat_of(SMEW)
    cause, blown = Fault("lamp", "shorted"), Fault("fuse", "blown")
    trial = Trial(kind=TrialKind.SPARE, places=("fuse",))
    known = {name for name, spec in boat.parts["fuse"].kind.faults.items() if spec.follows is not None}
    assert known
    blown = replace(blown, mode=min(known))
    causes = [name for name, spec in boat.parts["lamp"].kind.faults.items() if spec.follows is None]
    cause = replace(cause, mode=causes[0])
    assert faults_after(boat, trial, (cause, blown)) == (cause, blown)
    assert faults_after(boat, trial, (blown,)) == ()


@pytest.mark.parametrize(("text", "lamp"), [(SMEW, "lamp"), (TWINS, "left-lamp")])
def test_the_table_says_what_the_changed_boat_shows(text: str, lamp: str) -> None:
    """Every cell after every trial, against the boat that is really changed, solved by itself."""
    network = network_of(text)
    table, state = Diagnosis(network).table, ready_state(network.boat)
    solver = table.solver
    hidden = [variant.faults for variant in table.cells.variants[:: table.cells.draws]]
    trials = trials_of(network.boat, ALL)
    assert {trial.kind for trial in trials} >= {TrialKind.SPARE, TrialKind.BYPASS}
    for trial in trials:
        query = SignQuery(part=lamp, sign="light", state=state, after=trial)
        if trial.kind is TrialKind.BYPASS:
            there, faults = changed(solver, trial, ())[0], hidden
        else:
            there, faults = solver, [changed(solver, trial, one)[1] for one in hidden]
        variants = [Variant(faults=one, draw=1) for one in faults]
        solution = there.solve(state, variants, draws=table.cells.tolerances)
        model = SignModel(there.network, variants, table.cells.tolerances)
        truth = model.probabilities(solution, replace(query, after=None))
        assert np.abs(truth - table.levels(query)[:, :, 0]).max() < 0.05


SERVOS = """\
boat: Gadwall
parts:
  pack: {kind: nimh pack, cells: 4, capacity: 2 Ah}
  receiver: {kind: receiver}
  rudder: {kind: servo}
  winch: {kind: servo}
runs:
  - [pack +, 20 AWG 10 cm, receiver batt+]
  - [pack -, 20 AWG 10 cm, receiver batt-]
radio:
  controls: {helm: stick, sheet: stick}
  channels: {1: rudder, 2: winch}
  mix: {1: {helm: 100 %}, 2: {sheet: 100 %}}
"""
"""Two servos alike on two sticks."""


@cache
def gadwall() -> Diagnosis:
    return Diagnosis(network_of(SERVOS))


def _crossed() -> Trial:
    (trial,) = trials_of(boat_of(SERVOS), frozenset())
    return trial


def _helm() -> BoatState:
    return ready_state(boat_of(SERVOS)).with_({"helm": 1.0})


def test_only_servos_alike_have_their_plugs_swapped() -> None:
    assert _crossed().kind is TrialKind.PLUGS
    assert _crossed().places == ("channels 1 and 2", "rudder", "winch")
    drive = SERVOS.replace("winch: {kind: servo}", "winch: {kind: dimmer}").replace(
        "receiver batt-]",
        "receiver batt-]\n  - [pack +, 20 AWG 10 cm, winch +]\n  - [pack -, 20 AWG 10 cm, winch -]",
    )
    assert trials_of(boat_of(drive), frozenset()) == ()


def test_with_plugs_swapped_each_servo_is_looked_at_where_it_is_told_to_move() -> None:
    boat, ready = boat_of(SERVOS), ready_state(boat_of(SERVOS))
    seen = [SignQuery(part="rudder", sign="moves", state=_helm())]
    here = list(looks_across(boat, _helm(), [_crossed()], seen))
    assert [(query.part, query.after) for query in here] == [("winch", _crossed()), ("rudder", _crossed())]
    other = list(looks_across(boat, ready.with_({"sheet": 1.0}), [_crossed()], seen))
    assert [query.part for query in other] == ["rudder"]
    assert not list(looks_across(boat, ready, [_crossed()], seen))
    assert not list(looks_after(boat, _helm(), [_crossed()], seen))
    dead = _helm().with_({"pack.plugged": 0.0})
    assert not list(looks_across(boat, dead, [_crossed()], [replace(seen[0], state=dead)]))


@pytest.mark.parametrize("part", ["rudder", "winch"])
def test_the_table_says_what_the_boat_with_its_plugs_swapped_shows(part: str) -> None:
    """Every cell, against the boat whose plugs are really each in the other socket, cables and all."""
    table = gadwall().table
    trial, state = _crossed(), _helm()
    query = SignQuery(part=part, sign="moves", state=state, after=trial)
    hidden = [variant.faults for variant in table.cells.variants[:: table.cells.draws]]
    there = changed(table.solver, trial, ())[0]
    variants = [Variant(faults=one, draw=1) for one in hidden]
    solution = there.solve(state, variants, draws=table.cells.tolerances)
    model = SignModel(there.network, variants, table.cells.tolerances)
    truth = model.probabilities(solution, replace(query, after=None))
    assert np.abs(truth - table.levels(query)[:, :, 0]).max() < 0.05


@pytest.mark.parametrize(
    ("place", "mode", "winch"),
    [
        ("rudder", "dead", "right"),  # the trouble stays with the servo
        ("channel 1", "wrong socket", "still"),  # the trouble stays with the channel
        ("channels 1 and 2", "swapped", "still"),  # the plugs are where they belong now
    ],
)
def test_the_trouble_moves_with_the_servo_or_stays_with_the_channel(
    place: str, mode: str, winch: str
) -> None:
    diagnosis = gadwall()
    still = SignSeen(query=SignQuery(part="rudder", sign="moves", state=_helm()), levels=("still",))
    looked = SignQuery(part="winch", sign="moves", state=_helm(), after=_crossed())
    boat = VirtualBoat(diagnosis.table.solver, (Fault(place, mode),), Random(3))
    assert boat.look(still.query) == "still"
    assert boat.look(looked) == winch

    def mass(evidence: list[SignSeen]) -> float:
        belief = diagnosis.belief(evidence)
        rows = [
            (place, mode) in [(m.part, m.mode) for m in diagnosis.table.hypotheses[owner].modes]
            for owner in diagnosis.table.cells.owner
        ]
        return float(belief.cells[np.array(rows)].sum())

    seen = SignSeen(query=looked, levels=(winch,))
    away = SignSeen(query=looked, levels=("still" if winch == "right" else "right",))
    assert mass([still, seen]) > mass([still]) > 3.0 * mass([still, away])


def test_a_swap_of_plugs_is_among_the_dear_offers_and_costs_what_it_takes() -> None:
    diagnosis = gadwall()
    still = SignSeen(query=SignQuery(part="rudder", sign="moves", state=_helm()), levels=("still",))
    field = field_of(diagnosis.table, diagnosis.belief([still]))
    offers = replace(
        diagnosis.offers((_helm(),), frozenset({still.query})), trials=(_crossed(),), seen=(still.query,)
    )
    crossed = [
        offer
        for offer in offers.all(field, _helm(), None)
        if isinstance(offer.what, SignQuery) and offer.what.after is not None
    ]
    assert {offer.what.part for offer in crossed if isinstance(offer.what, SignQuery)} == {"rudder", "winch"}
    assert all(offer.seconds > 75.0 for offer in crossed)
    assert max(offer.gain_bits for offer in crossed) > 0.3


def test_trouble_that_went_with_what_was_tried_is_not_tried_again() -> None:
    """A dark lamp that a spare fuse lights, with volts before the fuse: nothing more is asked before the repair."""
    diagnosis, ready = Diagnosis(network_of(TWINS)), ready_state(boat_of(TWINS))
    dark = SignSeen(query=SignQuery(part="left-lamp", sign="light", state=ready), levels=("dark",))
    other = SignSeen(query=SignQuery(part="right-lamp", sign="light", state=ready), levels=("bright",))
    spare = Trial(kind=TrialKind.SPARE, places=("left-fuse",))
    lit = SignSeen(query=replace(dark.query, after=spare), levels=("bright",))
    fed = ReadingSeen(measurement=volts("left-fuse in", "pack -", ready), value=7.7)
    dead = ReadingSeen(measurement=volts("left-fuse out", "pack -", ready), value=0.0)
    hand = frozenset({AtHand.SPARE_FUSE})

    def goes_on(*evidence: Evidence) -> bool:
        belief = diagnosis.belief(evidence)
        step = diagnosis.next_step(
            belief, state=ready, last=None, refused=frozenset(), states=(ready,), at_hand=hand
        )
        return step is not None

    everything = (dark, other, fed, dead, lit)
    belief = diagnosis.belief(everything)
    top, mass = leader(diagnosis.table, belief)
    assert top is not None
    assert top.place == "left-fuse"
    assert mass >= SETTLED
    assert is_confirmed(diagnosis.table, belief)
    assert not goes_on(*everything)
    assert is_tried_out(everything, 4)
    assert not is_tried_out(everything, 0)
    assert not is_tried_out((other, fed, dead, lit), 3)
    assert goes_on(dark, other, lit)


def test_a_swap_moves_every_cell_to_its_twin_and_back() -> None:
    boat = boat_of(TWINS)
    table = Diagnosis(network_of(TWINS)).table
    trial = _find(TWINS, TrialKind.SWAP, "left-fuse")
    moved = moved_by(boat, trial, table.cells.variants, table.cells.draws)
    assert (moved.cells != np.arange(len(moved.cells))).any()
    hidden = [variant.faults for variant in table.cells.variants[:: table.cells.draws]]
    inside = np.flatnonzero(moved.cells < len(moved.cells))
    assert len(inside)
    assert [hidden[moved.cells[moved.cells[cell]]] for cell in inside] == [hidden[cell] for cell in inside]


def test_a_spare_that_cures_names_what_it_replaced() -> None:
    network = network_of(SMEW)
    diagnosis = Diagnosis(network)
    look = SignQuery(part="lamp", sign="light", state=ready_state(network.boat))
    trial = _find(SMEW, TrialKind.SPARE, "fuse")
    names = diagnosis.table.level_names(look)
    dark = SignSeen(query=look, levels=(names[0],))
    healthy = int(diagnosis.table.levels(look)[:, 0].mean(axis=1).argmax())
    lit = SignSeen(query=replace(look, after=trial), levels=(names[healthy],))
    first = diagnosis.belief([dark])
    after = diagnosis.belief([dark, lit])
    assert np.allclose(after.cells, diagnosis.belief([lit, dark]).cells)

    fuse = [
        sum(one.probability for one in diagnosis.verdict(belief, None).suspects if one.repair.place == "fuse")
        for belief in (first, after)
    ]
    assert fuse[0] < 0.8 < fuse[1]


def test_trials_are_on_offer_only_for_signs_seen_and_with_something_at_hand() -> None:
    network = network_of(SMEW)
    diagnosis = Diagnosis(network)
    state = ready_state(network.boat)
    look = SignQuery(part="lamp", sign="light", state=state)
    belief = diagnosis.belief([SignSeen(query=look, levels=(diagnosis.table.level_names(look)[0],))])
    bare = diagnosis.offers([state])
    tried = replace(bare, trials=trials_of(network.boat, ALL), seen=(look,))

    def after(offers: Offers) -> int:
        every = offers.all(field_of(diagnosis.table, belief), state, None)
        return sum(isinstance(o.what, SignQuery) and o.what.after is not None for o in every)

    assert after(bare) == 0
    assert after(tried) == len(trials_of(network.boat, ALL))
