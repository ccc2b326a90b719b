"""How fast it is, as tables: ``python -m tests.bench [BOAT ...]``.

Nothing is asserted here: times belong to the machine that is printed above them.
"""

import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from statistics import median

from tests.bench.measures import (
    branched_hunt,
    exponent,
    growth,
    healthy_solution_ms,
    help_time,
    machine,
    table_time,
    wait,
)
from tests.record_examples import EXAMPLES, Example
from tests.support.boats import example_boats

_SIZES = (10, 40, 150, 400, 1000)
_HUNTS = 3
_HUNTED = (10, 40, 150, 400)
"""Parts of the boats to be hunted on."""


def main(names: list[str]) -> int:
    """Measure the named boats, or all, and return the exit code."""
    boats = example_boats()
    unknown = [name for name in names if name not in boats]
    if unknown:
        print(f"no boat {', '.join(unknown)}; the boats are {', '.join(boats)}", file=sys.stderr)
        return 2
    chosen = {name: boats[name] for name in names or boats}
    print(machine())
    # The hunts come first: a program begins with the peak memory of the one that starts it.
    _print_waits([example for example in EXAMPLES if example.boat in chosen])
    if not names:
        _print_waits_by_size()
    print("\nwhole fault table          solved   us a boat   simulator us    ratio   healthy ms")
    print(f"{'asked':<24} {'':>8} {'':>11} {'':>14} {'>= 50':>8}")
    for name, boat in chosen.items():
        t = table_time(boat)
        print(
            f"{name:<24} {t.solved:>8} {1e6 * t.ours_s:>11.0f} {1e6 * t.theirs_s:>14.0f} "
            f"{t.theirs_s / t.ours_s:>8.1f} {healthy_solution_ms(boat):>12.1f}",
            flush=True,
        )
    print(f"\n--help: {1e3 * help_time():.0f} ms (asked: < 250 ms)")
    points = growth(_SIZES)
    print("\nparts   us a hypothesis   kB a hypothesis")
    for point in points:
        print(f"{point.parts:>5} {1e6 * point.each_s:>17.0f} {point.each_bytes / 1024.0:>17.0f}")
    time_power = exponent(_SIZES, [point.each_s for point in points])
    memory_power = exponent(_SIZES, [point.each_bytes for point in points])
    print(
        f"grows with the number of parts to the power of {time_power:.2f} (asked: <= 1.3), memory {memory_power:.2f}"
    )
    return 0


def _print_waits(examples: Sequence[Example]) -> None:
    _print_heads("asked, 40 parts", "< 1", "< 0.1", "< 200")
    for example in examples:
        _print_wait(example.boat, example)


def _print_waits_by_size() -> None:
    """Print how long hunts on made-up boats take, and what that grows with."""
    _print_heads("asked, 400 parts", "< 5", "< 0.3", "")
    with tempfile.TemporaryDirectory() as folder:
        medians = [_print_wait(f"{size} parts", branched_hunt(size, Path(folder))) for size in _HUNTED]
    powers = [exponent(_HUNTED, [row[n] for row in medians]) for n in range(3)]
    print(
        "power of the parts       "
        + " ".join(f"{power:>{w}.2f}" for power, w in zip(powers, (7, 11, 15), strict=True))
    )


def _print_heads(asked: str, first: str, step: str, peak: str) -> None:
    print("\nhunt                     first s   slowest s   median step s   next slowest s   peak MB")
    print(f"{asked:<24} {first:>7} {step:>11} {step:>15} {step:>16} {peak:>9}")


def _print_wait(name: str, example: Example) -> tuple[float, ...]:
    """Print medians of several hunts, each with a cold cache; return those of first, slowest and median step."""
    waits = []
    for _ in range(_HUNTS):
        with tempfile.TemporaryDirectory() as folder:
            waits.append(wait(example, Path(folder)))
    first, slowest, step, nearly, peak = (
        median(getattr(w, field) for w in waits)
        for field in ("first_s", "asked_s", "step_s", "worst_s", "peak_mb")
    )
    print(f"{name:<24} {first:>7.2f} {slowest:>11.2f} {step:>15.3f} {nearly:>16.2f} {peak:>9.0f}", flush=True)
    return first, slowest, step


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
