from assistant.records import compare, replay
from tests.records.examples import DABCHICK, again, answers_until, dabchick_case, dabchick_setup


def test_a_case_does_not_differ_from_itself() -> None:
    assert all(line.same for line in compare(again(DABCHICK), again(DABCHICK)))


def test_readings_and_ends_that_differ_are_told() -> None:
    answers = [*answers_until("supply"), "7.2"]
    other = replay(dabchick_case(answers), dabchick_setup())
    lines = {line.what: line for line in compare(again(DABCHICK), other)}
    supply = lines["DC volts, red drive +, black drive - (running)"]
    assert (supply.one, supply.other, supply.same) == ("0 V, none", "7.2 V, as expected", False)
    assert lines["DC volts, red fuse out, black pack - (ready)"].other == "not taken"
    assert lines["receiver: lamp (ready)"].same
    assert lines["receiver: lamp (ready, 2. time)"].other == "not taken"
    assert (lines["wiring"].same, lines["knowledge"].same) == (True, True)
    assert lines["end"].one == "Mended and proved: replace fuse."
    assert lines["end"].other == "The hunt is not finished."
