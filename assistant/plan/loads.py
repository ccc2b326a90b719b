"""Rules about what parts stand: their ratings in the worst case, surges, shared bridges, lights, suppression."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Final

import networkx as nx

from assistant.catalogue import Group, Primitive, RatingSpec, Side
from assistant.plan.cases import Array, Case, Plan, nominal, parts_in
from assistant.plan.feeds import fed_parts, side_of, supply_of
from assistant.plan.finding import Finding, Severity
from assistant.plan.making import finding, practice
from assistant.quantities import Unit
from assistant.wiring import Boat, Point, as_graph

_CONTACT_SURGE: Final = 2.0
_SURGE: Final = practice("a contact stands twice its rating for a moment")
_RESISTOR_W: Final = 0.25
_RESISTOR: Final = practice("small resistors are made for a quarter of a watt")
_STARVED: Final = 0.6
_SHARE: Final = practice("below 60 % of its rated volts a motor hardly pushes")
_DIM: Final = 0.3
_BRIGHT: Final = practice("below 30 % of its current an LED is dim in daylight")

_REMEDIES: Final[Mapping[Group, str]] = MappingProxyType(
    {
        Group.PACK: "Use a pack with more capacity or two alike in parallel, or smaller motors.",
        Group.WIRE: "Use a thicker lead.",
        Group.SWITCH: "Use a switch with a higher rating, or let it command a relay.",
        Group.RELAY: "Use a relay or switch with a higher rating.",
        Group.DRIVE: "Use a bigger drive, or a smaller motor or propeller.",
        Group.MOTOR: "Use fewer cells, or a motor made for this voltage.",
        Group.CONVERTER: "Use a bigger module, or a second one for a part of the load.",
        Group.LIGHT: "Choose the lamp or the series resistor for the full pack.",
    }
)
_OTHER: Final = "Use a part that stands it, or fewer cells."


def ratings(plan: Plan) -> Iterator[Finding]:
    """Yield every part that is beyond a rating of its kind with everything running, pack full or low."""
    boat = plan.boat
    for part in boat.parts.values():
        if part.kind.group is Group.FUSE:
            continue
        for name, spec in part.kind.ratings.items():
            limit = float(spec.limit(nominal(boat, part.id), part.kind.curves))
            worst = max((_worst(case, part.id, name), case.title) for case in (plan.low, plan.full))
            if worst[0] > limit:
                yield _beyond(boat, part.id, name, spec, limit, worst)


def _beyond(
    boat: Boat, part: str, name: str, spec: RatingSpec, limit: float, worst: tuple[float, str]
) -> Finding:
    group = boat.parts[part].kind.group
    volts = name.endswith("volts")
    return finding(
        boat,
        "ratings",
        part,
        severity=Severity.DANGER if volts and group is not Group.MOTOR else Severity.TROUBLE,
        says=f"{spec.about} is beyond what it stands",
        number=(worst[0], Unit.VOLT if volts else Unit.AMP),
        limit=limit,
        when=worst[1],
        source=spec.source,
        remedy=_REMEDIES.get(group, _OTHER),
    )


def _worst(case: Case, part: str, name: str) -> float:
    """Return the largest volts or amps that a rating speaks of, whatever their sign."""
    owner, _, what = name.rpartition(".")
    if owner and what == "amps":
        return float(abs(case.element(part, owner)).max())
    if owner:
        nodes = case.network.boat.parts[part].kind.elements[owner].nodes
        return float(abs(case.across(part, nodes[0], nodes[1])).max())
    if what == "volts":
        supply = supply_of(case.network.boat, part)
        return 0.0 if supply is None else float(abs(case.at(supply[0]) - case.at(supply[1])).max())
    return float(abs(main_amps(case, part)).max())


def main_amps(case: Case, part: str) -> Array:
    """Return the current through a part: into its first main terminal, through a wire, or into a pack."""
    boat = case.network.boat
    kind = boat.parts[part].kind
    if kind.group is Group.WIRE:
        return case.element(part, "copper")
    terminal = (
        Point(part=part, terminal=kind.through[0]) if kind.through else side_of(boat, part, Side.POSITIVE)
    )
    if terminal is None:
        raise AssertionError(f"{kind.name} has no main terminal to count current at")
    return case.into(terminal)


def surges(plan: Plan) -> Iterator[Finding]:
    """Yield switches and relays whose contacts would have to carry held-fast motors."""
    boat, case = plan.boat, plan.stall
    for part in parts_in(boat, Group.SWITCH, Group.RELAY):
        values = nominal(boat, part)
        amps = float(abs(main_amps(case, part)).max())
        if "rating_a" in values and amps > _CONTACT_SURGE * values["rating_a"]:
            yield finding(
                boat,
                "surge",
                part,
                severity=Severity.TROUBLE,
                says="held-fast or starting motors drive so much through its contacts that they may weld",
                number=(amps, Unit.AMP),
                limit=_CONTACT_SURGE * values["rating_a"],
                when=case.title,
                source=_SURGE,
                remedy="Use contacts with a higher rating, or a fuse that opens sooner.",
            )


def shared_bridges(plan: Plan) -> Iterator[Finding]:
    """Yield motors that get too little because they share a drive with others."""
    boat, case = plan.boat, plan.full
    for drive, motors in _motors_by_drive(boat).items():
        for motor in motors if len(motors) > 1 else ():
            volts = float(abs(case.across(motor, "+", "-")).max())
            rated_v = nominal(boat, motor)["rated_v"]
            if volts < _STARVED * rated_v:
                yield finding(
                    boat,
                    "shared bridge",
                    motor,
                    severity=Severity.TROUBLE,
                    says=f"it shares {drive.replace('-', ' ')} with other motors and is left with too few volts",
                    number=(volts, Unit.VOLT),
                    limit=_STARVED * rated_v,
                    when=case.title,
                    source=_SHARE,
                    remedy="Put the motors side by side on the drive instead of in a row, or give each its own.",
                )


def _motors_by_drive(boat: Boat) -> Mapping[str, tuple[str, ...]]:
    """Return the motors that hang on each drive's outputs, through wires, diodes and each other."""
    graph = nx.Graph(as_graph(boat))
    drives = parts_in(boat, Group.DRIVE)
    supplies = [p for p in graph.nodes if p.part in drives and p.terminal in {"+", "-", "r", "b", "s"}]
    graph.remove_nodes_from(supplies)
    found: dict[str, tuple[str, ...]] = {}
    for drive in drives:
        outputs = [t.name for t in boat.parts[drive].kind.terminals.values() if t.side is Side.OUTPUT]
        points = set().union(
            *(nx.node_connected_component(graph, Point(part=drive, terminal=t)) for t in outputs)
        )
        found[drive] = tuple(m for m in parts_in(boat, Group.MOTOR) if any(p.part == m for p in points))
    return found


