"""What is measured: the fault table against one-by-one runs, growth with the number of parts, and waiting times.

Every figure is the median of several runs.  Nothing here is asserted: times belong to a machine.
"""

import json
import os
import subprocess
import sys
import time
import tracemalloc
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from random import Random
from statistics import median

import numpy as np

from assistant.circuit import Fault, Variant, build_network, make_solver, ready_state
from assistant.wiring import Boat, load_boat
from tests.oracle.campaign import states_of, variants_of
from tests.oracle.netlist import Case
from tests.oracle.simulate import NoAnswerError, simulate, warnings_refused
from tests.record_examples import PROGRAM, ROOT, Example, Player
from tests.support.boats import read_catalogue

RUNS = 5
SAMPLE = 60
HYPOTHESES = 200


def timed(
    work: Callable[[], object], runs: int = RUNS, clock: Callable[[], float] = time.perf_counter
) -> float:
    """Return the median time of some work, in seconds."""
    spans = []
    for _ in range(runs):
        begun = clock()
        work()
        spans.append(clock() - begun)
    return median(spans)


@dataclass(frozen=True, slots=True, kw_only=True)
class TableTime:
    """The whole fault table of a boat: how many boats were solved, and seconds a boat both ways."""

    solved: int
    ours_s: float
    theirs_s: float


def table_time(boat: Boat) -> TableTime:
    """Time every fault in every boat state, and a sample of the same in the independent simulator.

    The simulator is told which conditions hold, so it has one steady state to find where the program finds its way
    there from switching on.  Both are processor time, so that a busy machine favours neither.
    """
    network = build_network(boat)
    solver = make_solver(network)
    variants, states = variants_of(network), tuple(states_of(boat).values())
    begun = time.process_time()
    solutions = solver.solve_each(states, variants)
    ours = (time.process_time() - begun) / (len(states) * len(variants))
    spans: list[float] = []
    random = Random(1)
    with warnings_refused():
        while len(spans) < SAMPLE:
            number, row = random.randrange(len(states)), random.randrange(len(variants))
            holds = tuple(solutions[number].phase.conditions[:, row].tolist())
            begun = time.process_time()
            try:
                simulate(Case(network, states[number], variants[row].faults, holds))
            except NoAnswerError:
                continue
            spans.append(time.process_time() - begun)
    return TableTime(solved=len(states) * len(variants), ours_s=ours, theirs_s=median(spans))


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """Seconds and bytes a hypothesis takes on a boat of so many described parts."""

    parts: int
    each_s: float
    each_bytes: float


