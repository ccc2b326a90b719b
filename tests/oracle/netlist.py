"""A boat as a netlist of the independent simulator, written from the meaning of the primitives alone.

The network gives nodes, elements and conditions; parameters are worked out here from the part kinds, and every element
law is stated anew in the simulator's own terms (R, V, D and behavioural sources B).  Nothing is taken from the
program's devices, its Newton iteration, its elimination or its radio: an agreement is then an agreement of two.
"""

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from assistant.catalogue import SEVERITY, Primitive, Sense, nominal_values
from assistant.circuit import BoatState, Fault, Network
from assistant.circuit.network import Condition, Element, Input

LEAK_OHM = 1e9  # every node, to the reference
IDLE_LEAK_OHM = 1e6  # every load that takes a set current, whether it does so or not
DIVIDER_OHM = 1e4  # every regulator that works, across its output
LEAST_OHM = 1e-5  # the simulator reads 0 ohm as a milliohm; nothing in a boat is below this
LEAST_INPUT_V = 0.05  # constant power into nothing would be endless current
HELD_HIGH = 5.0  # a signal of so many times its pulses' mean is up for most of the time: no pulses
THERMAL_V = 0.0258649170072  # kT/q as the simulator has it at 300.15 K


@dataclass(frozen=True, slots=True)
class Netlist:
    """Element lines, model cards, and the names of the nodes that hold what regulators wish to give (in amps)."""

    lines: tuple[str, ...]
    cards: tuple[str, ...]
    wishes: tuple[str, ...]


