"""What is done with every pack unplugged, or from memory: looking at fuses, turning by hand, and all of what is hot."""

import pytest

from assistant.circuit import is_unplugged
from assistant.diagnosis import SignSeen
from assistant.dialogue import Ask, Ending, State, Want, fold, start, step
from tests.dialogue.boats import ask_in, boat, drive, healthy_answer, name_of, setup_for

HOT = "something-hot"


def answered(name: str, symptom: str, answers: dict[str, str], until: str) -> State:
    """Answer until a question of that name is pending."""
    setup = setup_for(name)
    state, _ = start(setup, symptom)
    for _ in range(40):
        assert state.pending is not None, f"over before {until}"
        if name_of(state.pending) == until:
            return state
        ask = state.pending
        state, _ = step(setup, state, answers.get(name_of(ask), healthy_answer(ask)))
    raise AssertionError(f"never came to {until}")


@pytest.mark.parametrize("where", ["motor", "drive", "holder", "plug", "servo", "none"])
@pytest.mark.parametrize("name", ["dabchick", "grebe"])
def test_nothing_hot_is_plugged_in_before_the_end(name: str, where: str) -> None:
    _, events = drive(setup_for(name), HOT, {"where": where, "what": "smell", "repair": "bench"})
    asked = [event for event in events if isinstance(event, Ask)]
    assert len(asked) > 4
    assert all(ask.state is None or is_unplugged(boat(name), ask.state) for ask in asked)
    assert not any(ask.measurement for ask in asked)


def test_with_something_hot_nothing_comes_before_standing_away() -> None:
    for name in ("dabchick", "grebe", "wigeon", "pochard"):
        _, events = start(setup_for(name), HOT)
        assert name_of(ask_in(events)) == "away"


def test_a_swollen_pack_is_the_end_of_it() -> None:
    answers = {"what": "pack", "pack-look": "swollen"}
    state, events = drive(setup_for("grebe"), HOT, answers)
    assert getattr(events[-1], "ending", None) is Ending.STOPPED
    assert state.path[-1] == "retire"


def test_a_part_is_chosen_when_it_is_first_spoken_of() -> None:
    state = answered("grebe", HOT, {"what": "motor", "where": "motor"}, "role.pump")
    assert "pump" not in state.parts
    assert state.pending is not None
    state, events = step(setup_for("grebe"), state, "starboard-pump")
    assert state.parts["pump"] == ("starboard-pump",)
    assert name_of(ask_in(events)) == "motor-hot"
    assert state.path[-1] == "motor-hot"
    assert state == fold(setup_for("grebe"), HOT, state.answers)[0]


def test_what_is_asked_from_memory_sets_nothing_and_counts_for_the_state_it_is_about() -> None:
    state = answered("dabchick", HOT, {"what": "motor", "where": "motor"}, "motor-hot")
    assert state.pending is not None
    assert (state.pending.state, state.pending.changes) == (None, ())
    after, _ = step(setup_for("dabchick"), state, "hot")
    assert after.boat_state == state.boat_state
    (seen,) = after.evidence
    assert isinstance(seen, SignSeen)
    assert (seen.query.sign, seen.levels, seen.query.state.get("throttle")) == ("warmth", ("hot",), 1.0)


def test_a_fuse_is_pulled_only_after_the_packs_were_said_to_be_unplugged() -> None:
    state = answered("grebe", "fuse-blows-again", {}, "unplug")
    assert state.pending is not None
    assert state.pending.want is Want.CONFIRM
    assert "a motor may start" in state.pending.why
    state, events = step(setup_for("grebe"), state, "yes")
    ask = ask_in(events)
    assert name_of(ask) == "strip"
    assert ask.state is not None
    assert is_unplugged(boat("grebe"), ask.state)


def test_without_that_word_the_fuse_stays_where_it_is() -> None:
    state = answered("dabchick", "fuse-blows-again", {}, "unplug")
    state, events = step(setup_for("dabchick"), state, "no")
    assert state.evidence == ()
    assert name_of(ask_in(events)) == "manner"


def test_what_has_to_be_pulled_turned_or_handled_is_marked_so() -> None:
    """That no symptom looks at any of it in a live state is a rule of the lint."""
    kinds = [part.kind for name in ("grebe", "pochard") for part in boat(name).parts.values()]
    marked = {sign for kind in kinds for sign, spec in kind.signs.items() if spec.unplugged}
    live = {sign for kind in kinds for sign, spec in kind.signs.items() if not spec.unplugged}
    assert {"strip", "hand", "shape"} <= marked
    assert not {"strip", "hand", "shape"} & live
