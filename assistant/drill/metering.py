"""What a meter on current does to a virtual boat: it really takes the place of what was opened for it.

The boat is built anew with the meter's burden in that place and switched on with it, so a boat that goes dark by it
does so here.  It reckons with the circuit itself and not with what the diagnosis expects.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from assistant.catalogue import ElementSpec, Primitive, constant
from assistant.circuit import Solver, build_network, make_solver

_SHUNT = "shunt"


def with_meter(solver: Solver, place: str, ohm: float) -> Solver:
    """Return the solver of the boat with so much resistance in a place, and nothing else of what was there."""
    boat = solver.network.boat
    part = boat.parts[place]
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
    parts = {**boat.parts, place: replace(part, kind=bare, given=MappingProxyType({}))}
    return make_solver(build_network(replace(boat, parts=MappingProxyType(parts))))