@dataclass(frozen=True)
class Case:
    """One boat to be simulated: where hands have set things, its faults, and which conditions hold."""

    network: Network
    state: BoatState
    faults: tuple[Fault, ...]
    holds: tuple[bool, ...]

    def modes_at(self, part: str) -> Mapping[str, float]:
        """Return the fault modes at a part, with their severities."""
        return {f.mode: f.severity for f in self.faults if f.part == part}

    @cached_property
    def values(self) -> Mapping[str, Mapping[str, float]]:
        """The values of every part: as given or by default, and what its faults make of them."""
        return {part: self._values(part) for part in self.network.parts}

    def _values(self, name: str) -> Mapping[str, float]:
        part = self.network.parts[name]
        healthy = nominal_values(part.kind, part.given)
        changed: dict[str, float] = {}
        severity = 1.0
        for mode, severity in self.modes_at(name).items():
            env = {**healthy, SEVERITY: severity}
            formulas = part.kind.faults[mode].values.items()
            changed |= {value: float(formula(env, part.kind.curves)) for value, formula in formulas}
        return {**nominal_values(part.kind, {**part.given, **changed}), SEVERITY: severity}

    @cached_property
    def travels(self) -> tuple[float, ...]:
        """The travel every signal input is told, -1 .. 1 (0 .. 1 one way)."""
        return tuple(self._travel(given) for given in self.network.inputs)

    def _travel(self, given: Input) -> float:
        lost = float(
            given.spec.lost_travel(self.values[given.part], self.network.parts[given.part].kind.curves)
        )
        if not given.channel or not self.holds[given.heard]:
            return lost
        moved = max(-1.0, min(1.0, self.throw(given.channel)))
        return 0.5 * (moved + 1.0) if given.spec.one_way else moved

    def throw(self, number: int) -> float:
        """Return how far the pulses at a socket are from their centre, 1 for 0.5 ms."""
        for name, values in self.values.items():
            if name.startswith("channels ") and values["swapped"] == 1.0:
                pair = {int(values["first"]), int(values["second"])}
                if number in pair:
                    (number,) = pair - {number}
                    break
        return self.commanded(number)

    def commanded(self, number: int) -> float:
        """Return how far the transmitter tells a channel to move."""
        radio = self.network.boat.radio
        channel = radio.channels[number]
        set_up = self.values.get(f"channel {number}", {})
        if set_up.get("socket", 1.0) == 0.0:
            return 0.0
        if self.values.get("model memory", {}).get("fresh", 0.0) == 1.0:
            sticks = [*radio.controls, *[""] * number]
            told = self.state.get(sticks[number - 1])
        else:
            shares = sorted(channel.mix.items(), key=lambda item: -abs(item[1]))
            weights = [1.0] + [set_up.get("blend", 1.0)] * len(shares)
            told = channel.trim + sum(
                w * s * self.state.get(c) for w, (c, s) in zip(weights, shares, strict=False)
            )
        told = set_up.get("direction", 1.0) * set_up.get("scale", 1.0) * told + set_up.get("trim", 0.0)
        stored = self.values[channel.receiver].get("stored", 0.0)
        if stored and not self.state.get("transmitter"):
            told = stored
        return max(-1.25, min(1.25, told))

    def pulse_volts(self, number: int) -> float:
        """Return the mean volts of a channel's pulses at the receiver, without load."""
        receiver = self.network.boat.radio.channels[number].receiver
        kind, values = self.network.parts[receiver].kind, self.values[receiver]
        assert kind.slots is not None
        width_ms = 1.5 + 0.5 * self.throw(number)
        return (
            float(kind.slots.logic_v(values, kind.curves))
            * width_ms
            / float(kind.slots.frame_ms(values, kind.curves))
        )

    def exists(self, element: Element) -> bool:
        """Tell whether an element is there: its fault is, none has opened it, and its conditions hold."""
        modes = self.modes_at(element.part)
        there = (element.fault is None or element.fault in modes) and not element.opened_by & modes.keys()
        return (
            there
            and all(self.holds[c] for c in element.when)
            and not any(self.holds[c] for c in element.unless)
        )

    def parameters(self, element: Element) -> dict[str, float]:
        """Return the numbers of an element; a receiver's pulses count by their mean."""
        env = dict(self.values[element.part])
        for given, travel in zip(self.network.inputs, self.travels, strict=True):
            if given.part == element.part:
                env[f"{given.spec.name}.travel"] = travel
        curves = self.network.parts[element.part].kind.curves
        found = {name: float(formula(env, curves)) for name, formula in element.parameters.items()}
        if element.slot is not None:
            found["volts"] = self.pulse_volts(element.slot)
        return found

    def forced(self, condition: Condition) -> bool | None:
        """Return what a fault forces a condition to, or None."""
        faults = [self.network.parts[condition.part].kind.faults[m] for m in self.modes_at(condition.part)]
        if any(condition.name in f.always for f in faults):
            return True
        return False if any(condition.name in f.never for f in faults) else None

    def thresholds(self, condition: Condition) -> tuple[float, float]:
        """Return where a condition becomes true and where it becomes false."""
        values, curves = self.values[condition.part], self.network.parts[condition.part].kind.curves
        return float(condition.on(values, curves)), float(condition.off(values, curves))

    def sensed(self, condition: Condition, volts: Sequence[float]) -> float:
        """Return what a condition watches, at these node voltages."""
        match condition.sense:
            case Sense.VOLTS:
                return volts[condition.of[0]] - volts[condition.of[1]]
            case Sense.AMPS:
                return self._sensed_amps(self.network.elements[condition.of[0]], volts)
            case Sense.WATTS:
                return self._sensed_watts(self.network.elements[condition.of[0]], volts)
            case Sense.SETTING:
                return self.state.get(condition.setting)
            case _:
                return self._sensed_input(condition, volts)

    def _sensed_input(self, condition: Condition, volts: Sequence[float]) -> float:
        given = self.network.inputs[condition.of[0]]
        if condition.sense is Sense.TRAVEL:
            return abs(self.travels[condition.of[0]])
        if condition.sense is Sense.NEUTRAL:
            return self._nearness(given)
        if not given.channel:
            return 0.0
        share = (volts[given.signal] - volts[given.negative]) / self.pulse_volts(given.channel)
        return 0.0 if share > HELD_HIGH else share

    def _nearness(self, given: Input) -> float:
        """Return how near neutral an input stays with sticks let go, levers where the device idles, transmitter on."""
        if not given.channel:
            return 1.0
        lever = -1.0 if given.spec.idles_below else 0.0
        rests = {"stick": 0.0, "lever": lever, "switch": -1.0}
        controls = {c.id: rests[c.kind.value] for c in self.network.boat.radio.controls.values()}
        let_go = replace(self, state=self.state.with_({**controls, "transmitter": 1.0}))
        told = let_go.throw(given.channel)
        return 1.0 - min(1.0, max(0.0, told) if given.spec.idles_below else abs(told))

    def _sensed_watts(self, element: Element, volts: Sequence[float]) -> float:
        """Return what a linear regulator burns off: what it gives flows in as well."""
        if element.primitive is not Primitive.REGULATOR:
            raise ValueError(f"no netlist has a condition on the heat of a {element.primitive}")
        if not self.exists(element):
            return 0.0
        given = self.parameters(element)
        vin, ground, out = (volts[n] for n in element.nodes)
        target = max(0.0, min(given["set_v"], vin - ground - given["dropout_v"]))
        amps = min(max((target - (out - ground)) / _ohm(given), 0.0), given["limit_a"])
        return abs((vin - out) * amps)

    def _sensed_amps(self, element: Element, volts: Sequence[float]) -> float:
        if element.primitive is not Primitive.RESISTANCE:
            raise ValueError(f"no netlist has a condition on the current of a {element.primitive}")
        across = volts[element.nodes[0]] - volts[element.nodes[1]]
        return abs(across) / self.parameters(element)["ohm"] if self.exists(element) else 0.0


