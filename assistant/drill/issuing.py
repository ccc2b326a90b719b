"""Giving out a drill: one whose best path ends at the very fault that is hidden.

A code says which fault is hidden without asking the diagnosis; whether it can be found is looked at here, before the
code is given out.  Where the complaint alone gives the fault away there is nothing to hunt for, and the next one is
tried.
"""

from __future__ import annotations

from assistant.circuit import forward_states
from assistant.diagnosis import Diagnosis
from assistant.drill.codes import code_for
from assistant.drill.hiding import Hidden, hide
from assistant.drill.judging import Judge
from assistant.drill.reference import best_path, first_evidence
from assistant.errors import AnswerError

_TRIES = 48


def issue(diagnosis: Diagnosis, level: int, seed: int) -> Hidden:
    """Return a drill of a level whose fault has to be hunted for and is found, the first from this seed on.

    Raises
    ------
    AnswerError
        If the boat has none.
    """
    boat = diagnosis.network.boat
    code = code_for(level, boat.name, seed)
    for _ in range(_TRIES):
        hidden = hide(diagnosis.table.solver, code)
        if _is_worth_hunting(diagnosis, hidden):
            return hidden
        code = code.next()
    raise AnswerError(
        value=level,
        reason=f"no drill of this level was found on {boat.name} that ends at one place",
        next_step="take another level, another boat or another seed",
    )


def _is_worth_hunting(diagnosis: Diagnosis, hidden: Hidden) -> bool:
    """Tell whether the best path ends at what is hidden, and the complaint alone does not give it away."""
    if gives_itself_away(diagnosis, hidden):
        return False
    path = best_path(judge_of(diagnosis, hidden), diagnosis.table.solver, hidden)
    return path.named == tuple(story.repairs[0] for story in hidden.stories)


def gives_itself_away(diagnosis: Diagnosis, hidden: Hidden) -> bool:
    """Tell whether the complaint alone makes what is hidden likely."""
    boat = hidden.boat(diagnosis.table.solver, diagnosis.meter)
    told = first_evidence(boat, hidden.complaints[0], fickle=hidden.comes_and_goes)
    return hidden.stories[0].repairs[0].place in judge_of(diagnosis, hidden).given_away(told)


def judge_of(diagnosis: Diagnosis, hidden: Hidden) -> Judge:
    """Return the judge of a drill; where the trouble comes and goes, it only shows in the state it was seen in."""
    if hidden.comes_and_goes:
        return Judge(diagnosis, (hidden.complaints[0].query.state,), fickle=True)
    return Judge(diagnosis, forward_states(diagnosis.network.boat), fickle=False)
