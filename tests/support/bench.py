"""Circuits on a bench: sources, resistors and parts between named nets, as boats that the loaders read.

Each net is a splice, each part hangs on its nets by leads of 0.03 milliohm.  Those are taken off the resistors and
off what stands behind the sources, so that circuits come out as in a book, except for ideal sources, which keep a
hundredth of a milliohm and their leads.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from assistant.catalogue import Catalogue, load_catalogue
from assistant.circuit import (
    Fault,
    MeterProfile,
    Network,
    Phase,
    Solution,
    Solver,
    Variant,
    build_network,
    make_solver,
    rest_state,
    volts_shown,
)
from assistant.wiring import Boat, Point, load_boat

PARTS = Path(__file__).resolve().parents[2] / "knowledge" / "parts"
GROUND = "0"
LEADS_OHM = 6e-5
LEAST_OHM = 1e-5

_HEAD = "about: x\nweight: {of: 1, source: made up, status: p}\nprobe: with care\n"
_SOURCE = "about: x, source: made up, status: p"
_PAIR = '"+": {about: x, side: positive, reach: open}, "-": {about: x, side: negative, reach: open}'
_ENDS = '"1": {about: x, side: neutral, reach: open}, "2": {about: x, side: neutral, reach: open}'
_JOINT = (
    f'group: joint\nthrough: ["1", "2"]\nterminals: {{{_ENDS}}}\n'
    'elements: {contact: {resistance: ["1", "2"], ohm: 0.01 mohm}}\n'
)
KINDS = {
    "test ground": 'group: pack\nthrough: ["-"]\nterminals: {"-": {about: x, side: negative, reach: open}}\n',
    "test source": f"group: passive\nterminals: {{{_PAIR}}}\n"
    f"values:\n  emf_v: {{unit: V, {_SOURCE}}}\n  inner_ohm: {{unit: ohm, {_SOURCE}}}\n"
    'elements: {cell: {emf: ["+", "-"], volts: emf_v, ohm: inner_ohm}}\n',
    "test resistor": f"group: passive\nterminals: {{{_PAIR}}}\n"
    f"values:\n  body_ohm: {{unit: ohm, {_SOURCE}}}\n"
    'elements: {body: {resistance: ["+", "-"], ohm: body_ohm}}\n',
    "test diode": f"group: passive\nterminals: {{{_PAIR}}}\n"
    f"values:\n  drop_v: {{unit: V, {_SOURCE}}}\n  drop_a: {{unit: A, {_SOURCE}}}\n  slope_v: {{unit: V, {_SOURCE}}}\n"
    'elements: {junction: {diode: ["+", "-"], volts: drop_v, amps: drop_a, slope_v: slope_v}}\n',
    "test draw": f"group: passive\nterminals: {{{_PAIR}}}\n"
    f"values:\n  load_a: {{unit: A, {_SOURCE}}}\n  least_v: {{unit: V, {_SOURCE}}}\n"
    'elements: {load: {draw: ["+", "-"], amps: load_a, min_v: least_v}}\n',
    "wire": f'group: wire\nthrough: ["1", "2"]\nterminals: {{{_ENDS}}}\n'
    f"values:\n  area_mm2: {{unit: mm2, low: 0.02, high: 60, {_SOURCE}}}\n"
    f"  length_m: {{unit: m, low: 0.005, high: 25, {_SOURCE}}}\n"
    'elements: {copper: {resistance: ["1", "2"], ohm: 0.01 mohm}}\n',
    "soldered joint": _JOINT,
    "crimped joint": _JOINT,
    "plugged joint": _JOINT,
    "screwed joint": _JOINT,
}


def bench_catalogue(extra: Mapping[str, str] | None = None) -> Catalogue:
    """Return the real part kinds with leads of next to no resistance, the plain test kinds, and `extra` kinds."""
    kinds = KINDS | dict(extra or {})
    files = {path.name: path.read_text(encoding="utf-8") for path in sorted(PARTS.glob("*.yaml"))}
    ours = {f"{name.replace(' ', '-')}.yaml": f"kind: {name}\n{_HEAD}{body}" for name, body in kinds.items()}
    return load_catalogue(files | ours)


CATALOGUE = bench_catalogue()


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A part on the bench: kind, values as a description states them, and the net of each terminal."""

    kind: str
    values: str
    nets: Mapping[str, str]


