"""A person with a meter at a virtual boat, who knows of the program only what it says by the line protocol."""

from collections.abc import Mapping
from math import isinf
from random import Random
from typing import Any

from assistant.circuit import BoatState, Fault, Measurement, MeterFunction, Solver
from assistant.diagnosis import SignQuery
from assistant.drill import VirtualBoat
from assistant.wiring import Point

Line = Mapping[str, Any]


def point_of(text: str) -> Point:
    part, _, terminal = text.rpartition(".")
    return Point(part=part, terminal=terminal)


class LinePerson:
    """Answers every question from the boat; `part` is the one complained about, `boat` knows its circuit alone."""

    def __init__(self, solver: Solver, faults: tuple[Fault, ...], part: str, seed: str) -> None:
        self.boat = VirtualBoat(solver, faults, Random(seed))
        self.part = part
        self.readings = 0

    def answer(self, ask: Line) -> str:
        """Return the answer to a question as it would be typed."""
        keys = [option["key"] for option in ask["options"]]
        if "reading" in ask:
            self.readings += 1
            reading = ask["reading"]
            value = self.boat.read(
                Measurement(
                    function=MeterFunction(reading["function"]),
                    red=point_of(reading["red"]),
                    black=point_of(reading["black"]),
                    state=BoatState.of(ask["state"]),
                )
            )
            return "OL" if isinf(value) else f"{value:.5f}"
        if "sign" in ask and ask["want"] == "choice":
            sign = ask["sign"]
            # A sign may be asked from memory, of a state that the boat need not be in now.
            state = BoatState.of(ask["state"] or sign["state"])
            level = self.boat.look(SignQuery(part=sign["part"], sign=sign["sign"], state=state))
            return str(keys.index(level) + 1) if level in keys else "don't know"
        if ask["want"] == "choice":
            for wanted in (self.part, "note", "bench"):
                if wanted in keys:
                    return str(keys.index(wanted) + 1)
            return "don't know"
        return "yes"
