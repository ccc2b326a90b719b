"""What an answer settles is not asked for: it follows from the boats that may have given it."""

import pytest

from assistant.circuit import build_network, ready_state
from assistant.diagnosis import Diagnosis, SignQuery, SignSeen
from assistant.diagnosis.settled import is_settled
from tests.support.boats import example_boats

BOAT = example_boats()["dabchick"]
RUNNING = ready_state(BOAT).with_({"throttle": 1.0})
TURNING, THRUST, LAMP, WARMTH = (
    SignQuery(part=part, sign=sign, state=RUNNING)
    for part, sign in (("pump", "turning"), ("pump", "thrust"), ("drive", "lamp"), ("drive", "warmth"))
)


@pytest.fixture(scope="module")
def diagnosis() -> Diagnosis:
    return Diagnosis(build_network(BOAT))


def seen(query: SignQuery, level: str) -> SignSeen:
    return SignSeen(query=query, levels=(level,))


@pytest.mark.parametrize(
    ("query", "answer", "settled"),
    [
        (THRUST, seen(TURNING, "still"), True),
        (THRUST, seen(TURNING, "runs"), False),
        (TURNING, seen(THRUST, "strong"), False),
        (LAMP, seen(TURNING, "still"), False),
        (WARMTH, seen(LAMP, "lit"), False),
    ],
    ids=str,
)
def test_a_sign_is_settled_where_every_boat_that_gave_the_answer_shows_the_same(
    diagnosis: Diagnosis, query: SignQuery, answer: SignSeen, settled: bool
) -> None:
    assert is_settled(diagnosis.table, query, (answer,)) is settled


def test_another_state_settles_nothing(diagnosis: Diagnosis) -> None:
    there = SignQuery(part="pump", sign="turning", state=ready_state(BOAT))
    assert not is_settled(diagnosis.table, THRUST, (seen(there, "still"),))


def looks_taken(diagnosis: Diagnosis) -> list[SignQuery]:
    """Return what is looked at, one after the other, without a meter once the pump was seen not to turn."""
    bare, taken = diagnosis.limited(()), list[SignQuery]()
    belief = bare.belief((seen(TURNING, "still"),))
    while True:
        step = bare.next_step(belief, state=RUNNING, last=None, refused=frozenset(taken), states=(RUNNING,))
        if step is None or step.query is None or step.query in taken:
            return taken
        taken.append(step.query)


def test_no_look_that_is_settled_is_ever_the_next_step(
    diagnosis: Diagnosis, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken = looks_taken(diagnosis)
    assert taken
    assert THRUST not in taken
    monkeypatch.setattr("assistant.diagnosis.diagnosis.is_settled", lambda *_: False)
    assert THRUST in looks_taken(diagnosis)
