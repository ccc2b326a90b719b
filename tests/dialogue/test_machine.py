"""Whatever is typed, the dialogue keeps its rules and comes to an end."""

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from assistant.circuit import MeterFunction, is_unplugged
from assistant.dialogue import Phase, Setup, State, Want, fold, start, step
from assistant.dialogue.narrowing import MAX_STEPS
from assistant.dialogue.repairing import MAX_REPAIRS
from assistant.dialogue.state import Purpose
from assistant.errors import MisuseError
from tests.dialogue.boats import boat, setup_for
from tests.dialogue.fake import FakeDiagnosis

CASES = [
    ("dabchick", "pumps-not-running"),
    ("dabchick", "servo-jitter"),
    ("dabchick", "receiver-brownout"),
    ("grebe", "pumps-not-running"),
    ("grebe", "relay-clicking"),
]
READINGS = ["0 V", "7.5 V", "3.1", "-7.5", "75 V", "11,1"]
UNABLE = ["can't reach", "don't know", "comes and goes", "skip"]
MOST_ANSWERS = 250


class DialogueMachine(RuleBasedStateMachine):
    """A person who answers anything at all."""

    setup: Setup
    state: State
    symptom: str

    @initialize(case=st.sampled_from(CASES), ohms=st.booleans(), live=st.booleans(), proof=st.booleans())
    def begin(self, case: tuple[str, str], ohms: bool, live: bool, proof: bool) -> None:
        name, self.symptom = case
        fake = FakeDiagnosis(boat=boat(name), dead_ohms=ohms, live_ohms=live, has_proof=proof)
        self.setup = setup_for(name, fake)
        self.state, _ = start(self.setup, self.symptom)

    def going(self) -> bool:
        return self.state.pending is not None

    def say(self, text: str) -> None:
        self.state, _ = step(self.setup, self.state, text)

    @precondition(going)
    @rule(data=st.data())
    def fitting(self, data: st.DataObject) -> None:
        assert self.state.pending is not None
        self.say(data.draw(st.sampled_from(fitting_answers(self.state))))

    @precondition(going)
    @rule(steps=st.integers(min_value=1, max_value=8))
    def go_along(self, steps: int) -> None:
        for _ in range(steps):
            if self.state.pending is not None:
                self.say(fitting_answers(self.state)[0])

    @precondition(going)
    @rule(text=st.sampled_from(UNABLE))
    def leave_open(self, text: str) -> None:
        self.say(text)

    @precondition(going)
    @rule(
        text=st.one_of(st.text(max_size=12), st.sampled_from(["why", "how", "save", "note x", "9 A", "99"]))
    )
    def anything(self, text: str) -> None:
        before = self.state
        self.say(text)
        if self.state.answers == before.answers:
            assert self.state.pending == before.pending
            assert self.state.evidence == before.evidence

    @precondition(going)
    @rule(data=st.data())
    def back_then_the_same_is_nothing(self, data: st.DataObject) -> None:
        before = self.state
        answer = data.draw(st.sampled_from(fitting_answers(before)))
        after, _ = step(self.setup, before, answer)
        if after.pending is None or len(after.answers) == len(before.answers):
            return
        undone, _ = step(self.setup, after, "back")
        assert undone == before
        again, _ = step(self.setup, undone, answer)
        assert again == after

    @precondition(lambda self: not self.going())
    @rule(text=st.sampled_from(["yes", "back", "why", "7.5"]))
    def after_the_end_nothing_is_taken(self, text: str) -> None:
        with pytest.raises(MisuseError):
            self.say(text)

    @rule()
    def folding_the_answers_gives_the_same(self) -> None:
        folded, _ = fold(self.setup, self.symptom, self.state.answers)
        assert folded.pending == self.state.pending
        assert folded.evidence == self.state.evidence
        assert folded.path == self.state.path

    @invariant()
    def ohms_only_with_every_pack_unplugged(self) -> None:
        ask = self.state.pending
        if ask is None or ask.measurement is None or ask.measurement.function is MeterFunction.DC_VOLTS:
            return
        assert self.state.unplugged
        assert is_unplugged(self.setup.boat, ask.measurement.state)
        assert is_unplugged(self.setup.boat, self.state.boat_state)

    @invariant()
    def the_end_is_the_end(self) -> None:
        assert (self.state.pending is None) == (self.state.phase is Phase.DONE)
        assert len(self.state.done) <= 2 * MAX_REPAIRS
        assert self.state.steps <= MAX_STEPS

    def teardown(self) -> None:
        """However it stands, going on with plain answers ends."""
        if not hasattr(self, "state"):
            return
        for _ in range(MOST_ANSWERS):
            if self.state.pending is None:
                return
            self.say(fitting_answers(self.state)[0])
        raise AssertionError(f"no end after {MOST_ANSWERS} more answers, at {self.state.pending}")


def fitting_answers(state: State) -> list[str]:
    """Answers that the pending question takes."""
    ask = state.pending
    assert ask is not None
    if ask.want is Want.CONFIRM:
        return ["yes", "no"]
    if ask.want is Want.TEXT:
        return ["", "only after rain"]
    if ask.want is Want.READING:
        volts = ask.measurement is None or ask.measurement.function is MeterFunction.DC_VOLTS
        return READINGS if volts else ["OL", "0.3", "47"]
    assert state.purpose is not Purpose.UNPLUG
    return [option.key for option in ask.options]


TestDialogue = DialogueMachine.TestCase
TestDialogue.settings = settings(max_examples=12, stateful_step_count=25)
