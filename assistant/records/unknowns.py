"""What a case leaves open, said plainly."""

from collections.abc import Iterator, Sequence

from assistant.circuit import Measurement
from assistant.diagnosis import Outcome, ReadingSeen, Wiggle
from assistant.dialogue import Ending, RepairLeft
from assistant.dialogue.spans import percent
from assistant.dialogue.wiggling import wiggle_words
from assistant.dialogue.words import asked_words, says
from assistant.records.replay import LEAST, Replay
from assistant.records.words import harmless
from assistant.wiring import label_of, point_label

__all__ = ["unknowns_of"]


def unknowns_of(case: Replay, left: Sequence[RepairLeft]) -> tuple[str, ...]:
    """Return what is not known: what was not told apart, could not be read, was left open or not proved."""
    return tuple(_unknowns(case, left))


def _unknowns(case: Replay, left: Sequence[RepairLeft]) -> Iterator[str]:
    boat, verdict, ending = case.setup.boat, case.state.verdict, case.end.ending if case.end else None
    if ending is None and case.state.pending is not None and not case.trouble:
        yield f"The hunt stopped at this question: {harmless(case.state.pending.text)}"
    if not any(isinstance(piece, ReadingSeen) for piece in case.evidence):
        yield "Nothing was measured; all this rests on what was seen and heard."
    if len(left) > 1 and verdict is not None and verdict.outcome is not Outcome.SOLE:
        yield f"Which of these it is: {'; '.join(says(boat, one) for one in left)}."
    if verdict is not None and verdict.unknown >= LEAST and ending is not Ending.MENDED:
        yield f"{percent(verdict.unknown)} that it is something nobody has described to this program."
    yield from _not_had(case)
    for one in left:
        if one.cause_first:
            causes = ", ".join(label_of(boat, cause.place) for cause in one.cause_first)
            yield f"Whether {one.label} gave way by itself or because of {causes}."
    if case.done and ending is not Ending.MENDED:
        yield "Whether the repairs made so far helped: nothing proves it yet."


def _not_had(case: Replay) -> Iterator[str]:
    boat = case.setup.boat
    for asked in sorted(case.state.refused, key=repr):
        if isinstance(asked, Measurement):
            red, black = point_label(boat, asked.red), point_label(boat, asked.black)
            yield f"Could not be had: {asked.function} from {red} to {black}."
        elif isinstance(asked, Wiggle):
            yield f"Could not be tried: {wiggle_words(boat, asked)}."
        else:
            yield f"Could not be had: {asked_words(boat, asked)}"
    for point in sorted(case.state.unreachable):
        yield f"Out of reach: {point_label(boat, point)}."
