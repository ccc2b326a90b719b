"""Hints on a ladder: a nudge, where to turn, and the very check; each rung costs more than the one before."""

from __future__ import annotations

from collections.abc import Callable

from assistant.diagnosis import Step
from assistant.drill.wording import step_words
from assistant.wiring import Boat, point_label

HINT_S = (30.0, 60.0, 120.0)
"""What the rungs cost (common practice, no source)."""


def hint_text(boat: Boat, step: Step | None, rung: int, why: Callable[[Step], str], *, left: int) -> str:
    """Return the hint of a rung, 0 the first.

    Parameters
    ----------
    step : the best step from here, or None when none tells more.
    why : gives the reason for a step.
    left : how many suspects there are.
    """
    if step is None:
        return "No further check would tell you more: name what your checks leave."
    if rung == 0 and left == 1:
        return "What is left rests on too little yet: make one more check that would turn out otherwise without it."
    if rung == 0:
        return (
            "A look costs less than a reading, and one would tell you something now."
            if step.query is not None
            else "Take a reading that parts what is still suspected into two about equal halves."
        )
    if rung == 1:
        red = step.measurement and point_label(boat, step.measurement.red)
        return f"Turn to {step.query.part if step.query else red}. {why(step)}"
    return step_words(boat, step)
