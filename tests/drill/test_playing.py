"""Drills played by programs: the best path passes at every level, luck does not, and carelessness is told."""

import pytest

from assistant.circuit import Network
from assistant.diagnosis import Hypothesis
from assistant.drill import LEVELS, Tells, issue
from assistant.drill.chance import Chance
from assistant.drill.hiding import hide_one_of
from assistant.drill.judging import Judge, asked_by
from assistant.drill.reference import first_evidence
from tests.drill.player import Player, diagnosis, drill_of, hidden_at, issued_at


@pytest.mark.parametrize("level", [level.number for level in LEVELS])
def test_a_program_on_the_best_path_passes(level: int) -> None:
    hidden = issued_at(level)
    drill = drill_of(hidden)
    Player(drill, hidden).play_best()
    assert drill.score is not None
    assert drill.score.passed, drill.score.shortfalls
    assert drill.events[-1].tells is Tells.CONCLUDE
    assert drill.events[-1].data["passed"] is True


@pytest.mark.parametrize("level", [level.number for level in LEVELS])
def test_measuring_at_random_does_not_pass(level: int) -> None:
    for seed in range(1, 2):
        hidden = hidden_at(level, seed)
        drill = drill_of(hidden)
        Player(drill, hidden).play_random(Chance(f"{level}/{seed}"), 4)
        assert drill.score is not None
        assert not drill.score.passed


def test_a_wrong_repair_is_a_good_part_replaced() -> None:
    drill = drill_of(hidden_at(1, 0))
    for typed in ("clear", "set pack unplugged", "name rudder", "repair rudder replace", "prove", "end"):
        drill.answer(typed)
    assert drill.score is not None
    assert [one.place for one in drill.score.wasted] == ["rudder"]
    assert not drill.score.right


def test_ohms_on_a_live_circuit_cost_the_meter_its_fuse() -> None:
    drill = drill_of(hidden_at(1, 0))
    drill.answer("clear")
    drill.answer("ohms pack.+ pack.-")
    assert [one.data["caution"] for one in drill.events if one.tells is Tells.WARN] == ["unplugged-for-ohms"]
    assert drill.ledger.costly == 1
    assert drill.ledger.seconds > 300.0


def test_a_function_that_the_meter_lacks_is_said_to_be_missing() -> None:
    drill = drill_of(hidden_at(1, 0))
    drill.answer("clear")
    drill.answer("duty rudder s to rudder b")
    assert any(one.text == "This meter does not read duty." for one in drill.events)


def test_the_current_jack_across_a_pack_blows() -> None:
    drill = drill_of(hidden_at(1, 0))
    drill.answer("clear")
    drill.answer("amps pack.+ pack.-")
    assert drill.ledger.ignored == ["meter-on-volts"]
    drill.answer("volts pack.+ pack.-")
    assert drill.ledger.costly == 2


def test_hands_among_pumps_that_may_run_are_told_once() -> None:
    drill = drill_of(hidden_at(1, 0))
    drill.answer("volts pack.+ pack.-")
    drill.answer("volts pack.+ pack.-")
    assert drill.ledger.ignored == ["held-boat"]


def test_a_hint_ladder_ends_at_a_command_that_can_be_typed() -> None:
    drill = drill_of(hidden_at(1, 0))
    texts = []
    for _ in range(3):
        drill.answer("hint")
        texts.append(drill.events[0].text)
    assert len(set(texts)) == 3
    assert drill.ledger.seconds == 210.0
    drill.answer(texts[-1].partition(", ")[0])
    assert drill.events[0].id in {"sign", "reading"}


def test_what_is_no_command_is_refused_and_costs_nothing() -> None:
    drill = drill_of(hidden_at(1, 0))
    for typed in (
        "",
        "volts",
        "volts nowhere",
        "look rope",
        "set throttle",
        "name",
        "repair pump",
        "frobnicate",
    ):
        drill.answer(typed)
        assert drill.events[0].id == "again"
    assert drill.ledger.seconds == 0.0


def test_the_fuse_of_a_consequence_blows_again_while_its_cause_is_there() -> None:
    hidden = hidden_at(5, 0)
    drill = drill_of(hidden)
    late = hidden.stories[0].repairs[1]
    drill.answer("set pack unplugged")
    drill.answer(f"repair {late.place} {late.action}")
    assert "same-fuse-rating" in drill.ledger.ignored
    drill.answer("prove")
    assert not drill.is_over


def test_a_name_that_the_checks_do_not_bear_out_is_asked_back_once_while_checks_are_talked_over() -> None:
    drill = drill_of(hidden_at(1, 0), feedback="each")
    drill.answer("clear")
    drill.answer("name fuse")
    assert drill.events[0].id == "doubt"
    drill.answer("volts pack.+ pack.-")
    drill.answer("name fuse")
    assert drill.events[0].id == "doubt"
    assert not drill.ledger.named
    drill.answer("name fuse")
    assert drill.events[0].id == "name"
    assert [(one.place, one.borne_out) for one in drill.ledger.named] == [("fuse", False)]


