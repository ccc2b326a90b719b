"""A sheet on paper: the readings of a healthy boat, and with a symptom the tree that finds the fault."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Final

from assistant.catalogue import Action
from assistant.circuit import BoatState, Fault
from assistant.diagnosis import Diagnosis, Outcome, SignQuery, Step, Suspect
from assistant.dialogue import Knowledge, Occasion, SymptomGraph, candidates, state_of
from assistant.dialogue.graph import Base, ConfirmNode, SetNode, SignNode, TellNode
from assistant.dialogue.spans import percent
from assistant.dialogue.words import sign_text
from assistant.errors import AnswerError
from assistant.plan.bands import volts_words
from assistant.plan.expected import (
    Expected,
    columns_of,
    expected,
    state_words,
    stretches_of,
    supposed_turn_s,
)
from assistant.plan.paper import Rung, Sheet, Tree, Way
from assistant.plan.suppose import supposed_fault
from assistant.plan.tree import Branch, Range, close_last, grow, named, opened_in
from assistant.quantities import how_often
from assistant.wiring import Boat, label_of, point_label

TREE_LINES: Final = 130
"""Steps and answers of a tree, before it is cut to two pages."""

_TWO_PAGES: Final = 290
_LINE_CHARACTERS: Final = 58
"""Room of two printed pages in two columns, with some to spare: lines, and characters on each."""

_LEAST_TOLD: Final = 0.01
"""Probability below which the repairs of an end share one figure, but for the likeliest."""

_DUE: Final = (Occasion.START, Occasion.PLUG_IN, Occasion.RUN, Occasion.VOLTS)


def readings_sheet(diagnosis: Diagnosis, knowledge: Knowledge, *, suppose: str = "") -> Sheet:
    """Return the readings to expect all over a boat.

    Parameters
    ----------
    suppose
        A supposed fault in words, whose readings stand beside the healthy ones; empty for none.

    Raises
    ------
    AnswerError
        If the supposed fault is none this boat can have.
    """
    boat = diagnosis.network.boat
    fault = supposed_fault(boat, suppose) if suppose else None
    found = expected(diagnosis)
    return Sheet(
        boat=boat.name,
        about=boat.about,
        black=point_label(boat, diagnosis.network.nodes[-1]),
        cautions=_cautions(knowledge),
        supposed=_fault_words(boat, fault, suppose) + _unrest_words(diagnosis, found, fault) if fault else "",
        columns=columns_of(boat, found),
        stretches=stretches_of(diagnosis, found, fault),
        tree=None,
    )


def symptom_sheet(
    diagnosis: Diagnosis,
    knowledge: Knowledge,
    graph: SymptomGraph,
    *,
    part: str = "",
    lines: int = TREE_LINES,
) -> Sheet:
    """Return the fault-finding tree of a symptom for this boat.

    Parameters
    ----------
    part
        The part it is about, where the boat has several; the first one when left out.
    lines
        Room for the tree, in steps and answers together.

    Raises
    ------
    AnswerError
        If the boat has no such part, or the symptom nothing to look at.
    """
    boat = diagnosis.network.boat
    complaint, states = complaint_of(boat, graph, part)
    root = grow(diagnosis, complaint, states, most_lines=lines)
    rungs = tuple(_rungs(diagnosis, root, complaint))
    while _printed_lines(rungs) > _TWO_PAGES and close_last(root):
        rungs = tuple(_rungs(diagnosis, root, complaint))
    return Sheet(
        boat=boat.name,
        about=boat.about,
        black=point_label(boat, diagnosis.network.nodes[-1]),
        cautions=_cautions(knowledge),
        supposed="",
        columns=(),
        stretches=(),
        tree=Tree(
            title=f"{graph.title}: {label_of(boat, complaint.part)}",
            first=tuple(_first_checks(graph)),
            rungs=rungs,
        ),
    )


def complaint_of(boat: Boat, graph: SymptomGraph, part: str) -> tuple[SignQuery, tuple[BoatState, ...]]:
    """Return the sign a symptom is about, on this boat, and the live states in which its steps are taken."""
    roles = _roles(boat, graph, part)
    live = {name: spec for name, spec in graph.states.items() if spec.base is not Base.REST}
    looks = [n for n in graph.nodes.values() if isinstance(n, SignNode) and n.of == graph.focus]
    about = [node for node in looks if node.state in live]
    filled = roles.get(graph.focus, ())
    if not about or not filled or about[-1].sign not in boat.parts[filled[0]].kind.signs:
        raise AnswerError(
            value=graph.id, reason="this boat has nothing the symptom is about", next_step="choose another"
        )
    states = {name: state_of(boat, spec, roles) for name, spec in live.items()}
    query = SignQuery(part=filled[0], sign=about[-1].sign, state=states[about[-1].state])
    return query, tuple(dict.fromkeys(states.values()))


def _roles(boat: Boat, graph: SymptomGraph, part: str) -> Mapping[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for role in graph.roles.values():
        able = candidates(boat, role, tuple(found.items()))
        if role.name == graph.focus and part:
            if part not in able:
                known = ", ".join(able)
                raise AnswerError(value=part, reason="the symptom is not about it", next_step=f"name {known}")
            able = (part,)
        found[role.name] = able[:1]
    return found


def _cautions(knowledge: Knowledge) -> tuple[str, ...]:
    return tuple(c.text for c in knowledge.cautions.values() if set(c.on) & set(_DUE))


def _fault_words(boat: Boat, fault: Fault, typed: str) -> str:
    says = boat.parts[fault.part].kind.faults[fault.mode].says
    return f"{label_of(boat, fault.part)}: {says} ({typed.strip()})"


def _unrest_words(diagnosis: Diagnosis, found: Expected, fault: Fault) -> str:
    """Return in which columns the boat with a fault never comes to rest, and how often it comes round."""
    rates: dict[str, list[str]] = {}
    for column, state in zip(columns_of(diagnosis.network.boat, found), found.states, strict=False):
        turn_s = supposed_turn_s(diagnosis, fault, state)
        if not math.isnan(turn_s):
            rates.setdefault(how_often(turn_s), []).append(column.letter)
    told = "; ".join(f"in {', '.join(letters)} {rate}" for rate, letters in rates.items())
    return f". It goes on and off for ever, {told}, and a meter shows the mean" if told else ""


def _first_checks(graph: SymptomGraph) -> Iterator[str]:
    """Yield what is done before anything is read: the way through the graph while all is well."""
    name, seen = graph.start, set[str]()
    while name not in seen:
        seen.add(name)
        node = graph.nodes[name]
        match node:
            case ConfirmNode():
                yield f"{node.text} If not: {_ends(graph, node.no)}"
                name = node.yes
            case SetNode():
                yield node.text
                name = node.then
            case TellNode():
                yield node.text
                name = node.then
            case _:
                return


def _ends(graph: SymptomGraph, name: str) -> str:
    """Return what a node says, when it is one that only says something."""
    return getattr(graph.nodes[name], "text", "") or "leave it to the guided search."


def _rungs(diagnosis: Diagnosis, root: Branch, complaint: SignQuery) -> Iterator[Rung]:
    boat = diagnosis.network.boat
    levels = diagnosis.levels(complaint)
    numbers = {id(branch): number for number, branch in enumerate(opened_in(root), start=1)}
    for branch in opened_in(root):
        step = branch.step
        query = step.query if step else complaint
        yield Rung(
            number=numbers[id(branch)],
            state=state_words(boat, _state(step, complaint)),
            text=_reading_words(boat, step) if step and step.measurement else _look_words(boat, query),
            ways=tuple(
                Way(
                    answer=_answer_words(diagnosis, branch, below, levels),
                    step=numbers.get(id(below)),
                    ends="" if id(below) in numbers else _end_words(diagnosis, below, root),
                )
                for below in branch.branches
            ),
        )


def _printed_lines(rungs: tuple[Rung, ...]) -> float:
    """Return how many lines of a printed column a tree takes."""
    texts = [f"{rung.number}. {rung.state}. {rung.text}" for rung in rungs]
    texts += [f"- {way.answer}: {way.ends}" for rung in rungs for way in rung.ways]
    return sum(math.ceil(len(text) / _LINE_CHARACTERS) for text in texts) + 0.5 * len(rungs)


def _state(step: Step | None, complaint: SignQuery) -> BoatState:
    if step is None:
        return complaint.state
    return step.asked.state if step.asked else complaint.state


def _reading_words(boat: Boat, step: Step) -> str:
    if step.measurement is None:
        return ""
    return (
        f"Volts: red on {point_label(boat, step.measurement.red)},"
        f" black on {point_label(boat, step.measurement.black)}"
    )


def _look_words(boat: Boat, query: SignQuery | None) -> str:
    if query is None:
        return ""
    return sign_text(boat, query, (query.part,))


def _answer_words(diagnosis: Diagnosis, branch: Branch, below: Branch, first: Mapping[str, str]) -> str:
    step = branch.step
    if isinstance(below.answer, Range) and step and step.measurement:
        band = diagnosis.band(step.measurement)
        well = " (as expected)" if below.answer.holds(band.typical) else ""
        return f"{range_words(below.answer)}{well}"
    words = step.levels if step else first
    return words.get(str(below.answer), str(below.answer))


def range_words(span: Range) -> str:
    """Return a range of readings.

    >>> range_words(Range(low=4.8, high=5.5)), range_words(Range(low=float("-inf"), high=0.015))
    ('4.8 V to 5.5 V', 'below 15 mV')
    """
    if math.isinf(span.low):
        return f"below {volts_words(span.high)}"
    if math.isinf(span.high):
        return f"{volts_words(span.low)} or more"
    return f"{volts_words(span.low)} to {volts_words(span.high)}"


def _end_words(diagnosis: Diagnosis, branch: Branch, root: Branch) -> str:
    boat = diagnosis.network.boat
    if branch in root.branches and branch.step is None:
        return "not this trouble; push at each plug and wire while it runs, and see whether it stops"
    if branch.verdict.outcome is Outcome.HEALTHY:
        return "as far as it was read, nothing is wrong"
    suspects = [s for s in named(branch.verdict) if s.repair.place in boat.parts]
    told = [s for number, s in enumerate(suspects) if not number or s.probability >= _LEAST_TOLD]
    said = [f"{_suspect_words(boat, s)} {percent(s.probability)}" for s in told]
    rare = [_suspect_words(boat, s) for s in suspects if s not in told]
    return "; ".join([*said, *([f"each {percent(0.0)}: {', '.join(rare)}"] if rare else [])])


def _suspect_words(boat: Boat, suspect: Suspect) -> str:
    """Return a repair; what is not mended by hands alone is told by what is wrong."""
    label = label_of(boat, suspect.repair.place)
    words = f"{suspect.repair.action} {label}"
    if suspect.repair.action not in {Action.REPLACE, Action.REMAKE}:
        mode = suspect.modes[0]
        words = f"{label}: {boat.parts[mode.part].kind.faults[mode.mode].says}"
    return words
