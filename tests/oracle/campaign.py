"""Every example boat, in every boat state, healthy and with every single fault, against the independent simulator.

Compared are all node voltages, and whether the conditions that the program settled on are borne out by the simulator's
voltages.  Of what alternates for ever both phases are compared; there, something must want to change in each.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import Severity
from assistant.circuit import (
    BoatState,
    Fault,
    Network,
    Phase,
    Solution,
    Variant,
    build_network,
    make_solver,
    ready_state,
    rest_state,
)
from assistant.wiring import Boat, SettingSort, settings_of
from tests.oracle.netlist import Case
from tests.oracle.simulate import NoAnswerError, simulate, warnings_refused

Flags = NDArray[np.bool_]

CLOSE_V = 1e-3
CLOSE_SHARE = 1e-3


def states_of(boat: Boat) -> Mapping[str, BoatState]:
    """Return the boat states to compare: at rest, ready, transmitter off, each control at each end, all at once.

    A switch on the transmitter may be what feeds everything else, so controls are moved with such switches at rest and
    with all of them on.
    """
    settings = settings_of(boat)
    controls = [s for s in settings if s.sort is SettingSort.CONTROL]
    switched = {s.id: s.high for s in controls if s.steps}
    ready = ready_state(boat)
    states = {"all off": rest_state(boat), "ready": ready}
    if boat.radio.channels:
        states["no transmitter"] = ready.with_({"transmitter": 0.0})
    for words, base in (("", ready), (" while on", ready.with_(switched))):
        if words and switched:
            states["on"] = base
        for control in controls:
            for value in (control.low, control.high):
                states[f"{control.id} {value:+g}{words}"] = base.with_({control.id: value})
    for value, words in ((0, "all forward"), (1, "all back")):
        ends = {c.id: (c.low if value and not c.steps else c.high) for c in controls}
        states[words] = ready.with_(ends)
    kept: dict[str, BoatState] = {}
    for name, state in states.items():
        if state not in kept.values():
            kept[name] = state
    return kept


def variants_of(network: Network) -> tuple[Variant, ...]:
    """Return the healthy boat, and every fault mode of every part at a low, a middle and a high severity."""
    faults = [
        Fault(part.id, mode.name, severity)
        for part in network.parts.values()
        for mode in part.kind.faults.values()
        for severity in severities_of(mode.severity)
    ]
    return (Variant(), *(Variant(faults=(fault,)) for fault in faults))


def severities_of(severity: Severity | None) -> tuple[float, ...]:
    """Return both ends and the middle of a range of severities."""
    if severity is None:
        return (0.0,)
    middle = sqrt(severity.low * severity.high) if severity.log else 0.5 * (severity.low + severity.high)
    return (severity.low, middle, severity.high)


class Sort(StrEnum):
    """What can disagree."""

    VOLTS = "volts"  # a node voltage
    UNSETTLED = "unsettled"  # the program found no steady state
    UNANSWERED = "unanswered"  # the simulator found none, not even when started at the program's
    INCONSISTENT = "inconsistent"  # a condition of a settled boat contradicts the voltages
    STILL = "still"  # in a phase of what alternates, no condition wants to change
    STARVED = "starved"  # a condition wants to change in both phases of what alternates, and never does


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something that does not agree, at a point, a condition or the whole boat."""

    boat: str
    state: str
    fault: str
    sort: Sort
    where: str
    ours: float
    theirs: float

    def __str__(self) -> str:
        return (
            f"{self.boat}, {self.state}, {self.fault}: {self.sort} at {self.where}, ours {self.ours:.6g}, "
            f"the simulator's {self.theirs:.6g}"
        )


@dataclass(slots=True)
class Tally:
    """What was compared, and what was found."""

    variants: int = 0
    restless: int = 0
    voltages: int = 0
    conditions: int = 0
    helped: int = 0  # operating points the simulator found only when started at the program's voltages
    worst_v: float = 0.0
    findings: list[Finding] = field(default_factory=list)

    def add(self, other: "Tally") -> None:
        """Count another tally in."""
        self.variants += other.variants
        self.restless += other.restless
        self.voltages += other.voltages
        self.conditions += other.conditions
        self.helped += other.helped
        self.worst_v = max(self.worst_v, other.worst_v)
        self.findings += other.findings


