"""Replay equals live, and what does not fit is named."""

from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.errors import CaseError, MisuseError
from assistant.session import Session, digest_of
from tests.dialogue.boats import setup_for

PUMPS = "pumps-not-running"
TYPED = [
    "yes",
    "perhaps",
    "why",
    "yes",
    "yes",
    "lit",
    "note cold",
    "dark",
    "yes",
    "still",
    "back",
    "still",
    "lit",
    "0 V",
]


def lived(typed: list[str]) -> Session:
    session = Session(setup_for("dabchick"), PUMPS)
    for number, text in enumerate(typed):
        if session.over:
            break
        session.answer(text, f"2025-05-01T10:00:{number:02d}")
    return session


def test_replay_gives_the_same_state_and_events() -> None:
    live = lived(TYPED)
    again = Session(setup_for("dabchick"), PUMPS, live.entries)
    assert again.state == live.state
    assert again.events == live.events
    assert again.entries == live.entries


@settings(max_examples=30)
@given(
    st.lists(
        st.sampled_from(
            [*TYPED, "no", "", "back", "don't know", "7.5", "1", "2", "comes and goes", "x" * 50]
        ),
        max_size=30,
    )
)
def test_replay_equals_live_whatever_is_typed(typed: list[str]) -> None:
    live = lived(typed)
    again = Session(setup_for("dabchick"), PUMPS, live.entries)
    assert again.state == live.state
    assert again.entries == live.entries


def test_the_entry_can_be_written_before_the_answer_counts() -> None:
    session = Session(setup_for("dabchick"), PUMPS)
    entry = session.entry_for("yes", "now")
    assert len(session.entries) == 0
    session.answer("yes", "now")
    assert list(session.entries) == [entry]
    assert entry["ask"] == "n00.danger"
    assert entry["n"] == 1


def test_two_openings_of_one_case_ask_alike() -> None:
    one, other = lived(TYPED[:4]), lived(TYPED[:4])
    assert one.state.pending is not None
    assert other.state.pending is not None
    assert digest_of(one.state.pending) == digest_of(other.state.pending)


@pytest.mark.parametrize(
    ("field", "value"),
    [("n", 7), ("n", None), ("ask", "n03.other"), ("digest", "0" * 12), ("answer", None), ("at", 5)],
)
def test_an_entry_that_does_not_fit_is_named(field: str, value: object) -> None:
    entries: list[Mapping[str, object]] = list(lived(TYPED).entries)
    entries[3] = {**entries[3], field: value}
    with pytest.raises(CaseError, match="entry 4"):
        Session(setup_for("dabchick"), PUMPS, entries)


def test_entries_after_the_end_are_named() -> None:
    ended = lived(["no"])
    assert ended.over
    extra = [*ended.entries, {"n": 2, "ask": "n01.x", "digest": "0", "answer": "yes", "at": "now"}]
    with pytest.raises(CaseError, match="over"):
        Session(setup_for("dabchick"), PUMPS, extra)
    with pytest.raises(MisuseError):
        ended.answer("yes", "now")
