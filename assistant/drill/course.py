"""Drills of a course: what a lesson's drill hides from a learner at an attempt.

Which fault, how bad, and the noise come from a digest of learner, lesson, drill and attempt: every learner has boats of
their own, the same on every machine, and another one at every attempt.
"""

from __future__ import annotations

from assistant.circuit import Network
from assistant.diagnosis import Diagnosis, Hypothesis
from assistant.drill.chance import rank
from assistant.drill.hiding import Hidden, hide_one_of
from assistant.drill.issuing import gives_itself_away, judge_of
from assistant.drill.reference import best_path
from assistant.errors import AnswerError
from assistant.lessons import Drill

_TRIES = 8
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


def issue_for_course(diagnosis: Diagnosis, drill: Drill, key: str) -> Hidden:
    """Return what a lesson's drill hides: as many of its faults as it wants at once, so that the best path passes.

    A fault that the complaint alone gives away is hidden only where there is no other.

    Parameters
    ----------
    key : fixes which, how bad, and the noise.

    Raises
    ------
    AnswerError
        If none of them shows on this boat and is found by the best path.
    """

    def hides(network: Network, story: Hypothesis) -> bool:  # noqa: ARG001 - what may be hidden is asked with it
        return len(story.modes) == 1 and f"{story.modes[0].part} {story.modes[0].mode}" in drill.faults

    def is_found(hidden: Hidden) -> bool:
        path = best_path(judge_of(diagnosis, hidden), solver, hidden)
        return path.ends and path.right

    solver = diagnosis.table.solver
    plain: list[Hidden] = []
    for turn in range(_TRIES):
        own = f"{key}.{turn}" if turn else key
        try:
            hidden = hide_one_of(solver, own, hides, count=drill.at_once, stated=drill.complaint)
        except AnswerError:
            continue
        if gives_itself_away(diagnosis, hidden):
            plain.append(hidden)
        elif is_found(hidden):
            return hidden
    # Where every fault of a drill shows at first sight, that is what it is about.
    found = next(filter(is_found, plain), None)
    if found is not None:
        return found
    raise AnswerError(
        value=key,
        reason=f"none of the faults of this drill shows on {diagnosis.network.boat.name} so that it can be found",
        next_step="give other faults to draw from",
    )
