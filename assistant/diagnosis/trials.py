"""Trials: a known-good spare, parts alike or their plugs swapped, a piece of a feed bridged; what becomes of a fault.

A trial changes which faults there are, and nothing else: a spare takes the faults of what it replaces away, a swap
moves them to the twin, a lead bridges what is open or resists.  A boat with a fault, after a trial, is therefore
another boat with other faults, and what that shows is computed already, for most.  A part that had given way to a
cause gives way again while the cause is there.

Two servos whose plugs are swapped at the receiver are another wiring: each hears the channel of the other, its own
faults come along and those of the channel stay.  That is the boat with the plugs of two channels swapped, which the
circuit knows; with a fault besides it is solved where it could win.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import FaultSpec, Group, Reach
from assistant.circuit import BoatState, Fault, Variant, is_unplugged
from assistant.diagnosis.model import AtHand, SignQuery, Trial, TrialKind
from assistant.wiring import CHANNEL_PAIR, Boat, Lead, Point, cable_id, paired_channels, reach_of, settings_of

_SPARES = {
    AtHand.SPARE_SERVO: Group.SERVO,
    AtHand.SPARE_FUSE: Group.FUSE,
    AtHand.SPARE_PACK: Group.PACK,
}
_SWAPPED = frozenset({Group.SERVO, Group.FUSE})
"""What is pulled and pushed back without a tool."""

_CROSSED = "swapped"
"""Mode of a pair of channels whose plugs are each in the socket of the other."""


@dataclass(frozen=True, slots=True)
class Moved:
    """To which cell each cell moves; numbers past the last cell mean `others`, which had to be added (draw by draw)."""

    cells: NDArray[np.intp]
    others: tuple[Variant, ...]


def trials_of(boat: Boat, at_hand: frozenset[AtHand]) -> tuple[Trial, ...]:
    """Return what can be tried on a boat with what is at hand; swapping wants nothing."""
    groups = {_SPARES[one] for one in at_hand if one in _SPARES}
    spares = (
        Trial(kind=TrialKind.SPARE, places=(part.id, *_own_cable(boat, part.id)))
        for part in boat.parts.values()
        if part.kind.group in groups
    )
    bypasses = _bypasses(boat) if AtHand.BYPASS_LEAD in at_hand else ()
    return (*spares, *_swaps(boat), *_plugs(boat), *bypasses)


def _own_cable(boat: Boat, part: str) -> Iterator[str]:
    """Yield the cores, with their joints, of the cable that comes with a servo, and the cable itself."""
    if boat.parts[part].kind.group is Group.SERVO:
        own = [lead for lead in boat.leads.values() if lead.cable and part in (end.part for end in lead.ends)]
        for lead in own:
            yield from _places(lead)
        cables = dict.fromkeys(cable_id(lead.cable) for lead in own if lead.cable)
        yield from (cable for cable in cables if cable in boat.parts)


def _swaps(boat: Boat) -> Iterator[Trial]:
    movable = [part for part in boat.parts.values() if part.kind.group in _SWAPPED]
    for one, other in combinations(movable, 2):
        if one.kind.name == other.kind.name and one.given == other.given:
            cables = (*_own_cable(boat, one.id), *_own_cable(boat, other.id))
            if not cables:
                yield Trial(kind=TrialKind.SWAP, places=(one.id, other.id))


def _plugs(boat: Boat) -> Iterator[Trial]:
    """Yield the pairs of servos alike whose plugs can be swapped at their receiver; nothing that drives is moved so."""
    for part in boat.parts.values():
        if part.kind.name == CHANNEL_PAIR:
            channels = [boat.radio.channels[number] for number in paired_channels(part)]
            kinds = [boat.parts[channel.device].kind for channel in channels]
            if kinds[0].name == kinds[1].name and kinds[0].group is Group.SERVO:
                yield Trial(kind=TrialKind.PLUGS, places=(part.id, *(channel.device for channel in channels)))


def _places(lead: Lead) -> tuple[str, str, str]:
    return f"{lead.id}@1", lead.id, f"{lead.id}@2"


def _bypasses(boat: Boat) -> Iterator[Trial]:
    """Yield every piece of feed that a lead can bridge: leads in a row with the switches between them, no fuse."""
    found: dict[frozenset[Point], Trial] = {}
    for lead in boat.leads.values():
        if lead.cable is None:
            for start, end in (lead.ends, lead.ends[::-1]):
                for ends, places in _pieces(boat, lead, start, end):
                    if all(reach_of(boat, point) is not Reach.SEALED for point in ends):
                        trial = Trial(kind=TrialKind.BYPASS, places=places, ends=ends)
                        found.setdefault(frozenset(ends), trial)
    yield from found.values()


def _pieces(
    boat: Boat, lead: Lead, start: Point, end: Point
) -> Iterator[tuple[tuple[Point, Point], tuple[str, ...]]]:
    """Yield the pieces that begin at `start` with a lead, each longer than the one before."""
    places: tuple[str, ...] = ()
    been: set[str] = set()
    while lead.id not in been:
        been.add(lead.id)
        places = (*places, *_places(lead))
        yield (start, end), places
        across = _across(boat, end)
        onward = [] if across is None else [one for one in boat.leads.values() if across in one.ends]
        if across is None or len(onward) != 1 or onward[0].cable is not None:
            return
        places = (*places, across.part)
        lead = onward[0]
        end = lead.ends[1] if lead.ends[0] == across else lead.ends[0]


def _across(boat: Boat, point: Point) -> Point | None:
    """Return the other side of a plain switch, or None where a piece of feed ends."""
    kind = boat.parts[point.part].kind
    if kind.group is not Group.SWITCH or set(kind.terminals) != set(kind.through) or len(kind.through) != 2:
        return None
    first, second = kind.through
    return Point(part=point.part, terminal=second if point.terminal == first else first)


def looks_after(
    boat: Boat, state: BoatState, trials: Sequence[Trial], seen: Sequence[SignQuery]
) -> Iterator[SignQuery]:
    """Yield the looks at signs seen before in a state, once more after each trial.

    What a lead bridges must be switched on, or it would feed what is to be off.
    """
    if is_unplugged(boat, state):
        return
    off = {s.id.rpartition(".")[0] for s in settings_of(boat) if not state.get(s.id)}
    for trial in trials:
        if trial.kind is TrialKind.PLUGS or (trial.kind is TrialKind.BYPASS and off & set(trial.places)):
            continue
        for query in dict.fromkeys(seen):
            if query.state == state:
                yield SignQuery(part=query.part, sign=query.sign, state=state, after=trial)


def looks_across(
    boat: Boat, state: BoatState, trials: Sequence[Trial], seen: Sequence[SignQuery]
) -> Iterator[SignQuery]:
    """Yield the looks at both servos of a pair whose plugs are swapped, at signs seen of one of them.

    Each is looked at where the other was, and where the stick of the channel that it hears then is away from rest.
    """
    if is_unplugged(boat, state):
        return
    rests = {s.id: s.rest for s in settings_of(boat)}
    for trial in trials:
        if trial.kind is not TrialKind.PLUGS:
            continue
        pair, one, other = trial.places
        hears = dict(zip((other, one), paired_channels(boat.parts[pair]), strict=True))
        found: dict[SignQuery, None] = {}
        for query in seen:
            for part, number in hears.items() if query.part in hears else ():
                mix = boat.radio.channels[number].mix
                if query.state == state or any(state.get(control) != rests[control] for control in mix):
                    found[SignQuery(part=part, sign=query.sign, state=state, after=trial)] = None
        yield from found


def moved_by(boat: Boat, trial: Trial, variants: Sequence[Variant], draws: int) -> Moved:
    """Return what a trial makes of each cell; `variants` come cell by cell, `draws` of each."""
    known = {frozenset(variants[i].faults): i // draws for i in range(len(variants) - draws, -1, -draws)}
    count = len(variants) // draws
    cells: list[int] = []
    others: list[Variant] = []
    for first in range(0, len(variants), draws):
        faults = faults_after(boat, trial, variants[first].faults)
        if frozenset(faults) not in known:
            known[frozenset(faults)] = count + len(others) // draws
            others.extend(Variant(faults=faults, draw=v.draw) for v in variants[first : first + draws])
        cells.append(known[frozenset(faults)])
    return Moved(np.array(cells, dtype=np.intp), tuple(others))


def faults_after(boat: Boat, trial: Trial, faults: tuple[Fault, ...]) -> tuple[Fault, ...]:
    """Return the faults of a boat after a trial."""
    if trial.kind is TrialKind.PLUGS:
        crossed = Fault(trial.places[0], _CROSSED)
        return tuple(f for f in faults if f != crossed) if crossed in faults else (*faults, crossed)
    left = tuple(fault for one in faults for fault in _after(trial, one, _spec(boat, one)))
    causes = [f for f in left if _spec(boat, f).follows is None]
    again = [f for f in faults if _spec(boat, f).follows is not None and f not in left]
    return (*left, *again) if causes else left


def _spec(boat: Boat, fault: Fault) -> FaultSpec:
    return boat.parts[fault.part].kind.faults[fault.mode]


def _after(trial: Trial, fault: Fault, spec: FaultSpec) -> tuple[Fault, ...]:
    if fault.part not in trial.places:
        return (fault,)
    match trial.kind:
        case TrialKind.SPARE:
            return ()
        case TrialKind.BYPASS:
            return () if _is_bridged(spec) else (fault,)
        case _:
            first, second = trial.places
            twin = second if fault.part == first else first
            return (Fault(twin, fault.mode, fault.severity),)


def _is_bridged(spec: FaultSpec) -> bool:
    """Tell whether a lead in parallel cures a fault: what is open or resists, not what touches where it must not."""
    return bool(spec.open or spec.values or spec.never) and not (spec.short or spec.add or spec.always)
