"""How fast it is, as tables: ``python -m tests.bench [BOAT ...]``.

Nothing is asserted here: times belong to the machine that is printed above them.
"""

import sys
import tempfile
from pathlib import Path
from statistics import median

from tests.bench.measures import exponent, growth, healthy_solution_ms, help_time, machine, table_time, wait
from tests.record_examples import EXAMPLES
from tests.support.boats import example_boats

_SIZES = (10, 40, 150, 400, 1000)
_HUNTS = 3


def main(names: list[str]) -> int:
    """Measure the named boats, or all, and return the exit code."""
    boats = example_boats()
    unknown = [name for name in names if name not in boats]
    if unknown:
        print(f"no boat {', '.join(unknown)}; the boats are {', '.join(boats)}", file=sys.stderr)
        return 2
    chosen = {name: boats[name] for name in names or boats}
    print(machine())
    print("\nwhole fault table          solved   us a boat   simulator us    ratio   healthy ms")
    print(f"{'asked':<24} {'':>8} {'':>11} {'':>14} {'>= 50':>8}")
    for name, boat in chosen.items():
        t = table_time(boat)
        print(
            f"{name:<24} {t.solved:>8} {1e6 * t.ours_s:>11.0f} {1e6 * t.theirs_s:>14.0f} "
            f"{t.theirs_s / t.ours_s:>8.1f} {healthy_solution_ms(boat):>12.1f}",
            flush=True,
        )
    _print_waits([n for n, example in enumerate(EXAMPLES) if example.boat in chosen])
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


def _print_waits(numbers: list[int]) -> None:
    print("\nhunt                     first s   slowest s   median step s   next slowest s   peak MB")
    print(f"{'asked, 40 parts':<24} {'< 1':>7} {'< 0.1':>11} {'< 0.1':>15} {'< 0.1':>16} {'< 200':>9}")
    for number in numbers:
        with tempfile.TemporaryDirectory() as folder:
            waits = [wait(number, Path(folder)) for _ in range(_HUNTS)]
        row = [
            median(getattr(w, name) for w in waits) for name in ("first_s", "asked_s", "step_s", "worst_s")
        ]
        peak = median(w.peak_mb for w in waits)
        print(
            f"{EXAMPLES[number].boat:<24} {row[0]:>7.2f} {row[1]:>11.2f} {row[2]:>15.3f} {row[3]:>16.2f} {peak:>9.0f}",
            flush=True,
        )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