def netlist(case: Case, idle: Collection[str] = ()) -> Netlist:
    """Return the netlist of a boat.

    Parameters
    ----------
    idle
        Regulators (by the name of their wish) that give nothing.  A regulator never sinks current, and the simulator
        copes badly with that corner: it is left out here, and whoever solves sees by the wish which are idle.
    """
    size = len(case.network.nodes)
    names = [f"n{n}" for n in range(size - 1)] + ["0"]
    lines = [f"Rleak{n} {names[n]} 0 {LEAK_OHM!r}" for n in range(size - 1)]
    cards: list[str] = []
    wishes: list[str] = []
    for number, element in enumerate(case.network.elements):
        nodes = [names[n] for n in element.nodes]
        name = f"e{number}"
        if element.primitive is Primitive.DRAW:
            lines.append(f"Rbleed{number} {nodes[0]} {nodes[1]} {IDLE_LEAK_OHM!r}")
        if not case.exists(element):
            continue
        given = case.parameters(element)
        lines += _lines(element.primitive, name, nodes, given, idle=name in idle)
        if element.primitive is Primitive.DIODE:
            cards.append(_diode_model(name, given))
        if element.primitive is Primitive.REGULATOR:
            wishes.append(name)
    return Netlist(tuple(lines), tuple(cards), tuple(wishes))


def _lines(
    primitive: Primitive, name: str, nodes: Sequence[str], given: Mapping[str, float], *, idle: bool
) -> Iterator[str]:
    """Yield the lines of one element."""
    match primitive:
        case Primitive.RESISTANCE:
            yield f"R{name} {nodes[0]} {nodes[1]} {_ohm(given)!r}"
        case Primitive.EMF:
            yield f"V{name} {name} {nodes[1]} {given['volts']!r}"
            yield f"R{name} {nodes[0]} {name} {_ohm(given)!r}"
        case Primitive.DIODE:
            yield f"D{name} {nodes[0]} {nodes[1]} M{name}"
        case Primitive.LEG:
            yield from _leg(name, nodes, given)
        case Primitive.MOTOR:
            yield f"B{name} {nodes[0]} {nodes[1]} I={motor_law(_between(*nodes), given)}"
        case Primitive.DRAW:
            part = f"(({_between(*nodes)})/{0.5 * given['min_v']!r}-1)"
            yield f"B{name} {nodes[0]} {nodes[1]} I={given['amps']!r}*min(max({part},0),1)"
        case Primitive.REGULATOR:
            yield from _regulator(name, nodes, given, idle=idle)


def motor_law(volts: str, given: Mapping[str, float]) -> str:
    """Return the current of a motor, odd in `volts`.

    The load takes the current ``load * (idle_a + (rated_a - idle_a) * (emf / rated_emf)^2)``; what the volts leave
    over the winding gives that current, which is a quadratic equation for the back-EMF.
    """
    ohm, load, idle_a, rated_a = _ohm(given), given["load"], given["idle_a"], given["rated_a"]
    rated_emf = max(given["rated_v"] - rated_a * ohm, 0.02 * given["rated_v"])
    rising = load * max(rated_a - idle_a, 0.0) / rated_emf**2
    spare = f"max(abs({volts})-{load * idle_a * ohm!r},0)"
    emf = f"2*{spare}/(1+sqrt(1+{4.0 * rising * ohm!r}*{spare}))"
    return f"sgn({volts})*(abs({volts})-{emf})/{ohm!r}"


def _diode_model(name: str, given: Mapping[str, float]) -> str:
    """Return the model card of a diode through one point of its curve."""
    saturation = given["amps"] / math.expm1(given["volts"] / given["slope_v"])
    return f".model M{name} D(IS={saturation!r} N={given['slope_v'] / THERMAL_V!r})"


def _leg(name: str, nodes: Sequence[str], given: Mapping[str, float]) -> Iterator[str]:
    """Yield a half bridge: out at its duty between the rails, each rail feeding it by its share of the time."""
    plus, minus, out = nodes
    duty = given["duty"]
    amps = f"({duty!r}*({_between(plus, out)})+{1.0 - duty!r}*({_between(minus, out)}))/{_ohm(given)!r}"
    yield f"B{name}p {plus} {out} I={duty!r}*{amps}"
    yield f"B{name}m {minus} {out} I={1.0 - duty!r}*{amps}"


def _regulator(name: str, nodes: Sequence[str], given: Mapping[str, float], *, idle: bool) -> Iterator[str]:
    """Yield a regulator: what it wishes to give as a voltage, what it gives, and what it takes for that."""
    inlet, ground, out = nodes
    vin = _between(inlet, ground)
    target = f"min({given['set_v']!r},({vin})-{given['dropout_v']!r})"
    yield f"R{name} {out} {ground} {DIVIDER_OHM!r}"
    yield f"B{name}x {name} 0 V=({target}-({_between(out, ground)}))/{_ohm(given)!r}"
    if not idle:
        gives = f"min(v({name}),{given['limit_a']!r})"
        yield f"B{name}o {ground} {out} I={gives}"
        inner = f"(({_between(out, ground)})+{_ohm(given)!r}*{gives})"
        share = f"{inner}/({given['efficiency']!r}*max({vin},{LEAST_INPUT_V!r}))"
        yield f"B{name}i {inlet} {ground} I={gives}*max(0,min(1,{share}))"


def _ohm(given: Mapping[str, float]) -> float:
    return max(given["ohm"], LEAST_OHM)


def _between(first: str, second: str) -> str:
    if second == "0":
        return f"v({first})"
    return f"-v({second})" if first == "0" else f"v({first},{second})"
