"""Why a step was chosen: the sentence against the belief it speaks of."""

import re

import pytest

from assistant.circuit import Measurement
from assistant.diagnosis import Diagnosis, Evidence, Step, StepKind
from assistant.diagnosis.explain import why_step
from assistant.errors import MisuseError
from assistant.wiring import label_of
from tests.diagnosis.boats import SMEW, diagnosis_of, light, read, ready, volts

READY = ready(SMEW)
OVER_FUSE = volts("fuse in", "fuse out", READY)


@pytest.fixture(scope="module")
def smew() -> Diagnosis:
    return diagnosis_of(SMEW)


def why(smew: Diagnosis, measurement: Measurement | None, *evidence: Evidence, sign: bool = False) -> str:
    step = Step(
        kind=StepKind.LOOK if sign else StepKind.READ,
        measurement=measurement,
        band=None,
        query=light(READY, "dark").query if sign else None,
        levels={},
        gain_bits=1.0,
        seconds=1.0,
    )
    return why_step(smew.table, smew.belief(evidence), step, smew.network.boat)


def sides(sentence: str) -> tuple[set[str], set[str]]:
    found = re.fullmatch(r"It tells (.*) from (.*)\.", sentence)
    assert found, sentence
    first, second = (set(re.split(r", | and (?:\d+ more)?", side)) - {""} for side in found.groups())
    return first, second


def test_reading_over_the_fuse_sets_the_fuse_apart(smew: Diagnosis) -> None:
    """The lamp is dark and all its feed arrives at the fuse: left are the fuse and what comes behind it."""
    evidence = (light(READY, "dark"), read(volts("fuse in", "pack -", READY), 7.7))
    inside, outside = sides(why(smew, OVER_FUSE, *evidence))
    fuse = {name for name in inside | outside if name.startswith("fuse")}
    assert fuse <= inside or fuse <= outside
    assert fuse
    assert any(name.startswith("lamp") for name in (inside | outside) - fuse)


def test_no_name_stands_on_both_sides_or_twice(smew: Diagnosis) -> None:
    sentence = why(smew, None, sign=True)
    inside, outside = sides(sentence)
    assert not inside & outside
    assert "pack (flat)" in inside | outside
    assert "pack (broken)" in inside | outside


def test_names_are_those_of_the_heaviest_suspects(smew: Diagnosis) -> None:
    belief = smew.belief([light(READY, "dark")])
    suspects = smew.verdict(belief, None).suspects
    labels = [label_of(smew.network.boat, s.repair.place) for s in suspects]
    for measurement in (OVER_FUSE, volts("pack +", "pack -", READY)):
        sentence = why(smew, measurement, light(READY, "dark"))
        assert labels[0] in sentence
        assert all(name not in sentence for name in labels[12:] if name not in labels[:12])


def test_feed_before_a_point_is_told_from_what_lies_behind_it(smew: Diagnosis) -> None:
    inside, outside = sides(why(smew, volts("fuse in", "pack -", READY), light(READY, "dark")))
    before = {"plug at pack +", "pack (wired wrongly)", "crimp at fuse in"}
    behind = {"lamp (broken)", "lamp (touching badly)", "fuse (broken)"}
    assert {frozenset(inside), frozenset(outside)} == {frozenset(before), frozenset(behind)}


def test_what_does_not_differ_is_not_told_apart(smew: Diagnosis) -> None:
    """Both probes on one point read nothing, whatever is wrong."""
    sentence = why(smew, volts("pack -", "pack -", READY), light(READY, "dark"))
    assert sentence.startswith("It says most about what is left: lamp (broken), ")


def test_a_step_that_asks_nothing_is_refused(smew: Diagnosis) -> None:
    with pytest.raises(MisuseError):
        why(smew, None)