def suppression(plan: Plan) -> Iterator[Finding]:
    """Yield motors without suppression capacitors."""
    boat = plan.boat
    for motor in parts_in(boat, Group.MOTOR):
        kind = boat.parts[motor].kind
        spec = kind.values.get("suppressor")
        if spec is not None and nominal(boat, motor)["suppressor"] == spec.choices["missing"]:
            yield finding(
                boat,
                "suppression",
                motor,
                severity=Severity.NOTE,
                says="its brushes have no suppression capacitors; servos may twitch while it runs",
                source=spec.source,
                remedy="Solder 100 nF from each brush to the can and from brush to brush.",
            )


def resistors(plan: Plan) -> Iterator[Finding]:
    """Yield series and other resistors that get hot."""
    boat, case = plan.boat, plan.full
    for part in boat.parts.values():
        for name in (n for n in ("resistor", "body") if n in part.kind.elements):
            if (
                part.kind.elements[name].primitive is not Primitive.RESISTANCE
                or part.kind.group is Group.FUSE
            ):
                continue
            value = "series_ohm" if name == "resistor" else "body_ohm"
            watts = float((case.element(part.id, name) ** 2).max() * nominal(boat, part.id)[value])
            if watts > _RESISTOR_W:
                yield finding(
                    boat,
                    "resistor power",
                    part.id,
                    severity=Severity.TROUBLE,
                    says="its resistor gets hotter than a small one stands",
                    number=(watts, Unit.WATT),
                    limit=_RESISTOR_W,
                    when=case.title,
                    source=_RESISTOR,
                    remedy=f"Use a resistor rated {2 * watts:.2g} W or more, free in air.",
                )


def dim_leds(plan: Plan) -> Iterator[Finding]:
    """Yield LEDs that get too little current to be seen."""
    boat, case = plan.boat, plan.usual
    for part in fed_parts(boat, Group.LIGHT):
        values = nominal(boat, part)
        if "led_a" not in values or "chain" not in boat.parts[part].kind.elements:
            continue
        amps = float(case.element(part, "chain").max())
        if amps < _DIM * values["led_a"]:
            yield finding(
                boat,
                "dim LED",
                part,
                severity=Severity.NOTE,
                says="so little current flows that the LEDs stay dim",
                number=(amps, Unit.AMP),
                limit=_DIM * values["led_a"],
                when=case.title,
                source=_BRIGHT,
                remedy="Put fewer LEDs in a row, or choose the resistor for the volts there really are.",
            )
