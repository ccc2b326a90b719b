"""Marks against posteriors reckoned by hand on a small boat."""

from collections.abc import Sequence

import numpy as np

from assistant.circuit import Measurement, ready_state
from assistant.diagnosis import Evidence, SignSeen
from assistant.diagnosis.belief import UNKNOWN_SHARE, likelihood
from assistant.drill.judging import Judge, Worth
from assistant.drill.reference import evidence_of
from tests.diagnosis.boats import SMEW, diagnosis_of, light, network_of, volts
from tests.drill.marks import BOATS, walk

WALKS = 2
"""Walks over each boat here; `tests.drill.marks` is the campaign."""


def _by_hand(evidence: Sequence[Evidence]) -> dict[object, float]:
    """Return the probability of each repair by multiplying out every story."""
    table = diagnosis_of(SMEW).table
    weights: dict[object, float] = {}
    for number, story in enumerate(table.hypotheses):
        cells = np.flatnonzero(table.cells.owner == number)
        each = np.full((len(cells), table.cells.draws), story.weight / len(cells) / table.cells.draws)
        for piece in evidence:
            each = each * likelihood(table, piece)[0][cells]
        key = story.repairs[0] if story.repairs else None
        weights[key] = weights.get(key, 0.0) + float(each.sum()) * (1.0 - UNKNOWN_SHARE)
    weights["unknown"] = UNKNOWN_SHARE * float(np.prod([likelihood(table, p)[1] for p in evidence]))
    total = sum(weights.values())
    return {key: weight / total for key, weight in weights.items()}


def test_what_moves_the_probabilities_is_never_called_redundant_and_what_is_repeated_is() -> None:
    state = ready_state(network_of(SMEW).boat)
    judge = Judge(diagnosis_of(SMEW), (state,), fickle=False)
    dark: SignSeen = light(state, "dark")
    start = judge.belief([dark])
    moved = 0
    for red, black in (
        ("fuse in", "pack -"),
        ("fuse out", "pack -"),
        ("lamp +", "pack -"),
        ("fuse in", "fuse out"),
    ):
        for shown in (0.0, 7.6):
            what: Measurement = volts(red, black, state)
            evidence: list[Evidence] = [dark, evidence_of(what, shown)]
            after = judge.belief(evidence)
            mark = judge.mark(what, (start, start, after), stood=(state, None), repeated=False)
            before, then = _by_hand([dark]), _by_hand(evidence)
            distance = 0.5 * sum(abs(then[key] - before[key]) for key in before)
            if distance > 0.3:
                moved += 1
                assert mark.worth in (Worth.TOLD, Worth.PREMATURE)
            again = judge.belief([*evidence, evidence[-1]])
            if judge.gained_bits(after, again) < 0.1:
                second = judge.mark(what, (start, after, again), stood=(state, what), repeated=True)
                assert second.worth is Worth.REDUNDANT
    assert moved >= 4


def test_a_check_whose_answer_no_story_changes_is_irrelevant() -> None:
    state = ready_state(network_of(SMEW).boat)
    judge = Judge(diagnosis_of(SMEW), (state,), fickle=False)
    dark = light(state, "dark")
    start = judge.belief([dark])
    what = volts("pack -", "lamp -", state)
    pairs = [(what, 0.0)]
    for one, shown in pairs:
        after = judge.belief([dark, evidence_of(one, shown)])
        mark = judge.mark(one, (start, start, after), stood=(state, None), repeated=False)
        informs = mark.expected_bits >= 0.1 or mark.gained_bits >= 0.1
        assert (mark.worth is Worth.IRRELEVANT) == (not informs)


def test_walks_at_random_are_marked_as_brute_force_calls_each_check() -> None:
    checks = [check for boat in BOATS for number in range(WALKS) for check in walk(boat, number)]
    assert [str(check) for check in checks if not check.is_right] == []
    sorts = [check.sort for check in checks]
    assert min(sorts.count(sort) for sort in ("informative", "redundant", "irrelevant")) >= 3
