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

from assistant.circuit import build_network
from assistant.cli.meters import declare_meter, meter_of, profile_of
from assistant.cli.options import at_hand_of, declare_at_hand
from assistant.cli.play import reporting
from assistant.cli.workbench import boats_found, choose_boat, open_workbench, read_boat
from assistant.diagnosis import Diagnosis
from assistant.drill import Confusion, Report, Trying, prove, prove_pairs
from assistant.errors import AnswerError
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
        "mean_wiggles": "mean places moved while watching",
        "worst_readings": "most readings",
        "mean_seconds": "mean cost, seconds",
        "half_split_mean_readings": "mean readings when halving by count",
        "lower_bound": "lower bound on steps (Huffman)",
        "over_optimum": "steps of the rule over the exact optimum",
        "optimum_faults": "of so many faults, where it can be worked out",
        "false_accusations": "healthy boats accused",
        "healthy_hunts": "of healthy boats",
        "healthy_mean_readings": "mean readings until these are called well",
        "healthy_mean_looks": "mean looks until then",
        "healthy_mean_seconds": "mean cost of that, seconds",
        "unknown": "hunts that ended in: not known",
        "step_ms": "median time of a step, milliseconds",
    }
)


def declare(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.add_argument("boat", nargs="?", help="name of a boat or its file; all example boats when left out")
    parser.add_argument(
        "--json", action="store_true", help="figures as JSON: one object for a named boat, else a list"
    )
    parser.add_argument("--misread", action="store_true", help="one reading of every hunt is taken wrong")
    parser.add_argument("--pairs", action="store_true", help="two faults at once, found one after the other")
    parser.add_argument(
        "--comes-and-goes",
        action="store_true",
        help="hide faults that come and go, which the owner says",
    )
    declare_meter(parser)
    declare_at_hand(parser)
    parser.add_argument(
        "--no-halving", action="store_true", help="leave out the comparison with halving by count"
    )
    parser.add_argument(
        "--most", type=int, metavar="N", help="at most so many faults (or pairs), spread evenly over all"
    )
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="fixes all that is drawn by chance")


def run(arguments: argparse.Namespace) -> int:
    """Carry the command out and return the exit code."""
    return reporting(lambda: _prove(arguments))


def _prove(arguments: argparse.Namespace) -> int:
    _refuse_bad(arguments)
    bench = open_workbench()
    here = Path.cwd()
    if arguments.boat:
        chosen = [choose_boat(arguments.boat, here)]
    else:
        found = boats_found(here)
        chosen = [found[name] for name in example_boats()]
    whole = meter_of(profile_of(arguments))
    meter = whole.only(()) if arguments.no_meter else whole
    reports = []
    for file in chosen:
        boat = load_boat(read_boat(file), file.place, bench.catalogue)
        reports.append(_report(arguments, Diagnosis(build_network(boat), meter=meter)))
    if arguments.json:
        figures = [asdict(report) for report in reports]
        shown = figures[0] if arguments.boat else figures
        sys.stdout.write(json.dumps(shown, indent=2, default=str) + "\n")
    else:
        sys.stdout.write(_as_table(reports))
    return 0


def _refuse_bad(arguments: argparse.Namespace) -> None:
    """Refuse what would be left out unseen, and no faults at all, before anything is reckoned out."""
    if arguments.most is not None and arguments.most < 1:
        reason = "at least one fault has to be hidden"
        raise AnswerError(value=arguments.most, place="--most", reason=reason, next_step="give 1 or more")
    for name in ("misread", "comes_and_goes"):
        if arguments.pairs and getattr(arguments, name):
            option = f"--{name.replace('_', '-')}"
            reason = "pairs are hunted without slips, and they stay"
            raise AnswerError(
                value=option, place="--pairs", reason=reason, next_step="leave out one of the two"
            )


def _report(arguments: argparse.Namespace, diagnosis: Diagnosis) -> Report:
    trying = Trying(
        seed=arguments.seed,
        misread=arguments.misread,
        halving=not (arguments.no_halving or arguments.no_meter or arguments.comes_and_goes),
        comes_and_goes=arguments.comes_and_goes,
        most=arguments.most,
        at_hand=at_hand_of(arguments),
    )
    progress = _progress(diagnosis.network.boat.name)
    if arguments.pairs:
        return prove_pairs(diagnosis, trying, clock=time.perf_counter, progress=progress)
    return prove(diagnosis, trying, clock=time.perf_counter, progress=progress)[0]


def _progress(boat: str) -> Callable[[int, int], None]:
    """Return what tells on a terminal how far the hunts are; a pipe is not told."""

    def tell(done: int, of: int) -> None:
        if sys.stderr.isatty():
            sys.stderr.write(f"\r{boat}: {done} of {of} hunts" + ("\n" if done == of else ""))
            sys.stderr.flush()

    return tell


def _as_table(reports: Sequence[Report]) -> str:
    lines = []
    for report in reports:
        figures = asdict(report)
        lines.append(report.boat)
        lines += [f"  {words:<46} {_percent(figures[name])}" for name, words in _PERCENT.items()]
        lines += [f"  {words:<46} {_number(figures[name])}" for name, words in _PLAIN.items()]
        lines += _by_sign(report)
        lines += _confusions(report.confusions)
    return "\n".join(lines) + "\n"


def _by_sign(report: Report) -> list[str]:
    if not report.by_sign:
        return []
    lines = ["", f"  {'complaint':<30} {'faults':>6} {'found':>8} {'readings':>9}"]
    lines += [
        f"  {f'{s.part}: {s.sign}':<30} {s.faults:>6} {100 * s.found:>6.1f} % {s.mean_readings:>9.2f}"
        for s in report.by_sign
    ]
    return lines


def _confusions(pairs: Sequence[Confusion]) -> list[str]:
    """Return what nothing on offer tells apart, and what would."""
    if not pairs:
        return []
    lines = ["", "  left together, and nothing on offer tells them apart:"]
    for pair in pairs:
        lines.append(f"    {pair.first}  |  {pair.second}  ({pair.hunts})")
        where = f"a test point at {pair.test_point}" if pair.test_point else f"a spare for {pair.first.place}"
        lines.append(f"      would tell: {where}")
    return lines


def _percent(value: float | None) -> str:
    return "not measured" if value is None else f"{100 * value:.1f} %"


def _number(value: float | None) -> str:
    if value is None:
        return "not measured"
    return str(value) if isinstance(value, int) else f"{value:.2f}"
