"""Checks of the knowledge as a whole: what reading a single file cannot see.

Every rule has a code (`RULES` says what each is about); each problem names its place like any other problem of a
written file.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType

import networkx as nx

from assistant.catalogue import Catalogue, Kind, SignSpec, terminal_of
from assistant.circuit.expectation import BandName
from assistant.dialogue.answers import Unable, Word, plain
from assistant.dialogue.glossary import WORDS_FILE, unused_terms
from assistant.dialogue.graph import (
    ABSENT,
    ANY,
    AT_TIMES,
    UNSURE,
    AskNode,
    Base,
    ConcludeNode,
    Ended,
    Knowledge,
    NarrowNode,
    Node,
    Occasion,
    PointSpec,
    ReadNode,
    SetNode,
    SignNode,
    SymptomGraph,
)
from assistant.dialogue.leading import unled_faults
from assistant.dialogue.load import SYMPTOMS, read_knowledge
from assistant.documents import Mark, Problems
from assistant.errors import Problem, quote

RULES: Mapping[str, str] = MappingProxyType(
    {
        "unreachable": "a node that no way from the start leads to",
        "missing-link": "an answer, level or outcome without a way on",
        "no-end": "a node from which no way leads to an end",
        "cycle": "a circle on which nothing is learnt and nothing is done",
        "role": "a role that no part kind can fill",
        "sign": "a sign, or a level of one, that no part kind of the role has",
        "point": "a terminal that no part kind of the role has",
        "forbidden-state": "a step in a state that its caution, its sign or its reading forbids",
        "dead-look": "a sign that shows only with a pack plugged in, looked for without",
        "command": "an answer whose key is a word understood at any time",
        "missing-caution": "an occasion on which no caution is given",
        "no-example": "a symptom without an executed example, or without a counter-example",
        "unlinked-lesson": "a lesson that no step and no instruction names",
        "unused-word": "a word of the trade that no text uses",
        "unled-fault": "a fault of a part kind that no symptom leads to",
    }
)
"""What each rule finds, by its code; form and names are checked before, by reading the files."""

_COMMANDS = {str(word) for word in Word} | {plain(str(word)) for word in Unable}
_MUST_WARN = (
    Occasion.START,
    Occasion.PLUG_IN,
    Occasion.RUN,
    Occasion.OHMS,
    Occasion.REPAIR,
    Occasion.REPLACE_FUSE,
)


def lint_knowledge(files: Mapping[str, str], catalogue: Catalogue) -> tuple[Problem, ...]:
    """Return every problem of symptoms, cautions and instructions, in the order of place.

    What nothing leads to is told once every symptom can be read.

    Parameters
    ----------
    files
        Text by path below the knowledge folder; see `load_knowledge`.
    catalogue
        All part kinds.
    """
    problems = Problems()
    knowledge = read_knowledge(files, problems)
    for graph in knowledge.symptoms.values():
        _lint_graph(graph, knowledge, catalogue, problems)
    if knowledge.symptoms:
        _lint_cautions(knowledge, problems)
    if len(knowledge.symptoms) == sum(path.startswith(SYMPTOMS) for path in files):
        _lint_faults(knowledge, catalogue, problems)
        _lint_lessons(knowledge, problems)
    texts = [text for path, text in files.items() if path != WORDS_FILE]
    for term in unused_terms(knowledge.terms, texts):
        problems.add(term.mark, "unused-word", f"no text uses {quote(term.word)}", "remove it")
    return tuple(problems)


def _lint_cautions(knowledge: Knowledge, problems: Problems) -> None:
    given = {occasion for caution in knowledge.cautions.values() for occasion in caution.on}
    for occasion in _MUST_WARN:
        if occasion not in given:
            mark = Mark(file="safety.yaml", line=1, column=1)
            what = f"no caution is given on the occasion {quote(str(occasion))}"
            problems.add(mark, "missing-caution", what, f'give one with "on: [{occasion}]"')


def _lint_lessons(knowledge: Knowledge, problems: Problems) -> None:
    nodes = (node for graph in knowledge.symptoms.values() for node in graph.nodes.values())
    named = {one.lesson for one in (*nodes, *knowledge.hows.values())}
    for lesson in knowledge.lessons.values():
        if lesson.id not in named:
            what = f"no step and no instruction names the lesson {quote(lesson.id)}"
            problems.add(lesson.mark, "unlinked-lesson", what, f'add "lesson: {lesson.id}" where it helps')


def _lint_faults(knowledge: Knowledge, catalogue: Catalogue, problems: Problems) -> None:
    for kind, fault in unled_faults(knowledge.symptoms, catalogue):
        mark = Mark(file=f"parts/{kind.name.replace(' ', '-')}.yaml", line=1, column=1)
        what = f"no symptom leads to the fault {quote(fault.name)}"
        problems.add(mark, "unled-fault", what, f"let a symptom speak of a {kind.group}, or of a sign of it")


def _check_examples(graph: SymptomGraph, problems: Problems) -> None:
    for counter, words in ((False, "example"), (True, "counter-example")):
        if not any(example.counter is counter and example.fault for example in graph.examples):
            problems.add(
                graph.mark,
                "no-example",
                f"no {words} with a hidden fault",
                "add one under " + ('"counter"' if counter else '"examples"'),
            )


def _lint_graph(graph: SymptomGraph, knowledge: Knowledge, catalogue: Catalogue, problems: Problems) -> None:
    _check_ways(graph, problems)
    _check_examples(graph, problems)
    kinds = {name: _kinds_of(graph, name, catalogue) for name in graph.roles}
    for role in graph.roles.values():
        if not kinds[role.name]:
            shows = f" with the sign {quote(role.shows)}" if role.shows else ""
            what = f"no kind of part is a {role.group}{shows}"
            problems.add(role.mark, "role", what, "name a group that some kind has")
    for node in graph.nodes.values():
        for missing in sorted(set(_wanted_links(node, kinds)) - node.links.keys()):
            if ANY not in node.links:
                what = f"no way on from {quote(node.id)} by {quote(missing)}"
                problems.add(node.mark, "missing-link", what, f'add "{missing}: …" or "any: …"')
        _check_parts(node, kinds, problems)
        _check_state(graph, node, kinds, knowledge, problems)
        if isinstance(node, AskNode):
            for answer in node.answers:
                if plain(answer.key) in _COMMANDS:
                    what = f"the answer {quote(answer.key)} is a word understood at any time"
                    problems.add(node.mark, "command", what, "use another key")


def ways_of(graph: SymptomGraph) -> nx.DiGraph[str]:
    """Return the nodes and the ways between them."""
    ways: nx.DiGraph[str] = nx.DiGraph()
    ways.add_nodes_from(graph.nodes)
    for node in graph.nodes.values():
        ways.add_edges_from((node.id, target) for target in node.links.values() if target in graph.nodes)
    return ways


def longest_way(graph: SymptomGraph) -> tuple[str, ...]:
    """Return the nodes on the longest way from the start to an end on which no node comes twice.

    Narrowing counts as one node, however many readings it takes.
    """
    ways = ways_of(graph)
    ends = {node.id for node in graph.nodes.values() if isinstance(node, ConcludeNode)}
    found = (path for path in _simple_ways(ways, (graph.start,)) if path[-1] in ends)
    return max(found, key=len, default=())


def _simple_ways(ways: nx.DiGraph[str], path: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    yield path
    for following in ways.successors(path[-1]):
        if following not in path:
            yield from _simple_ways(ways, (*path, following))


def _check_ways(graph: SymptomGraph, problems: Problems) -> None:
    ways = ways_of(graph)
    reached = {graph.start} | nx.descendants(ways, graph.start)
    ends = [node.id for node in graph.nodes.values() if isinstance(node, ConcludeNode)]
    ending = set(ends).union(*(nx.ancestors(ways, end) for end in ends))
    for node in graph.nodes.values():
        if node.id not in reached:
            what = f"no way from the start leads to {quote(node.id)}"
            problems.add(node.mark, "unreachable", what, "link it, or remove it")
        if node.id not in ending:
            what = f"no way leads from {quote(node.id)} to an end"
            problems.add(node.mark, "no-end", what, "lead it to a node that concludes")
    for circle in nx.simple_cycles(ways):
        if not any(_makes_progress(graph.nodes[name]) for name in circle):
            what = f"a circle on which nothing is learnt: {' > '.join(circle)}"
            problems.add(graph.nodes[circle[0]].mark, "cycle", what, "lead one of its ways elsewhere")


def _makes_progress(node: Node) -> bool:
    return isinstance(node, SignNode | ReadNode | SetNode | NarrowNode)


def _kinds_of(graph: SymptomGraph, role: str, catalogue: Catalogue) -> tuple[Kind, ...]:
    spec = graph.roles[role]
    return tuple(
        kind
        for kind in catalogue.kinds.values()
        if kind.group is spec.group and (not spec.shows or spec.shows in kind.signs)
    )


def _wanted_links(node: Node, kinds: Mapping[str, tuple[Kind, ...]]) -> Iterator[str]:
    """Yield the links that a node needs unless it has one for whatever has none."""
    match node:
        case SignNode():
            yield from (UNSURE, ABSENT)
            for kind in kinds[node.of]:
                if node.sign in kind.signs:
                    spec = kind.signs[node.sign]
                    yield from (
                        level for level in (*spec.levels, spec.restless_level, spec.chance_level) if level
                    )
        case ReadNode():
            yield from (UNSURE, ABSENT, *map(str, BandName))
        case NarrowNode():
            yield from map(str, Ended)
        case _:
            return


def _check_parts(node: Node, kinds: Mapping[str, tuple[Kind, ...]], problems: Problems) -> None:
    """Check that some kind has the signs, levels and terminals a node speaks of."""
    match node:
        case SignNode():
            _check_sign(node, node.sign, set(node.then) - {ANY, UNSURE, ABSENT}, kinds[node.of], problems)
        case AskNode():
            for answer in node.answers:
                if answer.evidence is not None:
                    given = answer.evidence
                    _check_sign(node, given.sign, {given.level} - {AT_TIMES}, kinds[given.of], problems)
        case ReadNode():
            for spec in (node.red, node.black):
                if kinds[spec.role] and not any(_has_point(kind, spec) for kind in kinds[spec.role]):
                    what = f"no kind that can be {quote(spec.role)} has {quote(spec.terminal)}"
                    problems.add(node.mark, "point", what, "name a terminal that it has")


def _check_sign(
    node: Node, sign: str, levels: Iterable[str], kinds: tuple[Kind, ...], problems: Problems
) -> None:
    having = [kind.signs[sign] for kind in kinds if sign in kind.signs]
    if kinds and not having:
        problems.add(
            node.mark, "sign", f"no kind of this role shows {quote(sign)}", "name a sign that it shows"
        )
        return
    known = {level for spec in having for level in (*spec.levels, spec.restless_level, spec.chance_level)}
    for level in sorted(set(levels) - known):
        if having:
            what = f"the sign {quote(sign)} has no level {quote(level)}"
            problems.add(node.mark, "sign", what, f"use one of: {', '.join(sorted(known - {''}))}")


def _has_point(kind: Kind, spec: PointSpec) -> bool:
    if kind.slots is not None and spec.terminal in {"spare+", "spare-"}:
        return True
    return terminal_of(kind, spec.terminal) is not None


def _signs(node: Node, kinds: Mapping[str, tuple[Kind, ...]]) -> list[SignSpec]:
    """Return what the kinds that can be looked at give for the sign of a node."""
    if not isinstance(node, SignNode):
        return []
    return [kind.signs[node.sign] for kind in kinds[node.of] if node.sign in kind.signs]


def _check_dead_look(node: Node, kinds: Mapping[str, tuple[Kind, ...]], problems: Problems) -> None:
    if any(not sign.unplugged for sign in _signs(node, kinds)):
        what = f"{quote(node.id)} looks for what shows only with a pack plugged in"
        problems.add(node.mark, "dead-look", what, "use a state with a pack plugged in")


def _check_state(
    graph: SymptomGraph,
    node: Node,
    kinds: Mapping[str, tuple[Kind, ...]],
    knowledge: Knowledge,
    problems: Problems,
) -> None:
    """Note a step with a pack plugged in that a caution forbids, its own or that of the reading."""
    state = getattr(node, "state", None)
    if state is None or getattr(node, "recall", False):
        return
    if graph.states[state].base is Base.REST:
        _check_dead_look(node, kinds, problems)
        return
    dead = [name for name in node.cautions if knowledge.cautions[name].unplugged]
    if any(sign.unplugged for sign in _signs(node, kinds)):
        dead.append(f"the sign {getattr(node, 'sign', '')}")
    if isinstance(node, ReadNode) and node.function.is_dead:
        dead.append(str(node.function))
    for name in dead:
        what = f"{quote(node.id)} in the state {quote(state)}, but {quote(name)} needs every pack unplugged"
        problems.add(node.mark, "forbidden-state", what, 'use a state with "base: rest"')
