"""A boat small enough to try everything on: one pack, one fuse, one lamp."""

from functools import cache
from pathlib import Path

from assistant.catalogue import Catalogue, load_catalogue
from assistant.circuit import (
    BoatState,
    Measurement,
    MeterFunction,
    Network,
    build_network,
    ready_state,
    rest_state,
)
from assistant.diagnosis import NO_HISTORY, Diagnosis, History, ReadingSeen, SignQuery, SignSeen
from assistant.wiring import Boat, Point, load_boat

KNOWLEDGE = Path(__file__).resolve().parents[2] / "knowledge" / "parts"

SMEW = """\
boat: Smew
parts:
  pack: {kind: nimh pack, cells: 6, capacity: 3.3 Ah}
  fuse: {kind: blade fuse, rating: 5 A}
  lamp: {kind: lamp, rated: 7.2 V at 1 A}
runs:
  - [pack +, 18 AWG 15 cm plug/crimped, fuse, 18 AWG 10 cm, lamp +]
  - [pack -, 18 AWG 25 cm, lamp -]
"""
"""A lamp behind a fuse."""

GARGANEY = """\
boat: Garganey
parts:
  pack: {kind: nimh pack, cells: 6, capacity: 3.3 Ah}
  lamp: {kind: lamp, rated: 7.2 V at 1 A}
runs:
  - [pack +, 18 AWG 30 cm crimped/plug, lamp +]
  - [pack -, 18 AWG 30 cm crimped/plug, lamp -]
"""
"""A lamp on two leads alike."""

PLUS_LEAD, MINUS_LEAD = "pack.+--lamp.+", "pack.---lamp.-"


@cache
def catalogue() -> Catalogue:
    return load_catalogue({str(path): path.read_text(encoding="utf-8") for path in KNOWLEDGE.glob("*.yaml")})


def boat_of(text: str) -> Boat:
    return load_boat(text, "boat.yaml", catalogue())


@cache
def network_of(text: str) -> Network:
    return build_network(boat_of(text))


@cache
def diagnosis_of(text: str, history: History = NO_HISTORY) -> Diagnosis:
    return Diagnosis(network_of(text), history=history)


def ready(text: str) -> BoatState:
    return ready_state(network_of(text).boat)


def unplugged(text: str) -> BoatState:
    return rest_state(network_of(text).boat)


def point(name: str) -> Point:
    """Return the point written as part and terminal with a space between."""
    part, terminal = name.rsplit(" ", 1)
    return Point(part=part, terminal=terminal)


def volts(red: str, black: str, state: BoatState) -> Measurement:
    return Measurement(function=MeterFunction.DC_VOLTS, red=point(red), black=point(black), state=state)


def ohms(red: str, black: str, state: BoatState) -> Measurement:
    return Measurement(function=MeterFunction.OHMS, red=point(red), black=point(black), state=state)


def read(measurement: Measurement, value: float) -> ReadingSeen:
    return ReadingSeen(measurement=measurement, value=value)


def light(state: BoatState, *levels: str) -> SignSeen:
    return SignSeen(query=SignQuery(part="lamp", sign="light", state=state), levels=levels)