def growth(sizes: Sequence[int]) -> tuple[Growth, ...]:
    """Measure the same number of hypotheses on ever larger boats."""
    found = []
    for size in sizes:
        boat = branched_boat(size)
        network = build_network(boat)
        solver = make_solver(network)
        every = variants_of(network)
        chosen = [every[i * len(every) // HYPOTHESES] for i in range(HYPOTHESES)]
        state = ready_state(boat)
        seconds = timed(partial(solver.solve, state, chosen), 3, time.process_time)
        held = peak_bytes(partial(solver.solve, state, chosen))
        found.append(Growth(parts=size, each_s=seconds / HYPOTHESES, each_bytes=held / HYPOTHESES))
    return tuple(found)


def peak_bytes(work: Callable[[], object]) -> int:
    """Return the most memory that some work holds at once."""
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def exponent(parts: Sequence[int], figures: Sequence[float]) -> float:
    """Return the power of the number of parts that figures grow with, by least squares over the logarithms."""
    slope, _ = np.polyfit(np.log(parts), np.log(figures), 1)
    return float(slope)


def branched_boat(size: int) -> Boat:
    """Return a made-up boat of `size` parts."""
    return load_boat(branched_text(size), "bench.yaml", read_catalogue())


_DEVICES = (
    "lamp, rated: 12 V at 0.1 A",
    "pump motor, rated: 12 V at 0.2 A, stall: 1 A",
    "led string, leds: 3, led: 3.2 V at 20 mA, supply: 12 V",
    "depth sounder, draw: 50 mA",
)
_STEERED = """\
  drive: {kind: reversing drive, bec: 5.0 V at 3 A, rating: 20 A}
  motor: {kind: pump motor, rated: 12 V at 2 A, stall: 12 A}
  receiver: {kind: receiver}
  rudder: {kind: servo}
  winch: {kind: servo}
"""
_STEERED_RUNS = """\
  - [plus, 14 AWG 15 cm screwed/plug, drive +]
  - [minus, 14 AWG 15 cm screwed/plug, drive -]
  - [drive A, 16 AWG 15 cm plug/soldered, motor +]
  - [drive B, 16 AWG 15 cm plug/soldered, motor -]
radio:
  controls: {throttle: stick, steer: stick, sheet: lever}
  channels:
    1: rudder
    2: drive
    3: winch
  mix:
    1: {steer: 100 %}
    2: {throttle: 100 %}
    3: {sheet: 100 %}
usage: {throttle: 50 %, steer: 20 %, sheet: 60 %}
"""


def branched_text(size: int, *, steered: bool = False) -> str:
    """Return the description of a boat of `size` parts: a pack, two bus bars, and branches of fuse, switch and lamp.

    One that is steered has pumps, lights and sounders in its branches by turns, and besides a drive with its motor, a
    receiver and two servos.
    """
    branches = max(1, (size - (8 if steered else 3)) // 3)
    capacity = "20 Ah" if steered else "5 Ah"
    lines = ["boat: Bench", "parts:", f"  pack: {{kind: lithium pack, cells: 3, capacity: {capacity}}}"]
    lines += ["  plus: {kind: bus bar}", "  minus: {kind: bus bar}"]
    runs = ["  - [pack +, 10 AWG 20 cm plug/screwed, plus]", "  - [pack -, 10 AWG 20 cm plug/screwed, minus]"]
    for n in range(branches):
        device = _DEVICES[n % len(_DEVICES) if steered else 0]
        name = f"{device.split(',')[0].split()[0]}-{n}"
        lines += [
            f"  fuse-{n}: {{kind: blade fuse, rating: 5 A}}",
            f"  switch-{n}: {{kind: toggle switch, rating: 5 A}}",
            f"  {name}: {{kind: {device}}}",
        ]
        way = f"fuse-{n}, 18 AWG 10 cm crimped/soldered, switch-{n}, 18 AWG 30 cm soldered/plug, {name} +"
        runs += [f"  - [plus, 18 AWG 10 cm screwed/crimped, {way}]"]
        runs += [f"  - [minus, 18 AWG 30 cm screwed/plug, {name} -]"]
    head, tail = "\n".join(lines) + "\n", "\n".join(["runs:", *runs]) + "\n"
    return head + _STEERED + tail + _STEERED_RUNS if steered else head + tail


def branched_hunt(size: int, folder: Path) -> Example:
    """Describe such a boat in a file, and return a hunt on it: its first lamp is dark by a blown fuse."""
    file = folder / f"bench-{size}.yaml"
    file.write_text(branched_text(size), encoding="utf-8")
    blown = Fault(part="fuse-0", mode="open")
    return Example(boat=str(file), symptom="lights-out", fault=blown, now="", mend=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """A hunt through the line protocol: seconds to the first computed question, median later step, peak memory."""

    first_s: float
    asked_s: float
    step_s: float
    worst_s: float
    peak_mb: float


def wait(example: Example, folder: Path) -> Wait:
    """Play an example, its cases and cache in a folder, and note how long the program thinks."""
    words = ["find", example.boat, "--symptom", example.symptom, "--lines", "--cases", str(folder)]
    player = Player(example)
    begun = time.perf_counter()
    with subprocess.Popen(
        [*PROGRAM, *words, "--no-history"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        cwd=ROOT,
        env={**os.environ, "XDG_CACHE_HOME": str(folder)},
    ) as talk:
        assert talk.stdin is not None
        assert talk.stdout is not None
        spans: list[float] = []
        asked = begun
        for line in talk.stdout:
            event = json.loads(line)
            if event["event"] == "conclude":
                break
            if event["event"] == "ask":
                spans.append(time.perf_counter() - asked)
                talk.stdin.write(json.dumps({"answer": player.answer(event)}) + "\n")
                asked = time.perf_counter()
                talk.stdin.flush()
        talk.stdin.close()
        _, _, usage = os.wait4(talk.pid, 0)
        talk.returncode = 0
    later = sorted(spans[1:])
    return Wait(
        first_s=spans[0],
        asked_s=later[-1],
        step_s=median(later),
        worst_s=later[-2] if len(later) > 1 else later[-1],
        peak_mb=usage.ru_maxrss / 1024.0,
    )


def help_time() -> float:
    """Return the seconds of `leadline --help`."""
    return timed(
        lambda: subprocess.run([*PROGRAM, "--help"], stdout=subprocess.DEVNULL, check=True, cwd=ROOT)
    )


def healthy_solution_ms(boat: Boat) -> float:
    """Return the milliseconds of one healthy boat in one state, network and all, with everything imported."""
    state = ready_state(boat)
    return 1e3 * timed(lambda: make_solver(build_network(boat)).solve(state, [Variant()]))


def machine() -> str:
    """Return what the figures were measured on."""
    model = "unknown processor"
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.exists():
        rows = [row for row in cpuinfo.read_text().splitlines() if row.startswith("model name")]
        model = rows[0].partition(":")[2].strip() if rows else model
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    return f"{model}, {os.cpu_count()} cores, load {load:.1f}, Python {sys.version.split()[0]}, numpy {np.__version__}"
