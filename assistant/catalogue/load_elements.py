"""Reading elements and conditions: the physics of a kind."""

from __future__ import annotations

from collections.abc import Mapping

from assistant.catalogue.expression import Expression, constant
from assistant.catalogue.formulas import Scope, fixed, formula_of, known, names_of
from assistant.catalogue.model import (
    PRIMITIVE_NODES,
    PRIMITIVE_PARAMETERS,
    SENSED,
    ConditionSpec,
    ElementSpec,
    Primitive,
    Sense,
)
from assistant.documents import (
    Node,
    Problems,
    Scalar,
    Sequence,
    entries_of,
    flag_of,
    items_of,
    mapping_fields,
    text_of,
)
from assistant.errors import quote
from assistant.quantities import Unit

_DEFAULTS: Mapping[Primitive, Mapping[str, float]] = {Primitive.DIODE: {"slope_v": 0.045}}
_GATES = ("when", "unless")
_SENSES = {
    Sense.VOLTS: Unit.VOLT,
    Sense.AMPS: Unit.AMP,
    Sense.WATTS: Unit.WATT,
    Sense.TRAVEL: Unit.RATIO,
    Sense.NEUTRAL: Unit.RATIO,
    Sense.HEARD: Unit.RATIO,
}


def elements_of(
    node: Node | None, scope: Scope, problems: Problems, more_names: frozenset[str] = frozenset()
) -> dict[str, ElementSpec]:
    """Return the elements of a section; their formulas may use `more_names` besides values and travels."""
    found = {}
    for key, body in entries_of(node, problems):
        element = _element(key, body, scope, problems, more_names)
        if element is not None:
            found[key.text] = element
    return found


def _element(
    key: Scalar, body: Node, scope: Scope, problems: Problems, more_names: frozenset[str]
) -> ElementSpec | None:
    entries = {name.text: value for name, value in entries_of(body, problems)}
    named = [primitive for primitive in Primitive if primitive in entries]
    if len(named) != 1:
        what = f"element {quote(key.text)} names {len(named) or 'no'} primitives"
        problems.add(key.mark, "primitive", what, f"name one of: {', '.join(Primitive)}")
        return None
    primitive = named[0]
    before = len(problems)
    optional = _DEFAULTS.get(primitive, {})
    units = PRIMITIVE_PARAMETERS[primitive]
    required = (primitive, *(name for name in units if name not in optional))
    fields = mapping_fields(body, (*optional, *_GATES), required, problems)
    names = scope.values | scope.travels | more_names
    parameters: dict[str, Expression] = {name: constant(number) for name, number in optional.items()}
    for name, unit in units.items():
        formula = formula_of(fields.get(name), unit, names, scope, problems)
        if formula is not None:
            parameters[name] = formula
    nodes = _nodes(fields.get(primitive), primitive, scope, problems)
    when, unless = (
        names_of(items_of(fields.get(gate), problems), scope.conditions, "condition", problems)
        for gate in _GATES
    )
    if len(problems) > before:
        return None
    return ElementSpec(
        name=key.text, primitive=primitive, nodes=nodes, parameters=parameters, when=when, unless=unless
    )


def _nodes(node: Node | None, primitive: Primitive, scope: Scope, problems: Problems) -> tuple[str, ...]:
    roles = PRIMITIVE_NODES[primitive]
    nodes = node_names(node, scope, problems)
    if isinstance(node, Sequence) and len(node.items) != len(roles):
        what = f"{primitive} between {len(node.items)} nodes"
        problems.add(node.mark, "nodes", what, f"name {len(roles)}: {', '.join(roles)}")
    elif isinstance(node, Sequence) and len(nodes) == len(roles) and len(set(nodes)) < len(nodes):
        problems.add(node.mark, "nodes", f"{primitive} between {', '.join(nodes)}", "name each node once")
    return nodes


