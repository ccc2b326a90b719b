"""What may be asked next."""

import pytest

from assistant.catalogue import Reach
from assistant.circuit import CHEAP_METER, MeterFunction, MeterProfile, is_unplugged
from assistant.diagnosis.candidates import looks, probe_pairs, readings
from assistant.wiring import points_of, reach_of
from tests.diagnosis.boats import KNOWLEDGE, SMEW, network_of, point, ready, unplugged

READY, UNPLUGGED = ready(SMEW), unplugged(SMEW)
NETWORK = network_of(SMEW)
PAIRS = probe_pairs(NETWORK)
CASES = KNOWLEDGE.parents[1] / "cases"


@pytest.mark.parametrize("name", ["dabchick.yaml", "grebe.yaml"])
def test_pairs_are_within_reach_and_offered_once(name: str) -> None:
    network = network_of((CASES / name).read_text(encoding="utf-8"))
    pairs = probe_pairs(network)
    assert len({frozenset(pair) for pair in pairs}) == len(pairs)
    assert all(red != black for red, black in pairs)
    assert all(reach_of(network.boat, p) is not Reach.SEALED for pair in pairs for p in pair)


def test_every_joint_wire_and_part_within_reach_can_be_read_across() -> None:
    across = {frozenset(pair) for pair in PAIRS}
    for red, black in (
        ("pack +", "pack.+--fuse.in 1"),
        ("pack.+--fuse.in 1", "pack.+--fuse.in 2"),
        ("pack.+--fuse.in 2", "fuse in"),
        ("fuse in", "fuse out"),
        ("fuse out", "lamp +"),
        ("lamp +", "lamp -"),
        ("pack -", "lamp -"),
    ):
        assert frozenset((point(red), point(black))) in across


def test_every_point_within_reach_can_be_read_against_the_pack_negative() -> None:
    negative = point("pack -")
    reachable = {p for p in points_of(NETWORK.boat) if reach_of(NETWORK.boat, p) is not Reach.SEALED}
    assert reachable - {negative} == {p for pair in PAIRS if negative in pair for p in pair} - {negative}


def test_ohms_only_with_the_pack_unplugged_and_volts_only_plugged_in() -> None:
    assert is_unplugged(NETWORK.boat, UNPLUGGED)
    assert not is_unplugged(NETWORK.boat, READY)
    for state, function in ((READY, MeterFunction.DC_VOLTS), (UNPLUGGED, MeterFunction.OHMS)):
        offered = list(readings(PAIRS, NETWORK.boat, state, CHEAP_METER))
        assert len(offered) == len(PAIRS)
        assert {m.function for m in offered} == {function}
        assert {m.state for m in offered} == {state}


def test_what_the_meter_lacks_is_not_offered() -> None:
    volts_alone = MeterProfile(
        functions={MeterFunction.DC_VOLTS: CHEAP_METER.functions[MeterFunction.DC_VOLTS]}
    )
    assert not list(readings(PAIRS, NETWORK.boat, UNPLUGGED, volts_alone))
    assert not list(readings(PAIRS, NETWORK.boat, READY, MeterProfile(functions={})))


def test_what_has_to_be_pulled_or_turned_is_looked_at_unplugged_and_all_else_live() -> None:
    live, dead = ({(q.part, q.sign) for q in looks(NETWORK.boat, state)} for state in (READY, UNPLUGGED))
    assert ("lamp", "light") in live
    assert ("fuse", "strip") in dead
    assert not live & dead
    assert live | dead == {(p.id, s) for p in NETWORK.boat.parts.values() for s in p.kind.signs}
