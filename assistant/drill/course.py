"""Drills of a course: what a lesson's drill hides from a learner at an attempt.

Which fault, how bad, and the noise come from a digest of learner, lesson, drill and attempt: every learner has boats of
their own, the same on every machine, and another one at every attempt.
"""

from __future__ import annotations

from collections.abc import Sequence

from assistant.circuit import Network
from assistant.diagnosis import Diagnosis, Hypothesis
from assistant.drill.chance import rank
from assistant.drill.hiding import Hidden, hide_one_of
from assistant.drill.issuing import judge_of
from assistant.drill.reference import best_path

_TRIES = 4
_SHOWN = 6


def course_key(learner: str, lesson: str, number: int, attempt: int) -> str:
    """Return what fixes a drill of a course.

    >>> course_key("Ida", "volt-drop", 1, 0) == course_key(" ida ", "volt-drop", 1, 0)
    True
    >>> course_key("Ida", "volt-drop", 1, 0) == course_key("Ida", "volt-drop", 1, 1)
    False
    """
    digest = rank(f"{learner.strip().casefold()}/{lesson}/{number}/{attempt}").hex()
    return f"{lesson}-{number}-{digest[:_SHOWN]}"


def issue_for_course(diagnosis: Diagnosis, faults: Sequence[str], key: str) -> Hidden:
    """Return one of the faults, hidden so that the best path finds it; where it never does, the first one hidden.

    Parameters
    ----------
    faults : ``place mode`` of what may be hidden.
    key : fixes which, how bad, and the noise.

    Raises
    ------
    AnswerError
        If none of them shows plainly on this boat.
    """

    def hides(network: Network, story: Hypothesis) -> bool:  # noqa: ARG001 - what may be hidden is asked with it
        return len(story.modes) == 1 and f"{story.modes[0].part} {story.modes[0].mode}" in faults

    solver = diagnosis.table.solver
    found: list[Hidden] = []
    for turn in range(_TRIES):
        hidden = hide_one_of(solver, f"{key}.{turn}" if turn else key, hides)
        path = best_path(judge_of(diagnosis, hidden), solver, hidden)
        if path.named == tuple(story.repairs[0] for story in hidden.stories):
            return hidden
        found.append(hidden)
    # A lesson may want a fault that readings leave standing beside another; it is mended by trying.
    return found[0]
