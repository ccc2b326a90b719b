"""Rules about what arrives: the receiver's rail, regulators, volt drop, negatives, polarity, and what drops out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Final

import networkx as nx
import numpy as np

from assistant.catalogue import Expression, Group, Kind, Primitive, Sense, Side, Source
from assistant.plan.cases import Array, Case, Plan, nominal, parts_in
from assistant.plan.feeds import conducting, fed_parts, is_wired, pack_ends, reached, side_of, supply_of
from assistant.plan.finding import Finding, Severity
from assistant.plan.making import finding, memory, practice
from assistant.quantities import Unit, how_often, show
from assistant.wiring import Boat, Point, label_of

_LINEAR: Final = 0.01
_BESIDE_C: Final = 105.0
_BESIDE: Final = practice("capacitors beside it bear 105 degC at most")
_ONE: Final = practice(
    "one regulator for a receiver; the one with the higher volts carries all, the others fight it"
)
_DROP: Final = 0.10
_DROP_SOURCE: Final = memory("ISO 13297 and ABYC E-11: at most 10 % lost between pack and load")
_BACKWARDS_V: Final = -0.5
_LIVE_V: Final = 0.5


def several_regulators(plan: Plan) -> Iterator[Finding]:
    """Yield receivers that more than one regulator feeds."""
    boat = plan.boat
    graph = conducting(boat)
    for receiver in parts_in(boat, Group.RADIO):
        rail = side_of(boat, receiver, Side.POSITIVE)
        if rail is None:
            continue
        together = reached(graph, rail)
        feeding = [p for p, out in regulators(boat).items() if Point(part=p, terminal=out[1]) in together]
        if len(feeding) > 1:
            yield finding(
                boat,
                "several regulators",
                receiver,
                severity=Severity.TROUBLE,
                says=f"more than one regulator feeds its supply, {_listed(boat, feeding)}",
                number=(float(len(feeding)), Unit.COUNT),
                limit=1.0,
                source=_ONE,
                remedy="Take the red wire out of the channel plugs of all but one.",
            )


def _listed(boat: Boat, parts: Sequence[str]) -> str:
    return " and ".join(label_of(boat, part) for part in parts)


def regulators(boat: Boat) -> Mapping[str, tuple[str, str]]:
    """Return the parts that regulate a voltage, with the element's name and its output terminal."""
    return {
        part.id: (element.name, element.nodes[2])
        for part in boat.parts.values()
        for element in part.kind.elements.values()
        if element.primitive is Primitive.REGULATOR and _regulates(boat, part.id, element.name)
    }


def _regulates(boat: Boat, part: str, name: str) -> bool:
    kind = boat.parts[part].kind
    return bool(kind.elements[name].parameters["set_v"](nominal(boat, part), kind.curves) > 0.0)


def regulator_heat(plan: Plan) -> Iterator[Finding]:
    """Yield linear regulators that get too hot, with the temperature they come to or would come to."""
    boat, case = plan.boat, plan.full
    for part, celsius in regulator_temperatures(plan).items():
        stops_c = nominal(boat, part)["bec_stop"]
        if celsius > _BESIDE_C:
            yield finding(
                boat,
                "regulator heat",
                part,
                severity=Severity.DANGER if celsius > stops_c else Severity.TROUBLE,
                says="its linear regulator burns off the difference between pack and receiver volts"
                + (", shuts down hot and starts again over and over" if celsius > stops_c else ""),
                number=(celsius, Unit.CELSIUS),
                limit=_BESIDE_C,
                when=case.title,
                source=_BESIDE,
                remedy="Feed the receiver from a switching regulator, or use fewer cells.",
            )


def regulator_temperatures(plan: Plan) -> Mapping[str, float]:
    """Return the temperature (degC) that each linear regulator comes to in the air of its hull."""
    boat, case = plan.boat, plan.full
    found = {}
    for part, (name, out) in regulators(boat).items():
        kind, values = boat.parts[part].kind, nominal(boat, part)
        spec = kind.elements[name]
        if float(spec.parameters["efficiency"](values, kind.curves)) <= _LINEAR:
            watts = float((case.across(part, spec.nodes[0], out) * case.element(part, name)).max())
            found[part] = values["bec_air"] + values["bec_heat"] * watts
    return found


def receiver_rail(plan: Plan) -> Iterator[Finding]:
    """Yield receivers whose supply falls too far when every servo is held fast on a low pack."""
    boat, case = plan.boat, plan.servos
    for receiver in parts_in(boat, Group.RADIO):
        spec = boat.parts[receiver].kind.values.get("brownout_v")
        rail = supply_of(boat, receiver)
        if spec is None or rail is None:
            continue
        limit = nominal(boat, receiver)["brownout_v"] * (1.0 + spec.tolerance)
        volts = float((case.at(rail[0]) - case.at(rail[1])).min())
        if volts < limit:
            yield finding(
                boat,
                "receiver rail",
                receiver,
                severity=Severity.DANGER,
                says="its supply falls so low that it drops out, and nobody steers",
                number=(volts, Unit.VOLT),
                limit=limit,
                when=case.title,
                source=spec.source,
                remedy="Use a regulator with a higher current, or a separate receiver pack; free stiff servos.",
            )


