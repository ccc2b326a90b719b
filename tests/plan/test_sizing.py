"""Usual sizes: each is the least that is enough, by the same ratings that a review goes by."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.plan.sizing import PACKS, Sizing, pair
from assistant.quantities import Unit, awg_mm2, parse_quantity
from tests.plan.boats import catalogue

SIZING = Sizing(catalogue())
PLAIN = {
    "pack": "nimh",
    "packs": "one",
    "cells": "6",
    "capacity": "3.3 Ah",
    "drives": "1",
    "motor": "7.2 V at 6 A",
    "stall current": "28 A",
    "lights": "none",
    "switching": "switch",
    "main fuse": "15 A",
    "main lead": "14 AWG 30 cm",
}
REST_FULL_V = float(catalogue().kinds["nimh pack"].curves["rest_v"](1.0))


def mm2(written: str) -> float:
    return parse_quantity(written, Unit.SQUARE_MM).value


def stands_a(written: str) -> float:
    """Return what the rating of the kind lets a lead of this size carry."""
    wire = catalogue().kinds["wire"]
    return float(wire.ratings["amps"].limit({"area_mm2": mm2(written)}, wire.curves))


def test_volts_are_those_of_the_cells_in_a_row() -> None:
    one = SIZING.full_v(PLAIN)
    assert one == pytest.approx(6 * REST_FULL_V)
    assert SIZING.full_v({**PLAIN, "packs": "parallel"}) == one
    assert SIZING.full_v({**PLAIN, "packs": "series"}) == pytest.approx(2 * one)
    assert SIZING.full_v({**PLAIN, "packs": "tap"}) == pytest.approx(2 * one)
    assert SIZING.half_v(PLAIN) < one <= SIZING.printed_v(PLAIN) < one + 1


def test_instruments_hang_on_the_lower_pack_of_a_tap_and_lights_where_they_are_switched() -> None:
    tap = {**PLAIN, "packs": "tap"}
    assert SIZING.thin_v(tap) == pytest.approx(SIZING.full_v(PLAIN))
    assert SIZING.lights_v(tap) == SIZING.thin_v(tap)
    assert SIZING.lights_v({**tap, "switching": "remote"}) == SIZING.full_v(tap)


@pytest.mark.parametrize("pack", PACKS)
def test_no_more_cells_than_stay_below_what_may_be_touched(pack: str) -> None:
    answers = {**PLAIN, "pack": pack, "cells": str(SIZING.most_cells({"pack": pack}))}
    assert SIZING.full_v(answers) <= 60.0
    least, most = SIZING.capacities_ah(answers)
    assert (least or 0.0) <= SIZING.usual_capacity_ah(answers) <= (most or math.inf)
    assert 1 <= SIZING.usual_cells(answers) <= SIZING.most_cells(answers)


@pytest.mark.parametrize(("pack", "cells", "stop_v"), [("lithium", "3", 3.0), ("lead", "6", 1.75)])
def test_the_cut_off_spares_the_cells(pack: str, cells: str, stop_v: float) -> None:
    volts = SIZING.cut_off_v({**PLAIN, "pack": pack, "cells": cells})
    assert float(cells) * stop_v <= volts < SIZING.half_v({**PLAIN, "pack": pack, "cells": cells})


def test_a_motor_draws_more_on_more_volts_and_never_less_than_is_printed() -> None:
    higher = SIZING.full_v(PLAIN) / 7.2
    assert SIZING.drive_load_a(PLAIN) == pytest.approx(6.0 * higher)
    assert SIZING.drive_load_a({**PLAIN, "motor": "24 V at 6 A"}) == pytest.approx(6.0)


def test_what_all_runs_draw_is_every_drive_with_lights_and_electronics() -> None:
    drive_a = SIZING.drive_load_a(PLAIN)
    without = SIZING.load_a(PLAIN) - drive_a
    assert 0.0 < without < 2.0
    assert SIZING.load_a({**PLAIN, "drives": "2"}) == pytest.approx(2 * drive_a + without)
    assert SIZING.load_a({**PLAIN, "lights": "lamps"}) > SIZING.load_a(PLAIN)


@pytest.mark.parametrize("size_of", [SIZING.fuse_a, SIZING.branch_fuse_a])
@given(amps=st.floats(0.1, 60.0))
def test_a_fuse_carries_its_load_for_long(size_of: Callable[[dict[str, str]], float], amps: float) -> None:
    answers = {**PLAIN, "motor": f"7.2 V at {amps:.2f} A"}
    if size_of(answers) < 100.0:
        assert SIZING.drive_load_a(answers) <= 0.75 * size_of(answers)
        assert size_of(answers) <= max(1.0, 2.0 * (SIZING.load_a(answers)) / 0.75)


def test_a_drive_that_feeds_the_receiver_has_more_behind_its_fuse() -> None:
    answers = {**PLAIN, "motor": "7.2 V at 5 A"}
    assert SIZING.branch_fuse_a({**answers, "receiver feed": "drive"}) >= SIZING.branch_fuse_a(answers)


@given(stall=st.floats(1.0, 250.0))
def test_a_drive_stands_a_stalled_motor_for_a_moment(stall: float) -> None:
    answers = {**PLAIN, "stall current": f"{stall:.1f} A"}
    surge_a = float(f"{stall:.1f}") * SIZING.full_v(PLAIN) / 7.2
    assert SIZING.drive_a(answers) * 1.5 >= surge_a * (1 - 1e-9)


@given(amps=st.floats(0.1, 200.0))
def test_a_lead_stands_its_current_and_the_next_thinner_one_would_not(amps: float) -> None:
    written = SIZING.gauge(amps)
    thickest, thinnest = "6 AWG", "20 AWG"
    assert stands_a(written) >= amps or written == thickest
    thinner = f"{int(written.split()[0]) + 2} AWG"
    assert written == thinnest or stands_a(thinner) < amps


@given(length=st.floats(0.1, 8.0))
def test_the_main_lead_is_guarded_by_its_fuse_and_loses_little(length: float) -> None:
    written = SIZING.main_gauge(PLAIN, length)
    lost_v = 2.0 * length * SIZING.load_a(PLAIN) / (58.0 * mm2(written))
    assert written == "6 AWG" or lost_v <= 0.0301 * SIZING.half_v(PLAIN)
    assert stands_a(written) >= 15.0
    assert mm2(written) >= awg_mm2(14) * 0.999


def test_packs_side_by_side_want_a_main_lead_for_both_fuses() -> None:
    two = SIZING.main_gauge({**PLAIN, "packs": "parallel", "main fuse": "20 A"}, 0.3)
    assert stands_a(two) >= 40.0


def test_where_the_way_branches_a_lead_may_be_thinner_but_never_thicker() -> None:
    alone = SIZING.gauges(PLAIN)
    assert (alone.pack, alone.main, alone.branch) == ("14 AWG", "14 AWG", "14 AWG")
    assert alone.way_m == pytest.approx(0.3)
    assert mm2(alone.motor) <= mm2(alone.branch)
    twin = {
        **PLAIN,
        "drives": "2",
        "main fuse": "25 A",
        "main lead": "10 AWG 30 cm",
        "fuse of a drive": "10 A",
    }
    sizes = SIZING.gauges(twin)
    assert mm2(sizes.branch) < mm2(sizes.main)
    assert stands_a(sizes.branch) >= max(10.0, SIZING.drive_load_a(twin))
    beside = SIZING.gauges({**twin, "packs": "parallel"})
    assert mm2(beside.pack) < mm2(beside.main)


def test_a_main_switch_stands_the_fuses_and_a_moment_of_all_motors_held_fast() -> None:
    held_a = 28.0 * SIZING.full_v(PLAIN) / 7.2
    assert SIZING.switch_a(PLAIN) >= max(15.0, held_a / 2.0)
    assert SIZING.switch_a({**PLAIN, "drives": "2"}) >= held_a
    assert SIZING.switch_a({**PLAIN, "packs": "parallel", "main fuse": "30 A"}) >= 60.0


def test_a_motor_draws_what_the_packs_give_without_strain() -> None:
    small = SIZING.motor_a({**PLAIN, "capacity": "0.6 Ah"})
    assert 0.05 <= small < SIZING.motor_a(PLAIN) <= 6.0
    assert SIZING.motor_a({**PLAIN, "capacity": "0.6 Ah", "drives": "2"}) == pytest.approx(small / 2)


def test_a_lamp_stands_the_full_packs_and_a_string_lights_on_half_charge() -> None:
    assert SIZING.lamp_v(PLAIN) * 1.05 == pytest.approx(SIZING.full_v(PLAIN))
    led_v = catalogue().kinds["led string"].values["led_v"].default
    assert led_v is not None
    count = SIZING.leds(PLAIN)
    assert 1 <= count <= 6
    assert count == 1 or count * float(led_v({}, {})) < SIZING.half_v(PLAIN)
    assert SIZING.leds({**PLAIN, "cells": "30"}) == 6


def test_what_is_printed_is_said_only_where_the_usual_does_not_suit_the_packs() -> None:
    assert SIZING.stands(PLAIN, "depth sounder") == ()
    high = SIZING.stands({**PLAIN, "cells": "36"}, "depth sounder")
    assert high
    assert high[0].startswith("max: ")
    assert parse_quantity(high[0].removeprefix("max: "), Unit.VOLT).value >= 36 * REST_FULL_V
    assert SIZING.starts({**PLAIN, "cells": "12"}) == ()
    start, least = (text.split(": ") for text in SIZING.starts({**PLAIN, "cells": "4"}))
    assert (start[0], least[0]) == ("start", "min")
    begins, drops = (parse_quantity(text[1], Unit.VOLT).value for text in (start, least))
    assert drops < begins < 4 * REST_FULL_V


def test_a_pair_of_volts_and_amps_is_read() -> None:
    assert pair("12 V at 800 mA") == (12.0, 0.8)