def compare(boat: str, state: str, variants: Sequence[Variant], solution: Solution) -> Tally:
    """Compare the program's solution of all variants of a boat in one boat state."""
    tally = Tally()
    with warnings_refused():
        for row, variant in enumerate(variants):
            fault = ", ".join(f"{f.part} {f.mode} {f.severity:.3g}" for f in variant.faults) or "healthy"
            tally.add(_Comparison(boat, state, fault, variant, solution, row).run())
    return tally


@dataclass(frozen=True, slots=True)
class _Comparison:
    boat: str
    state: str
    fault: str
    variant: Variant
    solution: Solution
    row: int

    def finding(self, sort: Sort, where: str, ours: float = 0.0, theirs: float = 0.0) -> Finding:
        return Finding(
            boat=self.boat,
            state=self.state,
            fault=self.fault,
            sort=sort,
            where=where,
            ours=ours,
            theirs=theirs,
        )

    def run(self) -> Tally:
        solution, row = self.solution, self.row
        tally = Tally(variants=1)
        if solution.failed[row]:
            tally.findings.append(self.finding(Sort.UNSETTLED, "whole boat"))
            return tally
        restless = solution.restless[:, row]
        phases = [solution.phase, solution.other] if restless.any() else [solution.phase]
        tally.restless = len(phases) - 1
        wants = []
        for phase in phases:
            holds = tuple(phase.conditions[:, row].tolist())
            case = Case(solution.network, solution.state, self.variant.faults, holds)
            volts = self._volts(case, phase, tally)
            if volts is None:
                return tally
            wants.append([_wants_change(case, c, volts) for c in range(len(holds))])
        tally.conditions = len(wants) * len(restless)
        tally.findings += self._judge(np.array(wants), restless)
        return tally

    def _volts(self, case: Case, phase: Phase, tally: Tally) -> list[float] | None:
        ours: list[float] = phase.volts[:, self.row].tolist()
        try:
            theirs = simulate(case)
        except NoAnswerError:
            tally.helped += 1
            try:
                theirs = simulate(case, ours)
            except NoAnswerError as error:
                tally.findings.append(self.finding(Sort.UNANSWERED, str(error)))
                return None
        for node, (mine, other) in enumerate(zip(ours, theirs, strict=True)):
            off = abs(mine - other)
            tally.worst_v = max(tally.worst_v, off)
            if off > max(CLOSE_V, CLOSE_SHARE * abs(other)):
                tally.findings.append(self.finding(Sort.VOLTS, str(case.network.nodes[node]), mine, other))
        tally.voltages += len(ours) - 1
        return theirs

    def _judge(self, wants: Flags, restless: Flags) -> Iterator[Finding]:
        names = [f"{c.part} {c.name}" for c in self.solution.network.conditions]
        if not restless.any():
            yield from (self.finding(Sort.INCONSISTENT, names[c]) for c in np.flatnonzero(wants[0]))
            return
        for phase in wants:
            if not phase.any():
                yield self.finding(Sort.STILL, "a phase of what alternates is steady")
        yield from (
            self.finding(Sort.STARVED, names[c]) for c in np.flatnonzero(wants.all(axis=0) & ~restless)
        )


def _wants_change(case: Case, number: int, volts: Sequence[float]) -> bool:
    """Tell whether a condition contradicts these voltages."""
    condition, holds = case.network.conditions[number], case.holds[number]
    forced = case.forced(condition)
    if forced is not None:
        return holds is not forced
    if not all(case.holds[gate] for gate in condition.when):
        return holds
    sensed = case.sensed(condition, volts)
    on, off = case.thresholds(condition)
    slack = CLOSE_SHARE * abs(on)
    return sensed <= off - slack if holds else sensed >= on + slack


def campaign(boats: Mapping[str, Boat], *, sparse: bool = False) -> Iterator[tuple[str, str, Tally]]:
    """Yield boat, state and tally for all boats, states and variants.

    Parameters
    ----------
    sparse
        Take the healthy boat in every state, but each faulty one in a single state, in turn.
    """
    for name, boat in boats.items():
        network = build_network(boat)
        solver = make_solver(network)
        variants = variants_of(network)
        states = states_of(boat)
        for turn, (state, setting) in enumerate(states.items()):
            chosen = (variants[0], *variants[1 + turn :: len(states)]) if sparse else variants
            yield name, state, compare(name, state, chosen, solver.solve(setting, chosen))
