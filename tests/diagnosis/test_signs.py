"""Signs against the currents they are cut out of."""

from math import erf, sqrt

import numpy as np
import pytest

from assistant.circuit import BoatState, Fault, Variant, build_network, make_solver, ready_state
from assistant.diagnosis import SignQuery
from assistant.diagnosis.signs import SignModel, sign_levels
from tests.diagnosis.boats import SMEW, diagnosis_of, light, ready, unplugged
from tests.support.bench import Item, bench_boat, source

READY = ready(SMEW)
SOLVER = diagnosis_of(SMEW).table.solver
NETWORK = SOLVER.network


def chances(state: BoatState, *faults: Fault) -> dict[str, float]:
    """Return how likely each brightness of the lamp is."""
    variants = [Variant(faults=faults)]
    solution = SOLVER.solve(state, variants)
    found = SignModel(NETWORK, variants, 0).probabilities(solution, light(state, "dark").query)[:, 0]
    names = sign_levels(NETWORK.parts["lamp"].kind.signs["light"])
    return dict(zip(names, (float(c) for c in found), strict=True))


def lamp_amps(*faults: Fault) -> float:
    solution = SOLVER.solve(READY, [Variant(faults=faults)])
    (hot,) = (i for i in NETWORK.elements_of("lamp") if NETWORK.elements[i].name == "hot")
    return float(solution.phase.amps[hot, 0])


def test_levels_are_the_cut_ones_then_the_restless_one() -> None:
    assert sign_levels(NETWORK.parts["lamp"].kind.signs["light"]) == (
        "dark",
        "dim",
        "bright",
        "glaring",
        "flickers",
    )


@pytest.mark.parametrize("ohm", [0.1, 1.0, 3.0, 10.0, 30.0, 100.0])
def test_brightness_follows_the_current(ohm: float) -> None:
    """Cuts at .35, .8 and 1.3 of one ampere, two sigma in 20 %."""
    clip = Fault("fuse", "clip", ohm)
    above = [0.5 * (1.0 + erf((lamp_amps(clip) - cut) / (0.1 * cut) / sqrt(2.0))) for cut in (0.35, 0.8, 1.3)]
    seen = chances(READY, clip)
    assert seen["dark"] == pytest.approx(1.0 - above[0], abs=1e-5)
    assert seen["dim"] == pytest.approx(above[0] - above[1], abs=1e-5)
    assert seen["bright"] == pytest.approx(above[1] - above[2], abs=1e-5)


def test_plain_cases() -> None:
    assert chances(READY)["bright"] > 0.95
    assert chances(READY, Fault("fuse", "open"))["dark"] > 0.999
    assert chances(unplugged(SMEW))["dark"] > 0.999


def test_a_filament_glows_whichever_way_the_pack_is_connected() -> None:
    assert chances(READY, Fault("pack", "reversed"))["bright"] > 0.95
    assert chances(READY, Fault("pack", "reversed"), Fault("lamp", "burnt out"))["dark"] > 0.999


RATTLING = bench_boat(
    {
        "supply": source("a", "0", 12.0, 0.1),
        "relay": Item(
            kind="relay", values="coil: 12 V", nets={"coil+": "c", "coil-": "0", "com": "a", "nc": "c"}
        ),
        "quiet": Item(
            kind="relay", values="coil: 12 V", nets={"coil+": "a", "coil-": "0", "com": "a", "no": "d"}
        ),
        "fed": Item(kind="led string", values="leds: 3, supply: 12 V", nets={"+": "c", "-": "0"}),
        "steady": Item(kind="lamp", values="rated: 12 V at 0.2 A", nets={"+": "a", "-": "0"}),
    }
)
"""A relay that takes its own feed away, another that keeps it, lights on that feed and a lamp before it."""


@pytest.mark.parametrize(
    ("part", "sign", "level"),
    [
        ("relay", "click", "rattles"),
        ("quiet", "click", "clicks"),
        ("fed", "light", "flickers"),
        ("steady", "light", "bright"),
    ],
)
def test_what_alternates_rattles_or_flickers_and_what_does_not_stays(
    part: str, sign: str, level: str
) -> None:
    network = build_network(RATTLING)
    state = ready_state(RATTLING)
    solution = make_solver(network).solve(state, [Variant()])
    query = SignQuery(part=part, sign=sign, state=state)
    found = SignModel(network, [Variant()], 0).probabilities(solution, query)[:, 0]
    assert sign_levels(network.parts[part].kind.signs[sign])[int(found.argmax())] == level
    assert found.max() > 0.9


def test_every_part_shows_one_level_on_every_story() -> None:
    table = diagnosis_of(SMEW).table
    for part in NETWORK.parts.values():
        for sign in part.kind.signs:
            query = type(light(READY, "dark").query)(part=part.id, sign=sign, state=READY)
            levels = table.state(READY).levels(query)
            assert levels.min() >= 0.0
            assert np.allclose(levels.sum(axis=0), 1.0)