def test_the_mark_tells_when_the_checks_are_enough_and_then_the_name_is_taken_at_once() -> None:
    hidden = issued_at(1)
    drill = drill_of(hidden, feedback="each")
    player = Player(drill, hidden)
    enough: list[object] = []
    player.drill.answer("clear")
    while (
        step := player.judge.best(player.judge.belief(player.evidence), player.state, player.last)
    ) is not None:
        player.check(asked_by(step))
        mark = next(event for event in drill.events if event.id == "mark")
        assert mark.data["worth"] == "told you something"
        enough.append(mark.data["enough"])
    assert enough[0] is False
    assert enough[-1] is True
    drill.answer(f"name {hidden.stories[0].repairs[0].place}")
    assert drill.events[0].id == "name"


def test_nothing_is_proved_before_something_was_mended() -> None:
    drill = drill_of(hidden_at(1, 0))
    drill.answer("volts pack.+ pack.-")
    before = drill.ledger.seconds
    drill.answer("prove")
    assert drill.events[0].id == "again"
    assert drill.ledger.seconds == before
    assert not drill.is_over


def test_what_is_pulled_out_of_a_live_boat_is_told() -> None:
    drill = drill_of(hidden_at(1, 0))
    drill.answer("set pack unplugged")
    drill.answer("look fuse strip")
    assert drill.ledger.ignored == []
    drill.answer("set pack plugged")
    drill.answer("clear")
    drill.answer("look fuse strip")
    assert "mend-unplugged" in drill.ledger.ignored


def test_a_plain_look_is_at_what_one_sees_first() -> None:
    drill = drill_of(hidden_at(1, 0))
    for part, sign in (("rudder", "moves"), ("receiver", "lamp"), ("pump", "turning")):
        drill.answer(f"look {part}")
        assert drill.events[0].data["sign"] == sign


def test_the_boat_is_told_with_wires_points_signs_settings_and_names() -> None:
    drill = drill_of(hidden_at(1, 0))
    drill.answer("boat")
    text = drill.events[0].text
    assert "  pack + to fuse in, fuse out to switch in, switch out to drive +\n" in text
    assert "  pack - to drive -\n" in text
    assert "  channel 1 lead: receiver to rudder\n" in text
    names = text.partition("such as pack; ")[2].rstrip(".").split("; ")
    for name in names:
        drill.answer(f"name {name}")
        assert drill.events[0].id in {"name", "doubt"}


def test_no_drill_is_given_out_whose_complaint_alone_gives_it_away() -> None:
    """Code 4-3T-01YA-E hides a receiver that is not bound, and its lamp says so; the next code is given out."""
    diag = diagnosis()
    away, given = hidden_at(4, 2 * 997), issue(diag, 4, 2 * 997)
    assert away.faults[0].mode == "not bound"
    assert given.key != away.key
    for hidden, told in ((away, True), (given, False)):
        complaint = first_evidence(hidden.boat(diag.table.solver), hidden.complaints[0], fickle=False)
        places = Judge(diag, (), fickle=False).given_away(complaint)
        assert (hidden.stories[0].repairs[0].place in places) is told


def test_one_suspect_left_is_not_enough_while_it_rests_on_one_answer() -> None:
    drill = drill_of(hide_one_of(diagnosis().table.solver, "pump", is_open_pump), feedback="each")
    enough: list[tuple[object, object]] = []
    for typed in (
        "clear",
        "look drive lamp",
        "volts pump.+ pump.-",
        "volts pump.+ pack.-",
        "volts drive.B pump.-",
    ):
        drill.answer(typed)
        marks = [event for event in drill.events if event.id == "mark"]
        for mark in marks:
            enough.append((mark.data["left"], mark.data["enough"]))
            assert ("One answer may be a slip" in mark.text) is (enough[-1] == (1, False))
    assert enough[1] == (1, False)
    assert enough[-1] == (1, True)
    drill.answer("name pump")
    assert drill.events[0].id == "name"


def is_open_pump(network: Network, story: Hypothesis) -> bool:
    return [f"{mode.part} {mode.mode}" for mode in story.modes] == ["pump open"]


def test_to_look_again_at_what_was_complained_of_is_redundant() -> None:
    drill = drill_of(hidden_at(3, 0), feedback="each")
    drill.answer("look rudder moves")
    assert next(event for event in drill.events if event.id == "mark").data["worth"] == "redundant"


def test_amps_in_the_place_of_a_fuse_are_read_and_the_lead_then_sits_in_the_wrong_hole() -> None:
    drill = drill_of(hidden_at(1, 0))
    for typed in ("clear", "set throttle centre", "amps in fuse"):
        drill.answer(typed)
    read = next(one for one in drill.events if one.tells is Tells.SHOW and "function" in one.data)
    assert read.data["function"] == "DC amps"
    assert isinstance(read.data["value"], float)
    assert abs(read.data["value"]) < 1.0
    drill.answer("volts pack.+ pack.-")
    assert "meter-on-volts" in drill.ledger.ignored


def test_amps_in_a_place_that_is_not_opened_by_hand_are_refused_with_those_that_are() -> None:
    drill = drill_of(hidden_at(1, 0))
    drill.answer("amps in pump")
    assert "not opened by hand" in drill.events[0].text
    assert "fuse" in drill.events[0].text
