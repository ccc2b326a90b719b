"""Troubles that really happened, as written in ``cases/field``: a wiring description and what people told of it.

A file is two YAML documents.  The first is an ordinary wiring description.  The second says which symptom was
brought, what was told in which order, what was touched last, what the cause turned out to be, and whether the repair
showed it.  Boat states are ``ready``, ``unplugged`` or ``rest``, or one that the file spells out from one of these.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

import yaml

from assistant.circuit import BoatState, Fault, ready_state, rest_state
from assistant.wiring import Boat

FOLDER = Path(__file__).parents[2] / "cases" / "field"
_KEYS = {
    "title",
    "symptom",
    "complains",
    "confirmed",
    "cause",
    "touched",
    "replaced",
    "wet",
    "states",
    "told",
    "answers",
    "note",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """What was found: a fault mode at a place; `severity` is 0 where the mode has none."""

    place: str
    mode: str
    severity: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldReport:
    """One report.

    Attributes
    ----------
    causes : what was wrong, the first to be found first; none when nothing was.
    confirmed : whether the trouble was gone after the repair of just that.
    told : what was told, as it is typed after ``told``.
    answers : answers to questions of the graph, by the name of the question.
    note : what the tool cannot know of it, or why it is missed.
    """

    name: str
    wiring: str
    title: str
    symptom: str
    complains: str
    confirmed: bool
    causes: tuple[Cause, ...]
    touched: tuple[str, ...] = ()
    replaced: tuple[str, ...] = ()
    wet: bool = False
    states: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    told: tuple[Mapping[str, str], ...] = ()
    answers: Mapping[str, str] = field(default_factory=dict)
    note: str = ""

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Return what is wrong with the boat."""
        return tuple(Fault(c.place, c.mode, c.severity) for c in self.causes)

    def lines(self, boat: Boat) -> Iterator[str]:
        """Yield what was told, each as a line to type."""
        if self.touched:
            yield f"told touched {', '.join(self.touched)}"
        if self.replaced:
            yield f"told replaced {', '.join(self.replaced)}"
        if self.wet:
            yield "told wet"
        for piece in self.told:
            state = " ".join(f"{key}={value:g}" for key, value in self._state(boat, piece).pairs)
            if "sign" in piece:
                yield f"told {piece['sign']} {piece['level']} in {state}"
            else:
                yield f"told {piece['shows']} from {piece['red']} to {piece['black']} in {state}"

    def _state(self, boat: Boat, piece: Mapping[str, str]) -> BoatState:
        name = piece.get("state", "ready")
        given = dict(self.states.get(name, {}))
        base = given.pop("base", name if name in ("ready", "unplugged", "rest") else "ready")
        state = ready_state(boat) if base == "ready" else rest_state(boat)
        unknown = given.keys() - dict(state.pairs)
        if unknown or (name not in self.states and name not in ("ready", "unplugged", "rest")):
            raise ValueError(f"{self.name}: state {name} names {unknown or 'nothing known'}")
        return state.with_({key: float(value) for key, value in given.items()})


def reports(names: Sequence[str] = (), folder: Traversable = FOLDER) -> tuple[FieldReport, ...]:
    """Return the reports of these names, or all, in order."""
    files = sorted((f for f in folder.iterdir() if f.name.endswith(".yaml")), key=lambda file: file.name)
    wanted = {name.lower() for name in names}
    found = [f for f in files if not wanted or f.name.removesuffix(".yaml") in wanted]
    missing = wanted - {f.name.removesuffix(".yaml") for f in found}
    if missing:
        raise ValueError(f"no such report: {', '.join(sorted(missing))}")
    return tuple(read(file.name.removesuffix(".yaml"), file.read_text(encoding="utf-8")) for file in found)


def read(name: str, text: str) -> FieldReport:
    """Return the report written as `text`."""
    wiring, cut, rest = text.partition("\n---\n")
    if not cut:
        raise ValueError(f"{name}: no second document")
    body: dict[str, Any] = yaml.load(rest, yaml.BaseLoader)  # noqa: S506 - every scalar stays text
    unknown = body.keys() - _KEYS
    if unknown:
        raise ValueError(f"{name}: unknown {', '.join(sorted(unknown))}")
    causes = tuple(
        Cause(place=c["place"], mode=c["mode"], severity=float(c.get("severity", 0.0))) for c in body["cause"]
    )
    return FieldReport(
        name=name,
        wiring=wiring + "\n",
        title=body["title"],
        symptom=body["symptom"],
        complains=body["complains"],
        confirmed={"yes": True, "no": False}[body["confirmed"]],
        causes=causes,
        touched=tuple(body.get("touched", ())),
        replaced=tuple(body.get("replaced", ())),
        wet=body.get("wet") == "yes",
        states=body.get("states", {}),
        told=tuple(body.get("told", ())),
        answers=body.get("answers", {}),
        note=" ".join(body.get("note", "").split()),
    )
