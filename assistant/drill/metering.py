"""What a meter on current or a test lamp does to a virtual boat: it really sits in the circuit.

The boat is built anew with the meter's burden in the place of what was opened, or with the lamp between two points, and
switched on with it, so a boat that goes dark by it does so here.  It reckons with the circuit itself and not with what
the diagnosis expects.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from assistant.catalogue import ElementSpec, Primitive, constant
from assistant.circuit import Solver, build_network, make_solver
from assistant.wiring import Part, Point

_SHUNT = "shunt"
_LAMP = "test lamp"


def with_meter(solver: Solver, place: str, ohm: float) -> Solver:
    """Return the solver of the boat with so much resistance in a place, and nothing else of what was there."""
    boat = solver.network.boat
    part = boat.parts[place]
    parts = {**boat.parts, place: _resistor(part, ohm)}
    return make_solver(build_network(replace(boat, parts=MappingProxyType(parts))))


def with_lamp(solver: Solver, red: Point, black: Point, ohm: float) -> Solver:
    """Return the solver of the boat with a lamp of so much resistance between two points."""
    boat = solver.network.boat
    like = next(lead for lead in boat.leads.values() if lead.cable is None)
    lead = replace(like, id=_LAMP, ends=(red, black), mark=None)
    filament = _resistor(replace(boat.parts[like.id], id=_LAMP, mark=None), ohm)
    tips = (replace(boat.parts[f"{like.id}@{n}"], id=f"{_LAMP}@{n}", mark=None) for n in (1, 2))
    parts = {**boat.parts, **{part.id: part for part in (filament, *tips)}}
    leads = {**boat.leads, _LAMP: lead}
    return make_solver(
        build_network(replace(boat, parts=MappingProxyType(parts), leads=MappingProxyType(leads)))
    )


def _resistor(part: Part, ohm: float) -> Part:
    """Return a part that is nothing but a resistance between its two ends."""
    shunt = ElementSpec(
        name=_SHUNT,
        primitive=Primitive.RESISTANCE,
        nodes=part.kind.through,
        parameters=MappingProxyType({"ohm": constant(ohm)}),
    )
    bare = replace(
        part.kind,
        values=MappingProxyType({}),
        elements=MappingProxyType({_SHUNT: shunt}),
        faults=MappingProxyType({}),
        signs=MappingProxyType({}),
        ratings=MappingProxyType({}),
        noise=None,
    )
    return replace(part, kind=bare, given=MappingProxyType({}))
