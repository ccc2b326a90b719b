"""The boat as a network: nodes, elements, conditions and signal inputs, with every reference resolved.

Every terminal, wire end and inner node of a part is a node.  Joints lie between a terminal and a wire end, so each
lead is three resistances in a row and every place that can go bad lies between two points.  Elements that exist only
in a fault are in the network too, absent until a variant asks for them.  Where they tie nodes together that nothing
ties in the sound boat, the structure without them is kept beside the whole one, for all variants that do not need it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from assistant.catalogue import (
    TRANSMITTER,
    ConditionSpec,
    ElementSpec,
    Expression,
    InputSpec,
    Primitive,
    Sense,
    constant,
    slot_of,
)
from assistant.circuit.elimination import Pattern, make_pattern, widened
from assistant.errors import CircuitError
from assistant.wiring import Boat, Part, Point, cable_id, core_of, terminals_of

SHORT_OHM = 0.005
INPUT_OHM = 47_000.0
SLOT_OHM = 0.005
HEARD_ON = 0.6
HEARD_OFF = 0.4
HEARD_MOST = 5.0
"""By how many times its pulses' mean a signal may stand high and still be pulses: they are up for a tenth of the time,
so about half of their height is more than pulses make: something holds the line up (common practice, no source)."""
HEARD_S = 0.04
"""How long a device takes to trust pulses, or to miss them: two frames (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """A primitive between nodes.

    Attributes
    ----------
    nodes : node numbers in the order of the primitive.
    when, unless : condition numbers that gate it.
    fault : (part, fault) in which alone it exists, or None.
    opened_by : faults of its part in which it is gone.
    slot : the receiver slot whose pulses it makes, or None.
    """

    part: str
    name: str
    primitive: Primitive
    nodes: tuple[int, ...]
    parameters: Mapping[str, Expression]
    when: tuple[int, ...]
    unless: tuple[int, ...]
    fault: str | None
    opened_by: frozenset[str]
    slot: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """A discrete state with what it watches resolved to numbers.

    `of` holds two node numbers (volts), one element number (amps, watts), one input number (travel, neutral, heard)
    or nothing (setting: then `setting` is its key in the boat state).  `on_s` and `off_s` tell how long it takes to
    change, over the part's values and what it watches.
    """

    part: str
    name: str
    sense: Sense
    of: tuple[int, ...]
    setting: str
    on: Expression
    off: Expression
    on_s: Expression
    off_s: Expression
    when: tuple[int, ...]
    click: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """A signal input of a device, and the channel whose pulses its lead brings (0 when none is plugged in)."""

    part: str
    spec: InputSpec
    signal: int
    negative: int
    channel: int
    heard: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """The whole network of a boat.

    The last node is the reference all voltages count from: the negative of the first pack.  `by_part` are the
    numbers of the elements of each part that has some.  `pattern` is that of all
    elements, `sound` that of those which are not of a fault alone; what it keeps comes first in `pattern`.
    """

    boat: Boat
    nodes: tuple[Point, ...]
    number: Mapping[Point, int]
    elements: tuple[Element, ...]
    by_part: Mapping[str, tuple[int, ...]]
    conditions: tuple[Condition, ...]
    inputs: tuple[Input, ...]
    parts: Mapping[str, Part]
    pattern: Pattern
    sound: Pattern

    def node(self, point: Point) -> int:
        """Return the node number of a point, or raise `CircuitError`."""
        try:
            return self.number[point]
        except KeyError:
            raise CircuitError(value=str(point), reason="the boat has no such point") from None

    def elements_of(self, part: str) -> tuple[int, ...]:
        """Return the numbers of the elements of a part."""
        return self.by_part.get(part, ())


def by_part(elements: Sequence[Element]) -> Mapping[str, tuple[int, ...]]:
    """Return the numbers of the elements of each part that has some."""
    found: dict[str, list[int]] = {}
    for number, element in enumerate(elements):
        found.setdefault(element.part, []).append(number)
    return MappingProxyType({part: tuple(numbers) for part, numbers in found.items()})


class _Builder:
    def __init__(self, boat: Boat) -> None:
        self.boat = boat
        self.number: dict[Point, int] = {}
        self.elements: list[Element] = []
        self.conditions: list[Condition] = []
        self.inputs: list[Input] = []
        self.condition_number: dict[tuple[str, str], int] = {}
        self.input_number: dict[tuple[str, str], int] = {}
        self.element_number: dict[tuple[str, str], int] = {}
        self.joint_ends = dict(_joint_ends(boat))

    def point(self, part: str, name: str) -> Point:
        return self.joint_ends.get((part, name), Point(part=part, terminal=name))

    def node(self, part: str, name: str) -> int:
        return self.number[self.point(part, name)]

    def number_nodes(self, reference: Point) -> None:
        for part in self.boat.parts.values():
            for name in _node_names(part, self.boat):
                point = self.point(part.id, name)
                if point != reference:
                    self.number.setdefault(point, len(self.number))
        self.number[reference] = len(self.number)

    def element(self, part: Part, spec: ElementSpec, fault: str | None, slot: int | None = None) -> None:
        opened = frozenset(f.name for f in part.kind.faults.values() if spec.name in f.open)
        self.element_number.setdefault((part.id, spec.name), len(self.elements))
        self.elements.append(
            Element(
                part=part.id,
                name=spec.name,
                primitive=spec.primitive,
                nodes=tuple(self.node(part.id, n) for n in spec.nodes),
                parameters=spec.parameters,
                when=tuple(self.condition_number[part.id, c] for c in spec.when),
                unless=tuple(self.condition_number[part.id, c] for c in spec.unless),
                fault=fault,
                opened_by=opened,
                slot=slot,
            )
        )

    def name_conditions(self, part: Part) -> None:
        names = [*part.kind.settings, *(f"{i}.heard" for i in part.kind.inputs), *part.kind.conditions]
        for name in names:
            self.condition_number[part.id, name] = len(self.condition_number)

    def add_inputs(self, part: Part) -> None:
        channels = {(c.device, c.input): c.number for c in self.boat.radio.channels.values()}
        for name, spec in part.kind.inputs.items():
            self.input_number[part.id, name] = len(self.inputs)
            self.inputs.append(
                Input(
                    part=part.id,
                    spec=spec,
                    signal=self.node(part.id, spec.signal),
                    negative=self.node(part.id, spec.negative),
                    channel=channels.get((part.id, name), 0),
                    heard=self.condition_number[part.id, f"{name}.heard"],
                )
            )

    def add_elements(self, part: Part) -> None:
        kind = part.kind
        for spec in kind.elements.values():
            self.element(part, spec, None)
        for fault in kind.faults.values():
            for spec in fault.add:
                self.element(part, replace(spec, name=f"{fault.name}/{spec.name}"), fault.name)
            for name in fault.short:
                one, two = kind.elements[name].nodes[:2]
                self.element(part, _resistance(f"{fault.name}/{name} short", one, two, SHORT_OHM), fault.name)
        for given in kind.inputs.values():
            name = f"{given.name} input"
            self.element(part, _resistance(name, given.signal, given.negative, INPUT_OHM), None)
        self.add_slots(part)

    def add_slots(self, part: Part) -> None:
        slots = part.kind.slots
        if slots is None:
            return
        used = {c.number for c in self.boat.radio.channels.values() if c.receiver == part.id}
        pins = (slot_of(name) for name in terminals_of(self.boat, part.id))
        for n in sorted({pin[0] for pin in pins if pin is not None}):
            if n in used:
                pulse = ElementSpec(
                    name=f"slot {n}",
                    primitive=Primitive.EMF,
                    nodes=(f"{n}s", slots.negative),
                    parameters=MappingProxyType({"volts": slots.logic_v, "ohm": slots.source_ohm}),
                    when=slots.when,
                )
                self.element(part, pulse, None, slot=n)
            self.element(part, _resistance(f"slot {n} +", slots.positive, f"{n}+", SLOT_OHM), None)
            self.element(part, _resistance(f"slot {n} -", f"{n}-", slots.negative, SLOT_OHM), None)

    def add_conditions(self, part: Part) -> None:
        for name in part.kind.settings:
            self.conditions.append(_setting_condition(part.id, name, f"{part.id}.{name}"))
        for name in part.kind.inputs:
            number = self.input_number[part.id, name]
            self.conditions.append(
                Condition(
                    part=part.id,
                    name=f"{name}.heard",
                    sense=Sense.HEARD,
                    of=(number,),
                    setting="",
                    on=constant(HEARD_ON),
                    off=constant(HEARD_OFF),
                    on_s=constant(HEARD_S),
                    off_s=constant(HEARD_S),
                    when=(),
                    click=False,
                )
            )
        for spec in part.kind.conditions.values():
            self.conditions.append(self.condition(part, spec))

    def condition(self, part: Part, spec: ConditionSpec) -> Condition:
        of: tuple[int, ...]
        if spec.sense is Sense.VOLTS:
            of = tuple(self.node(part.id, n) for n in spec.of)
        elif spec.sense in (Sense.AMPS, Sense.WATTS):
            of = (self.element_number[part.id, spec.of[0]],)
        elif spec.sense is Sense.SETTING:
            key = TRANSMITTER if spec.of[0] == TRANSMITTER else f"{part.id}.{spec.of[0]}"
            return _setting_condition(part.id, spec.name, key)
        else:
            of = (self.input_number[part.id, spec.of[0]],)
        return Condition(
            part=part.id,
            name=spec.name,
            sense=spec.sense,
            of=of,
            setting="",
            on=spec.on if spec.on is not None else constant(0.5),
            off=spec.off if spec.off is not None else constant(0.5),
            on_s=spec.on_s if spec.on_s is not None else constant(0.0),
            off_s=spec.off_s if spec.off_s is not None else constant(0.0),
            when=tuple(self.condition_number[part.id, c] for c in spec.when),
            click=spec.click,
        )


def build_network(boat: Boat) -> Network:
    """Return the network of a described boat.

    Raises
    ------
    CircuitError
        When the boat has no pack to count voltages from.
    """
    builder = _Builder(boat)
    builder.number_nodes(_reference(boat))
    for part in boat.parts.values():
        builder.name_conditions(part)
    for part in boat.parts.values():
        builder.add_inputs(part)
    for part in boat.parts.values():
        builder.add_elements(part)
    for part in boat.parts.values():
        builder.add_conditions(part)
    nodes = tuple(builder.number)
    sound, pattern = _patterns(len(nodes), builder.elements, builder.conditions)
    return Network(
        boat=boat,
        nodes=nodes,
        number=MappingProxyType(builder.number),
        elements=tuple(builder.elements),
        by_part=by_part(builder.elements),
        conditions=tuple(builder.conditions),
        inputs=tuple(builder.inputs),
        parts=boat.parts,
        pattern=pattern,
        sound=sound,
    )


def _patterns(size: int, elements: list[Element], conditions: list[Condition]) -> tuple[Pattern, Pattern]:
    """Return the elimination patterns of all nodes but the last, the reference: of the sound boat, and of any."""
    couplings: dict[bool, list[list[int]]] = {True: [], False: []}
    late: set[int] = set()
    for element in elements:
        group = [n for n in element.nodes if n != size - 1]
        couplings[element.fault is None].append(group)
        if is_changing(element, conditions):
            late.update(group)
    sound = make_pattern(size - 1, couplings[True], frozenset(late))
    return sound, widened(sound, couplings[False])


def is_moved(element: Element) -> bool:
    """Tell whether a parameter of the element follows the travel of a signal input."""
    return any(name.endswith(".travel") for p in element.parameters.values() for name in p.names)


def is_changing(element: Element, conditions: list[Condition] | tuple[Condition, ...]) -> bool:
    """Tell whether an element's stamp can change while a solution is sought."""
    if element.primitive not in (Primitive.RESISTANCE, Primitive.EMF) or is_moved(element):
        return True
    if element.slot is not None:
        return True
    return any(conditions[c].sense is not Sense.SETTING for c in (*element.when, *element.unless))


def _node_names(part: Part, boat: Boat) -> Iterator[str]:
    kind = part.kind
    yield from terminals_of(boat, part.id)
    for spec in (*kind.elements.values(), *(e for f in kind.faults.values() for e in f.add)):
        yield from spec.nodes
    if kind.slots is not None:
        yield from (kind.slots.positive, kind.slots.negative)


def _reference(boat: Boat) -> Point:
    for part in boat.parts.values():
        if part.kind.group == "pack":
            for terminal in part.kind.terminals.values():
                if terminal.side.value == "negative":
                    return Point(part=part.id, terminal=terminal.name)
    raise CircuitError(value=boat.name, reason="the boat has no pack, so there are no volts to compute")


def _joint_ends(boat: Boat) -> Iterator[tuple[tuple[str, str], Point]]:
    for lead in boat.leads.values():
        first, second = lead.ends
        yield (f"{lead.id}@1", "1"), first
        yield (f"{lead.id}@1", "2"), Point(part=lead.id, terminal="1")
        yield (f"{lead.id}@2", "1"), Point(part=lead.id, terminal="2")
        yield (f"{lead.id}@2", "2"), second
        if lead.cable:
            yield (cable_id(lead.cable), core_of(lead)), Point(part=lead.id, terminal="2")


def _setting_condition(part: str, name: str, key: str) -> Condition:
    return Condition(
        part=part,
        name=name,
        sense=Sense.SETTING,
        of=(),
        setting=key,
        on=constant(0.5),
        off=constant(0.5),
        on_s=constant(0.0),
        off_s=constant(0.0),
        when=(),
        click=False,
    )


def _resistance(name: str, first: str, second: str, ohm: float) -> ElementSpec:
    return ElementSpec(
        name=name,
        primitive=Primitive.RESISTANCE,
        nodes=(first, second),
        parameters=MappingProxyType({"ohm": constant(ohm)}),
    )
