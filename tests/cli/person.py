"""A person at a virtual boat with one hidden fault, who answers whatever is asked."""

from functools import cache
from math import isinf
from pathlib import Path
from random import Random

from assistant.circuit import Fault, build_network, make_solver
from assistant.cli.workbench import choose_boat, open_workbench, read_boat
from assistant.dialogue import Ask, Setup, Want
from assistant.drill import VirtualBoat
from assistant.records import default_cache
from assistant.session import Session
from assistant.wiring import load_boat

METER = ("DC volts", "ohms", "continuity")


@cache
def _setup(boat: str) -> Setup:
    bench = open_workbench(default_cache())
    found = choose_boat(boat, Path("/nowhere"))
    return bench.setup(load_boat(read_boat(found), found.place, bench.catalogue), METER)


class Person:
    """Holds a boat that only knows its circuit and its fault, and a session that runs beside the program's."""

    def __init__(self, boat: str, symptom: str, fault: Fault) -> None:
        setup = _setup(boat)
        self.session = Session(setup, symptom)
        self.boat = VirtualBoat(make_solver(build_network(setup.boat)), [fault], Random(4))

    @property
    def ask(self) -> Ask | None:
        """The question that the program puts now."""
        return self.session.state.pending

    def answer(self) -> str:
        """Return the answer to the present question, and take it in the session beside."""
        ask = self.ask
        assert ask is not None
        text = self._found(ask)
        self.session.answer(text, "now")
        return text

    def _found(self, ask: Ask) -> str:
        if ask.measurement is not None:
            value = self.boat.read(ask.measurement)
            return "OL" if isinf(value) else f"{value:.5f}"
        if ask.query is not None and ask.want is Want.CHOICE:
            level = self.boat.look(ask.query)
            keys = [option.key for option in ask.options]
            return str(keys.index(level) + 1) if level in keys else "don't know"
        if ask.manipulation is not None:
            for place in ask.manipulation.places:
                self.boat.mend(place)
        return "1" if ask.want is Want.CHOICE else "yes" if ask.want is Want.CONFIRM else "done"