def servo_rail(plan: Plan) -> Iterator[Finding]:
    """Yield servos whose own supply falls too far when every servo is held fast on a low pack."""
    boat, case = plan.boat, plan.servos
    for servo in fed_parts(boat, Group.SERVO):
        supply, spec = supply_of(boat, servo), boat.parts[servo].kind.values.get("min_v")
        if supply is None or spec is None:
            continue
        limit = nominal(boat, servo)["min_v"]
        volts = float((case.at(supply[0]) - case.at(supply[1])).min())
        if volts < limit:
            yield finding(
                boat,
                "servo rail",
                servo,
                severity=Severity.TROUBLE,
                says="held fast, the servos pull their own supply so low that they let go",
                number=(volts, Unit.VOLT),
                limit=limit,
                when=case.title,
                source=spec.source,
                remedy="Use a regulator with a higher current; free stiff linkages and limit the travel.",
            )


def volt_drop(plan: Plan) -> Iterator[Finding]:
    """Yield feeds that lose too much between pack and load, with the place that loses most."""
    for part, drop_v, share, worst in feed_drops(plan):
        if share > _DROP:
            yield finding(
                plan.boat,
                "volt drop",
                part,
                severity=Severity.TROUBLE,
                says=f"its feed loses {show(drop_v, Unit.VOLT)}, most of it in {label_of(plan.boat, worst)}",
                number=(share, Unit.RATIO),
                limit=_DROP,
                when=plan.full.title,
                source=_DROP_SOURCE,
                remedy="Use thicker or shorter leads, or better joints and contacts, there first.",
            )


def feed_drops(plan: Plan) -> Iterator[tuple[str, float, float, str]]:
    """Yield each part fed straight from a pack: lost volts, their share of the pack's, and where most is lost."""
    boat, case = plan.boat, plan.full
    graph = conducting(boat)
    groups = (Group.MOTOR, Group.LIGHT, Group.INSTRUMENT, Group.DRIVE, Group.CONVERTER)
    for part in fed_parts(boat, *groups):
        supply = supply_of(boat, part)
        if supply is None:
            continue
        plus = _source_end(boat, graph, supply[0], Side.POSITIVE)
        minus = _source_end(boat, graph, supply[1], Side.NEGATIVE)
        if plus is None or minus is None:
            continue
        given = case.at(plus) - case.at(minus)
        arriving = case.at(supply[0]) - case.at(supply[1])
        running = np.where(arriving > 0.0, (given - arriving) / np.maximum(given, 1e-9), 0.0)
        running = np.where(arriving > _LIVE_V * given, running, 0.0)
        phase = int(np.argmax(running))
        losses = _losses(case, graph, ((plus, supply[0]), (minus, supply[1])), phase)
        if losses:
            worst = max(losses, key=lambda name: losses[name])
            yield part, float((given - arriving)[phase]), float(running[phase]), worst


def _source_end(boat: Boat, graph: nx.MultiGraph[Point], end: Point, side: Side) -> Point | None:
    """Return the pack terminal that feeds a point, or None."""
    together = reached(graph, end)
    return next((p for p in pack_ends(boat, side) if p in together), None)


def _losses(
    case: Case, graph: nx.MultiGraph[Point], ways: Iterable[tuple[Point, Point]], phase: int
) -> dict[str, float]:
    losses: dict[str, float] = {}
    for start, end in ways:
        path = nx.shortest_path(graph, start, end)
        for one, other in pairwise(path):
            part = next(iter(graph[one][other].values()))["part"]
            lost = abs(float((case.at(one) - case.at(other))[phase]))
            losses[part] = losses.get(part, 0.0) + lost
    return losses


def missing_negative(plan: Plan) -> Iterator[Finding]:
    """Yield parts whose positive is wired but whose negative is not, so that current comes back elsewhere."""
    boat = plan.boat
    for part in fed_parts(boat, *(g for g in Group if g not in {Group.RADIO, Group.SERVO})):
        supply = supply_of(boat, part)
        if supply is None or not is_wired(boat, supply[0]) or is_wired(boat, supply[1]):
            continue
        thin = [lead for lead in boat.leads.values() if lead.cable and lead.ends[1].part == part]
        back_a = max((float(abs(plan.full.element(lead.id, "copper")).max()) for lead in thin), default=0.0)
        yield finding(
            boat,
            "missing negative",
            part,
            severity=Severity.DANGER,
            says=f"nothing is wired to its {supply[1].terminal}; its current has to come back through thin leads",
            number=(back_a, Unit.AMP) if thin else None,
            when=plan.full.title if thin else "",
            source=practice("every part needs its own way back to the pack"),
            remedy=f"Add the lead from {part} {supply[1].terminal} to the pack's negative.",
        )


