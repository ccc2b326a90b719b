"""Rules about packs: packs side by side, the cut-off against their chemistry, storage and run time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations
from types import MappingProxyType
from typing import Final

from assistant.catalogue import Group, Side, Source
from assistant.circuit import ready_state
from assistant.plan.cases import Plan, nominal, parts_in, switched_on
from assistant.plan.feeds import conducting, pack_ends, reached, side_of
from assistant.plan.finding import Figure, Finding, Severity
from assistant.plan.making import finding, memory, practice
from assistant.quantities import Quantity, Unit
from assistant.wiring import Boat, ControlKind

_UNLIKE: Final = 0.1
_ALIKE: Final = practice("packs side by side should be alike and equally charged")
_DAYS: Final = 30.0
_A_YEAR: Final = 365.0
_STORED: Final = practice("a boat left plugged in should last a month")
_USABLE: Final = 0.8
_MINUTES: Final = 10.0
_OUTING: Final = practice("ten minutes are the least for a survey run; four fifths of the charge are usable")
_SECONDS_A_DAY: Final = 86400.0
_IDLE_A: Final = 1e-9
_WHOLE: Final = 1e-6

STOP_V: Final[Mapping[str, tuple[float, Source]]] = MappingProxyType(
    {
        "lithium pack": (3.0, practice("lithium cells stop at 3.0 to 3.3 V")),
        "nimh pack": (0.8, practice("nickel-metal hydride cells stop at 0.8 to 0.9 V under load")),
        "lead acid pack": (1.75, memory("lead-acid cells stop at 1.75 V under load (data sheets)")),
    }
)
"""Volts of a cell under load below which it is harmed."""


def parallel_packs(plan: Plan) -> Iterator[Finding]:
    """Yield packs side by side that differ, with the current between them before anything runs."""
    boat = plan.boat
    for one, other in _parallel(boat):
        kinds = boat.parts[one].kind.name, boat.parts[other].kind.name
        first, second = nominal(boat, one), nominal(boat, other)
        unlike = [
            name
            for name in ("cells", "soc", "capacity_ah", "cell_ohm", "weak_ohm")
            if abs(first.get(name, 0.0) - second.get(name, 0.0))
            > _UNLIKE * max(first.get(name, 0.0), second.get(name, 0.0))
        ]
        if kinds[0] == kinds[1] and not unlike:
            continue
        grave = kinds[0] != kinds[1] or "cells" in unlike or "soc" in unlike
        what = "chemistry" if kinds[0] != kinds[1] else _differing(boat, one, unlike[0])
        end = side_of(boat, other, Side.POSITIVE)
        amps = float(abs(plan.stored.into(end)).max()) if end is not None else 0.0
        yield finding(
            boat,
            "parallel packs",
            other,
            severity=Severity.DANGER if grave else Severity.NOTE,
            says=f"it lies side by side with {one.replace('-', ' ')}, but they differ in {what}",
            number=(amps, Unit.AMP),
            limit=second["capacity_ah"] if amps > second["capacity_ah"] else None,
            when="from one pack into the other, nothing running"
            + ("; against the current that charges it in an hour" if amps > second["capacity_ah"] else ""),
            source=_ALIKE,
            remedy="Join only packs of one kind, size and age, charged alike; else keep them apart by diodes.",
        )


def _differing(boat: Boat, pack: str, value: str) -> str:
    return boat.parts[pack].kind.values[value].about


def _parallel(boat: Boat) -> Iterator[tuple[str, str]]:
    graph = conducting(boat)
    for one, other in combinations(parts_in(boat, Group.PACK), 2):
        ends = [
            (side_of(boat, one, side), side_of(boat, other, side)) for side in (Side.POSITIVE, Side.NEGATIVE)
        ]
        if all(a is not None and b is not None and b in reached(graph, a) for a, b in ends):
            yield one, other


def cut_offs(plan: Plan) -> Iterator[Finding]:
    """Yield drives whose low-voltage cut-off is too low for the pack's cells."""
    boat = plan.boat
    graph = conducting(boat)
    for drive in parts_in(boat, Group.DRIVE):
        values, supply = nominal(boat, drive), side_of(boat, drive, Side.POSITIVE)
        if "cutoff_v" not in values or supply is None:
            continue
        feeding = [end.part for end in pack_ends(boat, Side.POSITIVE) if end in reached(graph, supply)]
        for pack in feeding[:1]:
            stop = STOP_V.get(boat.parts[pack].kind.name)
            cells = nominal(boat, pack)["cells"] * _in_series(boat, pack)
            if stop is not None and values["cutoff_v"] < stop[0] * cells * (1.0 - _WHOLE):
                yield finding(
                    boat,
                    "cut-off",
                    drive,
                    severity=Severity.DANGER if stop[0] >= 3.0 else Severity.TROUBLE,
                    says=f"it runs on until {pack.replace('-', ' ')} is harmed",
                    number=(values["cutoff_v"], Unit.VOLT),
                    limit=stop[0] * cells,
                    when=f"{cells:g} cells",
                    source=stop[1],
                    remedy=f"Set its cut-off to {stop[0] * cells:.3g} V or more, or watch the pack by an alarm.",
                )


