"""What rows have been through: coming back is noticed, and a circle is told from the way that led into it."""

import numpy as np

from assistant.circuit.circles import Past

# Conditions (columns: turns) of two rows: the first goes A, B, C, B; the second A, B, then stands still elsewhere.
A, B, C = np.array([[0, 0], [1, 0], [1, 1]], dtype=np.bool_)
VOLTS = {0: 1.0, 1: 5.0, 2: 3.0}


def past() -> Past:
    been = Past(2, 2)
    both = np.arange(2)
    been.note(both, np.stack([A, A], axis=1), np.full((3, 2), VOLTS[0]))
    been.note(both, np.stack([B, B], axis=1), np.full((3, 2), VOLTS[1]))
    been.note(both[:1], C[:, None], np.full((3, 1), VOLTS[2]))
    return been


def test_turns_are_counted_row_by_row() -> None:
    assert past().turns.tolist() == [3, 2]


def test_coming_back_counts_from_a_turn_on() -> None:
    been, first = past(), np.zeros(1, dtype=np.intp)
    for conditions, since, expected in (
        (B, 0, True),
        (B, 1, True),
        (B, 2, False),
        (C, 0, True),
        (A, 1, False),
    ):
        assert been.been_there(first, conditions[:, None], np.array([since])).tolist() == [expected]
    assert not been.been_there(np.ones(1, dtype=np.intp), C[:, None], first).any()


def test_a_circle_leaves_out_what_led_into_it() -> None:
    been, first = past(), np.zeros(1, dtype=np.intp)
    conditions, volts = been.noted(first)
    assert conditions[:, :, 0].tolist() == [A.tolist(), B.tolist(), C.tolist()]
    assert volts[:, 0, 0].tolist() == list(VOLTS.values())
    most, least, restless = been.circle(first, B[:, None], conditions, volts.sum(axis=1))
    assert (most.tolist(), least.tolist()) == ([1], [2])
    assert restless[:, 0].tolist() == [False, True]


def test_more_turns_than_there_is_room_for_at_first() -> None:
    been, row = Past(1, 1), np.zeros(1, dtype=np.intp)
    for turn in range(40):
        been.note(row, np.array([[turn == 0]]), np.zeros((1, 1)))
    assert been.turns.tolist() == [40]
    assert been.been_there(row, np.array([[True]]), row).tolist() == [True]
    assert been.been_there(row, np.array([[True]]), row + 1).tolist() == [False]
