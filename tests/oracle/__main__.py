"""The whole comparison as a table: ``python -m tests.oracle [BOAT ...]``.

The exit code is 0 when everything agrees but the listed exceptions, and every exception is still needed.
"""

import sys
import time

from tests.oracle.campaign import Tally, campaign
from tests.oracle.exceptions import EXCUSES, unexcused
from tests.support.boats import example_boats

_ROW = "{:<12} {:<26} {:>9} {:>11} {:>10} {:>11} {:>7} {:>9} {:>8} {:>8}"


def main(names: list[str]) -> int:
    """Compare the named boats, or all, and return the exit code."""
    boats = example_boats()
    unknown = [name for name in names if name not in boats]
    if unknown:
        print(f"no boat {', '.join(unknown)}; the boats are {', '.join(boats)}", file=sys.stderr)
        return 2
    chosen = {name: boats[name] for name in names or boats}
    began = time.perf_counter()
    print(
        _ROW.format(
            "boat",
            "state",
            "variants",
            "alternating",
            "voltages",
            "conditions",
            "helped",
            "worst mV",
            "excused",
            "failed",
        )
    )
    whole = Tally()
    for boat, state, tally in campaign(chosen):
        _print_row(boat, state, tally)
        whole.add(tally)
    _print_row("all", "", whole)
    bad = unexcused(whole.findings)
    for finding in bad[:40]:
        print(finding)
    idle = [e for e in EXCUSES if not names and not any(e.covers(f) for f in whole.findings)]
    for excuse in EXCUSES:
        count = sum(excuse.covers(f) for f in whole.findings)
        print(f"exception, met {count} times: {excuse.boat}, {excuse.fault}, {excuse.where}: {excuse.reason}")
    print(
        f"{whole.voltages} node voltages of {whole.variants} variants compared in {time.perf_counter() - began:.0f} s, "
        f"{len(bad)} findings beyond {len(EXCUSES)} exceptions, {len(idle)} exceptions no longer needed"
    )
    return 1 if bad or idle else 0


def _print_row(boat: str, state: str, tally: Tally) -> None:
    bad = len(unexcused(tally.findings))
    numbers = (tally.variants, tally.restless, tally.voltages, tally.conditions, tally.helped)
    print(
        _ROW.format(boat, state, *numbers, f"{1e3 * tally.worst_v:.3f}", len(tally.findings) - bad, bad),
        flush=True,
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
