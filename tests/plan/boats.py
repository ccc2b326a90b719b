"""Boats with one thing wrong each, and the same boats put right."""

from functools import cache
from pathlib import Path

from assistant.catalogue import Catalogue, load_catalogue
from assistant.plan import RULES, Finding, Review, review
from assistant.plan.cases import Plan
from assistant.wiring import Boat, load_boat

ROOT = Path(__file__).resolve().parents[2]


@cache
def catalogue() -> Catalogue:
    parts = (ROOT / "knowledge" / "parts").glob("*.yaml")
    return load_catalogue({str(path): path.read_text(encoding="utf-8") for path in parts})


@cache
def boat_of(text: str) -> Boat:
    return load_boat(text, "boat.yaml", catalogue())


@cache
def example(name: str) -> Boat:
    return boat_of((ROOT / "cases" / f"{name}.yaml").read_text(encoding="utf-8"))


@cache
def review_of(text: str) -> Review:
    return review(boat_of(text))


def found_by(rule: str, text: str) -> list[Finding]:
    """Return what one rule finds on a boat."""
    return list(RULES[rule](plan_of(text)))


@cache
def plan_of(text: str) -> Plan:
    return Plan(boat_of(text))


SOUND = """\
boat: Teal
parts:
  pack:     {kind: nimh pack, cells: 6, capacity: 3.3 Ah}
  fuse:     {kind: blade fuse, rating: 10 A}
  switch:   {kind: toggle switch, rating: 20 A}
  drive:    {kind: reversing drive, bec: 5.0 V at 2 A, rating: 20 A}
  motor:    {kind: motor, rated: 7.2 V at 4 A, stall: 22 A}
  receiver: {kind: receiver}
  rudder:   {kind: servo}
  lamp:     {kind: lamp, rated: 8 V at 0.3 A}
runs:
  - [pack +, 14 AWG 15 cm plug/crimped, fuse, 14 AWG 10 cm crimped/soldered, switch, 14 AWG 20 cm, drive +]
  - [pack -, 14 AWG 30 cm plug/soldered, drive -]
  - [switch out, 20 AWG 20 cm, lamp +]
  - [pack -, 20 AWG 30 cm, lamp -]
  - [drive A, 16 AWG 12 cm, motor +]
  - [drive B, 16 AWG 12 cm, motor -]
radio:
  controls: {throttle: stick, helm: stick}
  channels: {1: rudder, 2: drive}
  mix: {1: {helm: 100 %}, 2: {throttle: 100 %}}
usage: {throttle: 60 %, helm: 20 %}
"""
"""A boat nothing can be found fault with."""


def but(*changes: tuple[str, str], text: str = SOUND) -> str:
    """Return a boat with some words of its description changed, each of which has to be there."""
    for old, new in changes:
        assert text.count(old) >= 1, old
        text = text.replace(old, new)
    return text
