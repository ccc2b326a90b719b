"""The fake must behave like the diagnosis it stands in for."""

from assistant.circuit import build_network, ready_state
from assistant.diagnosis import Diagnosis, Outcome, ReadingSeen, SignQuery, SignSeen
from assistant.dialogue.ports import Diagnosing
from tests.dialogue.boats import boat
from tests.dialogue.fake import FULL_V, FakeDiagnosis


def both() -> tuple[Diagnosing, Diagnosing]:
    return FakeDiagnosis(boat=boat("dabchick")), Diagnosis(build_network(boat("dabchick")))


def test_both_fit_the_port_and_name_the_same_levels() -> None:
    fake, real = both()
    query = SignQuery(part="pump", sign="turning", state=ready_state(boat("dabchick")))
    assert dict(fake.levels(query)) == dict(real.levels(query))


def test_weights_sum_to_one_whatever_was_seen() -> None:
    fake = FakeDiagnosis(boat=boat("dabchick"))
    step = fake.next_step(fake.belief([]), state=ready_state(fake.boat), last=None, refused=frozenset())
    assert step is not None
    assert step.measurement is not None
    seen = ReadingSeen(measurement=step.measurement, value=0.0)
    assert abs(sum(fake.belief([seen]).values()) - 1.0) < 1e-12


def test_order_of_evidence_does_not_matter() -> None:
    fake = FakeDiagnosis(boat=boat("dabchick"))
    ready = ready_state(fake.boat)
    sign = SignSeen(query=SignQuery(part="pump", sign="turning", state=ready), levels=("still",))
    read = ReadingSeen(measurement=fake._candidates()[1], value=0.0)
    one, other = fake.belief([sign, read]), fake.belief([read, sign])
    assert all(abs(one[name] - other[name]) < 1e-12 for name in one)


def test_a_dead_fuse_is_found_between_two_readings() -> None:
    fake = FakeDiagnosis(boat=boat("dabchick"))
    pack, fuse, *_ = fake._candidates()
    belief = fake.belief(
        [ReadingSeen(measurement=pack, value=FULL_V), ReadingSeen(measurement=fuse, value=0.0)]
    )
    verdict = fake.verdict(belief, None)
    assert verdict.suspects[0].repair.place == "fuse"
    assert verdict.outcome in {Outcome.SOLE, Outcome.GROUP}
