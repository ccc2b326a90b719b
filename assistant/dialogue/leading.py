"""Which faults some symptom leads to, told from the kinds alone, without any boat.

A fault that changes volts or amperes shows wherever current goes on its way, so a symptom that narrows down
finds it in whatever lies on the feed of its roles; in a part that only takes current, a role must be able to
be that part. A fault that leaves all currents alone (a fuse that merely looks whole, a loose arm) must at
least change a sign of its part, or the noise that a sign of another part is made of.  A setting of the radio
has neither current nor sign: it shows by whatever listens to a channel.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from assistant.catalogue import NOISE, Catalogue, Expression, FaultSpec, Group, Kind
from assistant.dialogue.graph import ConcludeNode, Conclusion, NarrowNode, Role, SymptomGraph

_TAKERS = frozenset({Group.MOTOR, Group.SERVO, Group.LIGHT, Group.RADIO, Group.INSTRUMENT})
"""Groups of parts that nothing else hangs behind."""


def unled_faults(
    symptoms: Mapping[str, SymptomGraph], catalogue: Catalogue
) -> Iterator[tuple[Kind, FaultSpec]]:
    """Yield every fault of every kind that no symptom leads to."""
    graphs = [graph for graph in symptoms.values() if _accuses(graph)]
    roles = [role for graph in graphs for role in graph.roles.values()]
    hears_noise = any(_hears_noise(kind) for kind in catalogue.kinds.values() if _fills(kind, roles))
    commanded = any(kind.inputs and _fills(kind, roles) for kind in catalogue.kinds.values())
    for kind in catalogue.kinds.values():
        if kind.group is Group.SETTING and commanded:
            continue
        reached = _fills(kind, roles)
        on_a_feed = kind.group not in _TAKERS and any(
            role.feeds or role.group is Group.PACK for role in roles
        )
        for fault in kind.faults.values():
            changed = frozenset((*fault.values, *fault.always, *fault.never))
            electric = changes_current(kind, fault)
            led = reached and (electric or _shows(kind, changed))
            heard = hears_noise and kind.noise is not None and _uses(kind, [kind.noise], changed)
            if not (led or heard or (on_a_feed and electric)):
                yield kind, fault


def changes_current(kind: Kind, fault: FaultSpec) -> bool:
    """Tell whether a fault changes volts or amperes anywhere."""
    if fault.open or fault.short or fault.add or fault.always or fault.never:
        return True
    parameters = [p for element in kind.elements.values() for p in element.parameters.values()]
    limits = [limit for c in kind.conditions.values() for limit in (c.on, c.off) if limit is not None]
    lost = [given.lost_travel for given in kind.inputs.values()]
    slots = [kind.slots.logic_v, kind.slots.frame_ms, kind.slots.source_ohm] if kind.slots else []
    return _uses(kind, [*parameters, *limits, *lost, *slots], frozenset(fault.values))


def _accuses(graph: SymptomGraph) -> bool:
    ends = (node for node in graph.nodes.values() if isinstance(node, ConcludeNode))
    narrows = any(isinstance(node, NarrowNode) for node in graph.nodes.values())
    return narrows or any(node.conclusion is Conclusion.VERDICT for node in ends)


def _fills(kind: Kind, roles: Iterable[Role]) -> bool:
    return any(kind.group is role.group and (not role.shows or role.shows in kind.signs) for role in roles)


def _shows(kind: Kind, changed: frozenset[str]) -> bool:
    return any(_uses(kind, _formulas(kind, name), changed) for name in kind.signs)


def _formulas(kind: Kind, sign: str) -> list[Expression]:
    spec = kind.signs[sign]
    return [spec.of, *spec.cuts, *([spec.chance] if spec.chance is not None else [])]


def _hears_noise(kind: Kind) -> bool:
    return any(NOISE in formula.names for name in kind.signs for formula in _formulas(kind, name))


def _uses(kind: Kind, formulas: Iterable[Expression], names: frozenset[str]) -> bool:
    """Tell whether formulas rest on any of these names, by way of the defaults of other values too."""
    resting = set(names)
    for _ in kind.values:
        defaults = ((name, value.default) for name, value in kind.values.items() if value.default is not None)
        resting |= {name for name, default in defaults if resting & set(default.names)}
    return any(resting & set(formula.names) for formula in formulas)