def _in_series(boat: Boat, pack: str) -> int:
    """Return how many packs stand one on the other below and with this one."""
    graph, count, lower = conducting(boat), 1, pack
    for _ in parts_in(boat, Group.PACK):
        negative = side_of(boat, lower, Side.NEGATIVE)
        below = [
            end.part
            for end in pack_ends(boat, Side.POSITIVE)
            if negative is not None and end.part != pack and end in reached(graph, negative)
        ]
        if not below:
            break
        count, lower = count + 1, below[0]
    return count


def storage(plan: Plan) -> Iterator[Finding]:
    """Yield packs that are soon flat when the boat is put away plugged in."""
    for pack, days in _days_to_flat(plan).items():
        if days < _DAYS:
            yield finding(
                plan.boat,
                "storage",
                pack,
                severity=Severity.NOTE,
                says=f"switched off but left plugged in, it is flat in {days:.2g} days",
                number=(days * _SECONDS_A_DAY, Unit.SECOND),
                limit=_DAYS * _SECONDS_A_DAY,
                when=plan.stored.title,
                source=_STORED,
                remedy="Unplug the pack after use, or put a switch before what always draws current.",
            )


def _days_to_flat(plan: Plan) -> Mapping[str, float]:
    found = {}
    for end in pack_ends(plan.boat, Side.POSITIVE):
        amps = -float(plan.stored.into(end).mean())
        values = nominal(plan.boat, end.part)
        if amps > _IDLE_A:
            found[end.part] = values["capacity_ah"] * values["soc"] / amps / 24.0
    return found


def short_runs(plan: Plan) -> Iterator[Finding]:
    """Yield packs that are empty before the job is done."""
    for pack, minutes in run_minutes(plan).items():
        if minutes < _MINUTES:
            yield finding(
                plan.boat,
                "run time",
                pack,
                severity=Severity.NOTE,
                says="it is empty soon at the use described",
                number=(minutes * 60.0, Unit.SECOND),
                limit=_MINUTES * 60.0,
                source=_OUTING,
                remedy="Use a pack with more capacity, or two alike side by side.",
            )


def run_minutes(plan: Plan) -> Mapping[str, float]:
    """Return the run time of each pack by the described use of the controls (all the time where none is given).

    The mean current is that at rest, what the switches add for their share of the time, and for each stick or lever
    what its stronger end adds for its own.
    """
    boat, case = plan.boat, plan.usual
    found = {}
    for end in pack_ends(boat, Side.POSITIVE):
        drawn = dict(zip(case.states, -case.into(end).reshape(-1, 2).mean(axis=1), strict=True))
        ready = drawn.get(ready_state(boat), 0.0)
        on = drawn.get(switched_on(boat), ready)
        switches, sticks = [], []
        for name, control in boat.radio.controls.items():
            share = boat.usage.get(name, 1.0)
            if control.kind is ControlKind.SWITCH:
                switches.append(share)
            else:
                moved = [a for s, a in drawn.items() if s.get(name) != control.rest]
                sticks.append(share * max([0.0, *(a - on for a in moved)]))
        amps = float(ready + max(switches, default=0.0) * (on - ready) + sum(sticks))
        if amps > _IDLE_A:
            found[end.part] = 60.0 * _USABLE * nominal(boat, end.part)["capacity_ah"] / amps
    return found


def pack_figures(plan: Plan) -> Iterator[Figure]:
    """Yield run time and time to flat of each pack."""
    for pack, minutes in run_minutes(plan).items():
        yield Figure(
            name=f"run time of {pack.replace('-', ' ')}",
            value=Quantity(value=60.0 * minutes, unit=Unit.SECOND),
            about="four fifths of the charge, at the described use of the controls",
        )
    for pack, days in _days_to_flat(plan).items():
        if days > _A_YEAR:
            continue
        yield Figure(
            name=f"{pack.replace('-', ' ')} left plugged in",
            value=Quantity(value=days * _SECONDS_A_DAY, unit=Unit.SECOND),
            about="until flat, everything switched off",
        )