def node_names(node: Node | None, scope: Scope, problems: Problems) -> tuple[str, ...]:
    """Return the names of nodes in a list: terminals, rails, or inner nodes that start with ``~``."""
    found = []
    for item in items_of(node, problems):
        text = text_of(item, problems)
        if text is not None and (text.startswith("~") or known(text, item, scope.nodes, "node", problems)):
            found.append(text)
    return tuple(found)


def conditions_of(node: Node | None, scope: Scope, problems: Problems) -> dict[str, ConditionSpec]:
    """Return the conditions of a section."""
    found = {}
    for key, body in entries_of(node, problems):
        if key.text in scope.settings:
            problems.add(
                key.mark, "condition", f"{quote(key.text)} is a setting too", "give one of them another name"
            )
            continue
        condition = _condition(key, body, scope, problems)
        if condition is not None:
            found[key.text] = condition
    return found


def _condition(key: Scalar, body: Node, scope: Scope, problems: Problems) -> ConditionSpec | None:
    entries = {name.text: value for name, value in entries_of(body, problems)}
    named = [sense for sense in _SENSES if sense in entries]
    if len(named) != 1:
        what = f"condition {quote(key.text)} watches {len(named) or 'no'} things"
        problems.add(key.mark, "condition", what, f"name one of: {', '.join(_SENSES)}")
        return None
    sense = named[0]
    before = len(problems)
    fields = mapping_fields(body, ("about", "when", "click", "takes"), (sense, "on", "off"), problems)
    of = _watched(fields.get(sense), sense, scope, problems)
    names = scope.values | scope.travels
    on, off = (formula_of(fields.get(end), _SENSES[sense], names, scope, problems) for end in ("on", "off"))
    takes = _takes(fields.get("takes"), scope, problems)
    about = text_of(fields.get("about"), problems) or ""
    when = names_of(items_of(fields.get("when"), problems), scope.conditions, "condition", problems)
    click = flag_of(fields.get("click"), problems) or False
    on_at, off_at = fixed(on), fixed(off)
    if on_at is not None and off_at is not None and off_at > on_at:
        what = f"condition {quote(key.text)} goes off above where it goes on"
        problems.add(key.mark, "hysteresis", what, "give an off that is not above on")
    if len(problems) > before:
        return None
    return ConditionSpec(
        name=key.text,
        about=about,
        sense=sense,
        of=of,
        on=on,
        off=off,
        on_s=takes["on"],
        off_s=takes["off"],
        when=when,
        click=click,
    )


def _takes(node: Node | None, scope: Scope, problems: Problems) -> Mapping[str, Expression | None]:
    """Return how long it takes to go on and off, each None where it is left out."""
    given = {} if node is None else mapping_fields(node, ("on", "off"), (), problems)
    names = scope.values | {SENSED}
    return {end: formula_of(given.get(end), Unit.SECOND, names, scope, problems) for end in ("on", "off")}


def _watched(node: Node | None, sense: Sense, scope: Scope, problems: Problems) -> tuple[str, ...]:
    if node is None:
        return ()
    if sense is Sense.VOLTS:
        nodes = node_names(node, scope, problems)
        if isinstance(node, Sequence) and len(node.items) != 2:
            problems.add(
                node.mark, "nodes", f"volts between {len(node.items)} nodes", "name two: over, under"
            )
        return nodes
    what, names = (
        ("element", scope.elements) if sense in (Sense.AMPS, Sense.WATTS) else ("input", scope.inputs)
    )
    return names_of([node], names, what, problems)


def lone_inner_nodes(
    elements: Mapping[str, ElementSpec],
    added: Mapping[str, ElementSpec],
    conditions: Mapping[str, ConditionSpec],
) -> list[tuple[str, str]]:
    """Return (element, node) for inner nodes that only this element touches: likely a slip of the pen."""
    users: dict[str, list[str]] = {}
    for name, element in {**elements, **added}.items():
        for node in element.nodes:
            users.setdefault(node, []).append(name)
    watched = {
        node for condition in conditions.values() if condition.sense is Sense.VOLTS for node in condition.of
    }
    return [
        (names[0], node)
        for node, names in users.items()
        if node.startswith("~") and len(names) == 1 and node not in watched
    ]
