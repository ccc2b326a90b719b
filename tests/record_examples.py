"""Record the example cases, draw the pictures and write a whole case anew: ``python -m tests.record_examples``.

Each is a hunt on a virtual boat with one hidden fault. The player talks to the program through the line protocol
alone, as any other program would, and knows nothing but its own boat.
"""

import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from math import isinf
from pathlib import Path
from random import Random
from typing import IO, Any, Final

from assistant.circuit import BoatState, Fault, Measurement, MeterFunction, build_network, make_solver
from assistant.cli.workbench import choose_boat, open_workbench, read_boat
from assistant.diagnosis import SignQuery
from assistant.drill import VirtualBoat
from assistant.wiring import Boat, Point, load_boat
from tests.pictures import draw
from tests.whole_case import FILE, whole_case

ROOT: Final = Path(__file__).resolve().parents[1]
FOLDER: Final = ROOT / "cases" / "recorded"
SEED: Final = 4
PROGRAM: Final = [sys.executable, "-c", "import sys; from assistant.cli import main; sys.exit(main())"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """A hunt to be recorded; without `mend` it ends as a note for the bench."""

    boat: str
    symptom: str
    fault: Fault
    now: str
    mend: bool


EXAMPLES: Final = (
    Example(
        boat="dabchick",
        symptom="pumps-not-running",
        fault=Fault(part="fuse", mode="open"),
        now="2025-06-14T09:30:00+02:00",
        mend=True,
    ),
    Example(
        boat="grebe",
        symptom="pumps-not-running",
        fault=Fault(part="minus.x--port-drive.-@2", mode="open"),
        now="2025-06-14T16:45:00+02:00",
        mend=False,
    ),
    Example(
        boat="pochard",
        symptom="pumps-not-running",
        fault=Fault(part="lower-block.+--lower-fuse.in@1", mode="open"),
        now="2025-06-15T10:20:00+02:00",
        mend=True,
    ),
    Example(
        boat="wigeon",
        symptom="pumps-not-running",
        fault=Fault(part="port-drive.B--port-ahead.-@1", mode="open"),
        now="2025-06-15T14:05:00+02:00",
        mend=True,
    ),
)


@cache
def boat_of(name: str) -> Boat:
    found = choose_boat(name, Path("/nowhere"))
    return load_boat(read_boat(found), found.place, open_workbench().catalogue)


class Player:
    """Answers asks of the line protocol from a boat that only knows its circuit and its fault."""

    def __init__(self, example: Example) -> None:
        self._example = example
        solver = make_solver(build_network(boat_of(example.boat)))
        self._boat = VirtualBoat(solver, [example.fault], Random(SEED))

    def answer(self, ask: Mapping[str, Any]) -> str:
        """Return the answer to an ask."""
        keys = [option["key"] for option in ask["options"]]
        if "reading" in ask:
            return self._read(ask)
        if "sign" in ask and keys:
            sign = SignQuery(part=ask["sign"]["part"], sign=ask["sign"]["sign"], state=_state(ask))
            level = self._boat.look(sign)
            return level if level in keys else "don't know"
        if ask["id"].endswith(".repair"):
            return str(keys[0] if self._example.mend else "bench")
        for place in (ask.get("manipulation") or {"places": []})["places"]:
            self._boat.mend(place)
        return str(keys[0]) if keys else "yes" if ask["want"] == "confirm" else "nothing more"

    def _read(self, ask: Mapping[str, Any]) -> str:
        reading = ask["reading"]
        red, black = (_point(reading[probe]) for probe in ("red", "black"))
        function = MeterFunction(reading["function"])
        value = self._boat.read(Measurement(function=function, red=red, black=black, state=_state(ask)))
        return "OL" if isinf(value) else f"{value:.4f} {reading['unit']}"


def _state(ask: Mapping[str, Any]) -> BoatState:
    return BoatState(pairs=tuple(sorted(ask["state"].items())))


def _point(text: str) -> Point:
    part, _, terminal = text.rpartition(".")
    return Point(part=part, terminal=terminal)


def record(
    example: Example, cases: Path, *, program: Sequence[str] = PROGRAM, folder: Path = ROOT
) -> Mapping[str, Any]:
    """Play an example with a program started in `folder`, kept in `cases`, and return the conclusion."""
    words = ["find", example.boat, "--symptom", example.symptom, "--lines", "--cases", str(cases)]
    fixed = ["--now", example.now, "--seed", str(SEED), "--no-history"]
    with subprocess.Popen(
        [*program, *words, *fixed], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=folder
    ) as talk:
        assert talk.stdin is not None
        assert talk.stdout is not None
        end = _play(Player(example), talk.stdout, talk.stdin)
    assert talk.returncode == 0
    return end


def _play(player: Player, out: IO[str], into: IO[str]) -> Mapping[str, Any]:
    for line in out:
        event = json.loads(line)
        if event["event"] == "conclude":
            return dict(event)
        if event["event"] == "ask":
            into.write(json.dumps({"answer": player.answer(event)}) + "\n")
            into.flush()
    raise EOFError("the program stopped before the end of the hunt")


if __name__ == "__main__":
    for old in FOLDER.glob("*.case.jsonl"):
        old.unlink()
    for one in EXAMPLES:
        concluded = record(one, FOLDER)
        print(one.boat, concluded["ending"], [repair["place"] for repair in concluded["repairs"]])
    draw()
    FILE.write_text(whole_case(), encoding="utf-8")