def reversed_parts(plan: Plan) -> Iterator[Finding]:
    """Yield parts whose negative stands above their positive."""
    boat, case = plan.boat, plan.usual
    wiring = {Group.MOTOR, Group.PACK, Group.WIRE, Group.JOINT, Group.JUNCTION, Group.FUSE, Group.SWITCH}
    for part in fed_parts(boat, *(g for g in Group if g not in wiring)):
        supply = supply_of(boat, part)
        if supply is None:
            continue
        volts = float((case.at(supply[0]) - case.at(supply[1])).min())
        if volts < _BACKWARDS_V:
            yield finding(
                boat,
                "reversed part",
                part,
                severity=Severity.DANGER,
                says="its negative stands above its positive",
                number=(volts, Unit.VOLT),
                limit=0.0,
                when=case.title,
                source=practice("positive to positive"),
                remedy=f"Swap the leads at {part} {supply[0].terminal} and {part} {supply[1].terminal}.",
            )


def never_fed(plan: Plan) -> Iterator[Finding]:
    """Yield parts that get no volts whatever is switched on."""
    boat, case = plan.boat, plan.full
    groups = (Group.MOTOR, Group.LIGHT, Group.INSTRUMENT, Group.RADIO, Group.SERVO, Group.DRIVE)
    for part in fed_parts(boat, *groups):
        supply = supply_of(boat, part)
        if supply is None:
            continue
        volts = float(abs(case.at(supply[0]) - case.at(supply[1])).max())
        if volts < _LIVE_V:
            yield finding(
                boat,
                "never fed",
                part,
                severity=Severity.TROUBLE,
                says="it gets no volts, whatever is switched on",
                number=(volts, Unit.VOLT),
                when=case.title,
                source=practice("a part needs a closed way from the pack and back"),
                remedy="Look for the lead that is not described, or for a contact that never closes.",
            )


def dropouts(plan: Plan) -> Iterator[Finding]:
    """Yield what works on a full pack but drops out, or never comes to rest, on a low one."""
    boat = plan.boat
    told: set[str] = set()
    for number, condition in enumerate(plan.full.network.conditions):
        kind = boat.parts[condition.part].kind
        if condition.sense not in {Sense.VOLTS, Sense.AMPS} or "cutoff_v" in condition.off.names:
            continue
        restless = next((c for c in (plan.full, plan.low) if c.restless[number]), None)
        lost = plan.full.conditions[number] & ~plan.low.conditions[number]
        if condition.part in told or not (restless or lost.any()):
            continue
        told.add(condition.part)
        case = restless or plan.low
        about = kind.conditions[condition.name].about
        values = _sensed(case, number)
        threshold = float(condition.off(nominal(boat, condition.part), kind.curves))
        volts = condition.sense is Sense.VOLTS
        yield finding(
            boat,
            "drops out",
            condition.part,
            severity=Severity.TROUBLE,
            says=f"{_unrest_words(restless, number)} ({about})" if restless else f"it drops out ({about})",
            number=(float(values.min()), Unit.VOLT if volts else Unit.AMP),
            limit=threshold,
            when=case.title,
            source=_threshold_source(kind, condition.off),
            remedy="Feed it before the heavy loads with leads of its own, or by a converter; or recharge sooner.",
        )


def _unrest_words(case: Case, number: int) -> str:
    turn_s = float(case.turn_s[number])
    rate = "" if np.isnan(turn_s) else f", {how_often(turn_s)}"
    return f"it goes on and off without end{rate}"


def unarmed(plan: Plan) -> Iterator[Finding]:
    """Yield drives that hear their channel but are told too far off neutral, with the sticks let go, ever to run."""
    boat, case = plan.boat, plan.usual
    for condition, held in zip(case.network.conditions, case.conditions, strict=True):
        gates = case.conditions[list(condition.when)]
        if condition.sense is Sense.NEUTRAL and gates.any() and not held.any():
            kind = boat.parts[condition.part].kind
            yield finding(
                boat,
                "never arms",
                condition.part,
                severity=Severity.TROUBLE,
                says="with the sticks let go it is told too far off neutral, so it waits and never runs",
                when=case.title,
                source=_threshold_source(kind, condition.on),
                remedy="Bring trim and mix of its channel back until it is told neutral with the sticks let go.",
            )


def _threshold_source(kind: Kind, threshold: Expression) -> Source:
    """Return where the first value that a threshold is made of comes from."""
    named = [name for name in kind.values if name in threshold.names]
    return kind.values[named[0]].source if named else practice(f"what a {kind.name} needs")


def _sensed(case: Case, number: int) -> Array:
    condition = case.network.conditions[number]
    if condition.sense is Sense.AMPS:
        return np.asarray(case.amps[condition.of[0]])
    return np.asarray(case.volts[condition.of[0]] - case.volts[condition.of[1]])
