"""The decision graph walked: each node is put as a question, or passed where there is nothing to ask."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from assistant.catalogue import Reach
from assistant.circuit import BoatState, Measurement, pack_settings
from assistant.diagnosis.model import ReadingSeen, SignQuery, SignSeen, Unsteady
from assistant.dialogue import narrowing, repairing
from assistant.dialogue.answers import Chosen, Given, Unable
from assistant.dialogue.events import Ask, Ending, Option, Want
from assistant.dialogue.graph import (
    ABSENT,
    ANY,
    AT_TIMES,
    UNSURE,
    AskNode,
    ConcludeNode,
    Conclusion,
    ConfirmNode,
    NarrowNode,
    Node,
    ReadNode,
    Role,
    SetNode,
    SignNode,
    SymptomGraph,
    TellNode,
)
from assistant.dialogue.narrowing import reading_seen
from assistant.dialogue.roles import candidates, point_of
from assistant.dialogue.state import Phase, Purpose, graph_of
from assistant.dialogue.states import state_of
from assistant.dialogue.turn import Turn
from assistant.dialogue.unfound import looked_at_text
from assistant.dialogue.words import echo, probing, reading_text, sign_text
from assistant.errors import AnswerError
from assistant.quantities import Quantity
from assistant.wiring import label_of, reach_of

ALL_OF_THEM = "all"
_VISITS = 3


def fill_roles(turn: Turn) -> str | None:
    """Fill the roles in order; return the first node when all are filled, None when a person has to choose.

    Raises
    ------
    AnswerError
        When the boat lacks a part without which the graph makes no sense.
    """
    graph = graph_of(turn.setup, turn.state.symptom)
    roles = [role for role in graph.roles.values() if not role.later]
    return graph.start if _filled(turn, roles) else None


def _filled(turn: Turn, roles: Iterable[Role]) -> bool:
    """Fill roles in order, and the boat states that speak of them; False when a person has to choose first."""
    graph, before = graph_of(turn.setup, turn.state.symptom), turn.state.roles
    for role in roles:
        if role.name in turn.state.parts:
            continue
        found = candidates(turn.setup.boat, role, turn.state.roles)
        if not found and not role.optional:
            reason = f"{turn.setup.boat.name} has no {role.name} that this could be about"
            raise AnswerError(value=graph.title, reason=reason, next_step="choose another symptom")
        if len(found) > 1 and role.choose:
            turn.present(_role_ask(turn, role.name, role.choose, found, role.all), Purpose.ROLE)
            return False
        turn.state = replace(turn.state, roles=(*turn.state.roles, (role.name, found[:1])))
    # It takes the circuit to tell how some parts are run, so states are not worked out anew at every node.
    if turn.state.roles != before or not turn.state.states:
        states = (
            (spec.name, state_of(turn.setup.boat, spec, turn.state.parts)) for spec in graph.states.values()
        )
        turn.state = replace(turn.state, states=tuple(states))
    return True


def _spoken_of(graph: SymptomGraph, node: Node) -> Iterator[Role]:
    """Yield the roles that are filled only when a node speaks of them, if this one does."""
    names: tuple[str, ...] = ()
    if isinstance(node, SignNode):
        names = (node.of,)
    elif isinstance(node, ReadNode):
        names = (node.red.role, node.black.role)
    yield from (role for role in graph.roles.values() if role.later and role.name in names)


def _role_ask(turn: Turn, role: str, text: str, found: tuple[str, ...], every: bool) -> Ask:
    options = [Option(key=part, text=label_of(turn.setup.boat, part)) for part in found]
    if every:
        options.append(Option(key=ALL_OF_THEM, text="all of them"))
    return Ask(
        id=f"role.{role}",
        text=text,
        want=Want.CHOICE,
        options=tuple(options),
        why="Every question and every expected reading is made for this part.",
        how="Choose the one that troubles you most; when it is cured, start again for the next.",
    )


def role_answered(turn: Turn, ask: Ask, given: Given) -> str | None:
    """Take the choice of a part; who does not know gets the first."""
    name = ask.id.partition(".role.")[2]
    keys = tuple(option.key for option in ask.options)
    parts = tuple(key for key in keys if key != ALL_OF_THEM)
    chosen = parts[:1]
    if isinstance(given, Chosen):
        chosen = parts if given.key == ALL_OF_THEM else (given.key,)
    turn.state = replace(turn.state, roles=(*turn.state.roles, (name, chosen)))
    graph = graph_of(turn.setup, turn.state.symptom)
    if not turn.state.node:
        return fill_roles(turn)
    return turn.state.node if _filled(turn, _spoken_of(graph, graph.nodes[turn.state.node])) else None


def enter(turn: Turn, name: str) -> None:
    """Go on at a node, and through all nodes that need no answer, until a question is put or all is said."""
    graph = graph_of(turn.setup, turn.state.symptom)
    while True:
        node = graph.nodes[name]
        turn.state = replace(turn.state, node=name, phase=Phase.GRAPH)
        if not _filled(turn, _spoken_of(graph, node)):
            return
        turn.state = replace(turn.state, path=(*turn.state.path, name))
        if turn.state.path.count(name) > _VISITS and not isinstance(node, NarrowNode):
            turn.conclude(
                "circle",
                "We have been here before, so this leads nowhere. Stop here and note it.",
                Ending.STOPPED,
            )
            return
        if isinstance(node, NarrowNode):
            following = narrowing.go_on(turn)
        elif isinstance(node, ConcludeNode):
            _conclude(turn, node)
            following = None
        else:
            following = _put(turn, node)
        if following is None:
            return
        name = following


def _put(turn: Turn, node: Node) -> str | None:
    """Put the question of a node; return the next node where there is nothing to ask."""
    match node:
        case TellNode():
            turn.show(node.id, node.text)
            return node.then
        case ConfirmNode():
            turn.present(_plain_ask(node, node.text, Want.CONFIRM), Purpose.NODE)
        case AskNode():
            options = tuple(Option(key=answer.key, text=answer.text) for answer in node.answers)
            state = _state(turn, node.state) if node.state else None
            ask = _plain_ask(node, node.text, Want.CHOICE)
            turn.present(replace(ask, options=options, state=state, default=node.likely), Purpose.NODE)
        case SetNode():
            ask = _plain_ask(node, node.text, Want.CONFIRM)
            turn.present(replace(ask, state=_state(turn, node.state)), Purpose.NODE)
        case SignNode():
            return _put_sign(turn, node)
        case ReadNode():
            return _put_reading(turn, node)
    return None


def _plain_ask(node: Node, text: str, want: Want) -> Ask:
    return Ask(
        id=node.id,
        text=text,
        want=want,
        why=node.why,
        how=node.how,
        lesson=node.lesson,
        cautions=node.cautions,
    )


def _state(turn: Turn, name: str) -> BoatState:
    return dict(turn.state.states)[name]


def _put_sign(turn: Turn, node: SignNode) -> str | None:
    query = _query(turn, node.of, node.sign, node.state)
    if query is None:
        return link(node, ABSENT)
    level = _seen_level(turn, query)
    if level is not None:
        return link(node, level)
    parts = turn.state.parts[node.of]
    levels = turn.setup.diagnosis.levels(query)
    text = node.text or sign_text(turn.setup.boat, query, parts)
    ask = _plain_ask(node, text, Want.CHOICE)
    options = tuple(Option(key=level, text=words) for level, words in levels.items())
    state = None if node.recall else query.state
    turn.present(replace(ask, options=options, query=query, state=state), Purpose.NODE)
    return None


def _query(turn: Turn, role: str, sign: str, state: str) -> SignQuery | None:
    parts = turn.state.parts.get(role, ())
    if not parts or sign not in turn.setup.boat.parts[parts[0]].kind.signs:
        return None
    return SignQuery(part=parts[0], sign=sign, state=_state(turn, state))


def _seen_level(turn: Turn, query: SignQuery) -> str | None:
    """Return what a sign was already seen or told to show, or None."""
    seen = (p.levels for p in turn.state.evidence if isinstance(p, SignSeen) and p.query == query)
    return next((levels[0] for levels in seen if len(levels) == 1), None)


def _read_value(turn: Turn, measurement: Measurement) -> float | None:
    """Return what was already read or told to show between two points, or None."""
    read = (p for p in turn.state.evidence if isinstance(p, ReadingSeen) and p.measurement == measurement)
    return next((piece.value for piece in read), None)


def _put_reading(turn: Turn, node: ReadNode) -> str | None:
    boat = turn.setup.boat
    red, black = (point_of(boat, spec, turn.state.parts) for spec in (node.red, node.black))
    barred = turn.state.unreachable
    reachable = [p for p in (red, black) if p and p not in barred and reach_of(boat, p) is not Reach.SEALED]
    if len(reachable) < 2 or node.function not in turn.setup.functions:
        return link(node, ABSENT)
    state = _state(turn, node.state)
    if node.function.is_dead:
        state = state.with_(dict.fromkeys(pack_settings(boat), 0.0))
    measurement = Measurement(function=node.function, red=reachable[0], black=reachable[1], state=state)
    known = _read_value(turn, measurement)
    if known is not None:
        return link(node, turn.setup.diagnosis.band(measurement).name(known))
    ask = _plain_ask(node, node.text or reading_text(boat, measurement), Want.READING)
    ask = replace(
        ask,
        how=f"{node.how} {probing(boat, measurement)}",
        measurement=measurement,
        band=turn.setup.diagnosis.band(measurement),
        state=state,
    )
    turn.present(ask, Purpose.NODE)
    return None


def link(node: Node, name: str) -> str:
    """Return where a node leads by this link, or by the one for whatever has none of its own."""
    links = node.links
    return links.get(name) or links.get(ANY) or links.get(UNSURE) or next(iter(links.values()))


def node_answered(turn: Turn, ask: Ask, given: Given) -> str | None:
    """Take the answer to the question of a node; return the node to go on at."""
    graph = graph_of(turn.setup, turn.state.symptom)
    node = graph.nodes[turn.state.node]
    if ask.state is not None and not isinstance(given, Unable) and given != Chosen(key="no"):
        turn.state = replace(turn.state, boat_state=ask.state)
    match given:
        case Quantity() if ask.measurement is not None:
            turn.show(f"{node.id}.read", echo(given, ask.measurement, ask.band, turn.state.answers[-1]))
            seen = reading_seen(turn, ask.measurement, given)
            turn.state = replace(turn.state, evidence=(*turn.state.evidence, seen), last=ask.measurement)
            name = ask.band.name(given.value) if ask.band else ANY
            return link(node, name)
        case Chosen():
            _note_signs(turn, node, ask, given.key)
            return link(node, _chosen_link(node, given.key))
        case _:
            if isinstance(given, Unable):
                narrowing.set_aside(turn, ask, given)
            return link(node, _unable_link(node))


def _chosen_link(node: Node, key: str) -> str:
    if isinstance(node, SetNode):
        return "then" if key == "yes" else "cannot"
    return key


def _unable_link(node: Node) -> str:
    if isinstance(node, ConfirmNode):
        return "no"
    return "cannot" if isinstance(node, SetNode) else UNSURE


def _note_signs(turn: Turn, node: Node, ask: Ask, key: str) -> None:
    """Keep what an answer says about signs as evidence."""
    query, level, role = ask.query, key, node.of if isinstance(node, SignNode) else ""
    if isinstance(node, AskNode):
        given = next((answer.evidence for answer in node.answers if answer.key == key), None)
        if given is not None:
            query = _query(turn, given.of, given.sign, given.state)
            level, role = given.level, given.of
    if query is None:
        return
    looks = [
        SignQuery(part=part, sign=query.sign, state=query.state)
        for part in turn.state.parts[role]
        if query.sign in turn.setup.boat.parts[part].kind.signs
    ]
    seen = [
        Unsteady(asked=look) if level == AT_TIMES else SignSeen(query=look, levels=(level,)) for look in looks
    ]
    turn.state = replace(turn.state, evidence=(*turn.state.evidence, *seen))


def _conclude(turn: Turn, node: ConcludeNode) -> None:
    match node.conclusion:
        case Conclusion.VERDICT:
            repairing.offer(turn, node.text)
        case Conclusion.UNKNOWN:
            repairing.ask_last_words(turn, node.text)
        case Conclusion.HEALTHY:
            verdict = turn.state.verdict
            if verdict is not None:
                turn.show("looked-at", looked_at_text(turn.setup.boat, verdict, turn.state.evidence))
            if turn.state.cured:
                repairing.conclude_mended(turn)
            else:
                turn.conclude(node.id, node.text, Ending.HEALTHY)
        case Conclusion.STOP:
            turn.conclude(node.id, node.text, Ending.STOPPED, use=node.use)
        case Conclusion.OTHER:
            turn.conclude(node.id, node.text, Ending.ELSEWHERE, use=node.use)
