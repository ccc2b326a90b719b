"""`leadline prove [BOAT]`: break boats in every way on the computer and measure how well the faults are found."""

import argparse
import json
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from types import MappingProxyType
from typing import Final

from assistant.circuit import CHEAP_METER, build_network
from assistant.cli.play import reporting
from assistant.cli.workbench import boats_found, choose_boat, open_workbench, read_boat
from assistant.diagnosis import Diagnosis
from assistant.drill import Report, prove
from assistant.records import example_boats
from assistant.wiring import load_boat

__all__ = ["declare", "run"]

_PERCENT: Final = MappingProxyType(
    {
        "found": "right repair in the verdict",
        "found_weighted": "the same, weighted by how often faults come",
        "sole": "named alone, where any step tells it apart",
    }
)
_PLAIN: Final = MappingProxyType(
    {
        "faults": "faults that show",
        "separable": "of these told apart by some step",
        "mean_readings": "mean readings to the verdict",
        "mean_looks": "mean looks",
        "worst_readings": "most readings",
        "mean_seconds": "mean cost, seconds",
        "half_split_mean_readings": "mean readings when halving by count",
        "lower_bound": "lower bound on steps (Huffman)",
        "false_accusations": "healthy boats accused",
        "healthy_hunts": "of healthy boats",
        "unknown": "hunts that ended in: not known",
        "step_ms": "median time of a step, milliseconds",
    }
)


def declare(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.add_argument("boat", nargs="?", help="name of a boat or its file; all example boats when left out")
    parser.add_argument("--json", action="store_true", help="figures as JSON, a list with an object a boat")
    parser.add_argument("--misread", action="store_true", help="one reading of every hunt is taken wrong")
    parser.add_argument("--no-meter", action="store_true", help="without a meter: eyes and ears only")
    parser.add_argument(
        "--no-halving", action="store_true", help="leave out the comparison with halving by count"
    )
    parser.add_argument(
        "--most", type=int, metavar="N", help="at most so many faults, spread evenly over all"
    )
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="fixes all that is drawn by chance")


def run(arguments: argparse.Namespace) -> int:
    """Carry the command out and return the exit code."""
    return reporting(lambda: _prove(arguments))


def _prove(arguments: argparse.Namespace) -> int:
    bench = open_workbench()
    here = Path.cwd()
    if arguments.boat:
        chosen = [choose_boat(arguments.boat, here)]
    else:
        found = boats_found(here)
        chosen = [found[name] for name in example_boats()]
    meter = CHEAP_METER.only(()) if arguments.no_meter else CHEAP_METER
    reports = []
    for file in chosen:
        boat = load_boat(read_boat(file), file.place, bench.catalogue)
        report, _ = prove(
            Diagnosis(build_network(boat), meter=meter),
            seed=arguments.seed,
            clock=time.perf_counter,
            misread=arguments.misread,
            halving=not (arguments.no_halving or arguments.no_meter),
            most=arguments.most,
            progress=_progress(boat.name),
        )
        reports.append(report)
    sys.stdout.write(_as_json(reports) if arguments.json else _as_table(reports))
    return 0


def _progress(boat: str) -> Callable[[int, int], None]:
    """Return what tells on a terminal how far the hunts are; a pipe is not told."""

    def tell(done: int, of: int) -> None:
        if sys.stderr.isatty():
            sys.stderr.write(f"\r{boat}: {done} of {of} hunts" + ("\n" if done == of else ""))
            sys.stderr.flush()

    return tell


def _as_json(reports: Sequence[Report]) -> str:
    return json.dumps([asdict(report) for report in reports], indent=2) + "\n"


def _as_table(reports: Sequence[Report]) -> str:
    lines = []
    for report in reports:
        figures = asdict(report)
        lines.append(report.boat)
        lines += [f"  {words:<46} {100 * figures[name]:.1f} %" for name, words in _PERCENT.items()]
        lines += [f"  {words:<46} {_number(figures[name])}" for name, words in _PLAIN.items()]
    return "\n".join(lines) + "\n"


def _number(value: float | None) -> str:
    if value is None:
        return "not measured"
    return str(value) if isinstance(value, int) else f"{value:.2f}"
