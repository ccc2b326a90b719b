"""What a trial does to a virtual boat: the part really changed, the lead really laid in parallel.

It reckons with the boat itself and not with what the diagnosis expects: a bridged piece keeps its fault and gets a
lead beside it.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from assistant.circuit import Fault, Solver, build_network, make_solver
from assistant.diagnosis import Trial, TrialKind
from assistant.wiring import Boat, Point, paired_channels

_BRIDGE = "bridge"
_AREA_MM2 = 2.5
_LENGTH_M = 0.6
"""A bridging lead with clips, for ten amps and more (common practice, no source)."""


def changed(solver: Solver, trial: Trial, faults: tuple[Fault, ...]) -> tuple[Solver, tuple[Fault, ...]]:
    """Return the boat and its faults while something is changed for a look."""
    if trial.kind is TrialKind.BYPASS:
        return _bridged(solver, trial), faults
    if trial.kind is TrialKind.PLUGS:
        return make_solver(build_network(_replugged(solver.network.boat, trial))), faults
    if trial.kind is TrialKind.SPARE:
        left = tuple(fault for fault in faults if fault.part not in trial.places)
    else:
        first, second = trial.places
        twin = {first: second, second: first}
        left = tuple(replace(fault, part=twin.get(fault.part, fault.part)) for fault in faults)
    return solver, _blown_again(solver, faults, left)


def _blown_again(solver: Solver, before: tuple[Fault, ...], after: tuple[Fault, ...]) -> tuple[Fault, ...]:
    """Return the faults with what gives way again, since what made it give way the first time is still there."""
    parts = solver.network.parts
    suffered = [f for f in before if parts[f.part].kind.faults[f.mode].follows is not None]
    if not any(f in after for f in before if f not in suffered):
        return after
    return (*after, *(fault for fault in suffered if fault not in after))


def _replugged(boat: Boat, trial: Trial) -> Boat:
    """Return the boat with two plugs each in the socket of the other at the receiver, cables and all."""
    numbers = paired_channels(boat.parts[trial.places[0]])
    first, second = (boat.radio.channels[number] for number in numbers)
    sockets = {
        Point(part=channel.receiver, terminal=f"{channel.number}{pin}"): Point(
            part=channel.receiver, terminal=f"{goes}{pin}"
        )
        for channel, goes in ((first, second.number), (second, first.number))
        for pin in "s+-"
    }
    leads = {
        name: replace(
            lead, ends=(sockets.get(lead.ends[0], lead.ends[0]), sockets.get(lead.ends[1], lead.ends[1]))
        )
        for name, lead in boat.leads.items()
    }
    channels = {
        **boat.radio.channels,
        first.number: replace(first, device=second.device, input=second.input),
        second.number: replace(second, device=first.device, input=first.input),
    }
    radio = replace(boat.radio, channels=MappingProxyType(channels))
    return replace(boat, leads=MappingProxyType(leads), radio=radio)


def _bridged(solver: Solver, trial: Trial) -> Solver:
    """Return the solver of the boat with a lead beside a piece of its feed."""
    return make_solver(build_network(_with_bridge(solver.network.boat, trial)))


def _with_bridge(boat: Boat, trial: Trial) -> Boat:
    if trial.ends is None:
        return boat
    like = boat.leads[next(place for place in trial.places if place in boat.leads)]
    lead = replace(
        like, id=_BRIDGE, ends=trial.ends, area_mm2=_AREA_MM2, length_m=_LENGTH_M, cable=None, mark=None
    )
    given = MappingProxyType({"area_mm2": _AREA_MM2, "length_m": _LENGTH_M})
    wire = replace(boat.parts[like.id], id=_BRIDGE, given=given, mark=None)
    clips = (replace(boat.parts[f"{like.id}@{n}"], id=f"{_BRIDGE}@{n}", mark=None) for n in (1, 2))
    parts = {**boat.parts, **{part.id: part for part in (wire, *clips)}}
    leads = {**boat.leads, _BRIDGE: lead}
    return replace(boat, parts=MappingProxyType(parts), leads=MappingProxyType(leads))
