"""How honest the bands are, as a table: ``python -m tests.calibration [BOAT ...]``.

The exit code is 0 when, on every boat, the bands hold 98.5 to 99.7 % of the readings.
"""

import sys

import numpy as np

from tests.calibration.campaign import BOATS, calibrate
from tests.support.boats import example_boats

LEAST, MOST = 0.985, 0.997
_ROW = "{:<12} {:<44} {:>9} {:>9} {:>12} {:>12} {:>9}"


def main(names: list[str]) -> int:
    """Calibrate the named boats, or all, and return the exit code."""
    boats = example_boats()
    unknown = [name for name in names if name not in boats]
    if unknown:
        print(f"no boat {', '.join(unknown)}; the boats are {', '.join(boats)}", file=sys.stderr)
        return 2
    print(f"{BOATS} healthy boats each")
    print(_ROW.format("boat", "state", "readings", "inside %", "2/3 width %", "worst one %", "restless"))
    good = True
    for name in names or boats:
        shares = []
        for s in calibrate(boats[name]):
            shares.append(s)
            row = (f"{100 * s.inside:.2f}", f"{100 * s.narrow:.2f}", f"{100 * s.worst:.2f}", s.restless)
            print(_ROW.format(name, s.state, s.readings, *row), flush=True)
        inside, narrow = (float(np.mean([getattr(s, what) for s in shares])) for what in ("inside", "narrow"))
        print(
            _ROW.format(
                name,
                "all",
                sum(s.readings for s in shares),
                f"{100 * inside:.2f}",
                f"{100 * narrow:.2f}",
                "",
                "",
            )
        )
        good &= LEAST <= inside <= MOST
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