def source(plus: str, minus: str, volts: float, ohm: float = 0.0) -> Item:
    """Return a source of `volts` behind `ohm`."""
    inner = max(ohm - LEADS_OHM, LEAST_OHM)
    return Item(kind="test source", values=f"emf: {volts!r}, inner: {inner!r}", nets={"+": plus, "-": minus})


def resistor(first: str, second: str, ohm: float) -> Item:
    """Return a resistor of `ohm`, its leads included."""
    return Item(kind="test resistor", values=f"body: {ohm - LEADS_OHM!r}", nets={"+": first, "-": second})


def diode(anode: str, cathode: str, volts: float, amps: float, slope_v: float) -> Item:
    """Return a diode through one point of its curve."""
    values = f"drop: {volts!r} V at {amps!r} A, slope: {slope_v!r}"
    return Item(kind="test diode", values=values, nets={"+": anode, "-": cathode})


def draw(plus: str, minus: str, amps: float, least_v: float) -> Item:
    """Return a load of constant current."""
    return Item(kind="test draw", values=f"load: {amps!r}, least: {least_v!r}", nets={"+": plus, "-": minus})


def bench_boat(items: Mapping[str, Item], catalogue: Catalogue = CATALOGUE) -> Boat:
    """Return the items as a boat; nets are joined where they share a name, and ``0`` is the reference."""
    nets = sorted({net for item in items.values() for net in item.nets.values()} - {GROUND})
    lines = ["boat: Bench", "parts:", "  ground: {kind: test ground}", "  stub: {kind: splice}"]
    lines += [f"  net-{net}: {{kind: splice}}" for net in nets]
    lines += [
        f"  {name}: {{kind: {item.kind}, {item.values}}}"
        if item.values
        else f"  {name}: {{kind: {item.kind}}}"
        for name, item in items.items()
    ]
    lines += ["runs:", "  - [ground, 10 AWG 1 cm, stub]"]
    lines += [
        f"  - [{'ground' if net == GROUND else f'net-{net}'}, 10 AWG 1 cm, {name} {terminal}]"
        for name, item in items.items()
        for terminal, net in item.nets.items()
    ]
    return load_boat("\n".join(lines) + "\n", "bench.yaml", catalogue)


@dataclass(frozen=True)
class Bench:
    """A circuit on the bench, healthy or with faults, and what it does at rest with everything plugged in."""

    boat: Boat
    faults: tuple[Fault, ...] = ()

    @classmethod
    def of(cls, **items: Item) -> "Bench":
        """Return the bench with these items, by name."""
        return cls(bench_boat(items))

    @cached_property
    def network(self) -> Network:
        """The network of the circuit."""
        return build_network(self.boat)

    @cached_property
    def solver(self) -> Solver:
        """The solver of the circuit."""
        return make_solver(self.network)

    @property
    def variant(self) -> Variant:
        """The only variant that is solved."""
        return Variant(faults=self.faults)

    @cached_property
    def solution(self) -> Solution:
        """The steady state with every pack plugged in and every switch on."""
        settings = {f"{p.id}.{name}": 1.0 for p in self.boat.parts.values() for name in p.kind.settings}
        found = self.solver.solve(rest_state(self.boat).with_(settings), [self.variant])
        assert not found.failed[0]
        return found

    @property
    def phase(self) -> Phase:
        """The steady values."""
        return self.solution.phase

    def node(self, net: str) -> int:
        """Return the node of a net."""
        point = (
            Point(part="ground", terminal="-") if net == GROUND else Point(part=f"net-{net}", terminal="x")
        )
        return self.network.node(point)

    def volts(self, net: str, over: str = GROUND) -> float:
        """Return the voltage between two nets."""
        return float(self.phase.volts[self.node(net), 0] - self.phase.volts[self.node(over), 0])

    def amps(self, part: str, element: str | None = None) -> float:
        """Return the current through a part from its first node to its second; that of its only or a named element."""
        numbers = [
            n for n in self.network.elements_of(part) if element in {None, self.network.elements[n].name}
        ]
        (number,) = [n for n in numbers if self.network.elements[n].fault is None]
        return float(self.phase.amps[number, 0])

    def reading(self, red: str, black: str, meter: MeterProfile) -> float:
        """Return what a voltmeter shows between two nets."""
        column = np.array([0])
        hold = self.solver.hold(self.solution, [self.variant], column)
        ohm = hold.between(np.array([self.node(red)]), np.array([self.node(black)]), column, exact=True)
        return float(volts_shown(np.array(self.volts(red, black)), ohm[0, 0], meter))
