"""A small good lesson and ways to spoil it."""

from assistant.lessons import Lesson, load_lessons

CAUTIONS = frozenset({"held-boat"})
GOOD = """\
lesson: sample
order: 1
title: Sample
idea: volts add in series
text: Two lamps share the volts of the pack.
worked:
  boat: |
    boat: Two resistors
    parts:
      pack: {kind: nimh pack, cells: 10, capacity: 3 Ah}
      first: {kind: resistor, body: 1 kohm}
      second: {kind: resistor, body: 3 kohm}
    runs:
      - [pack +, 20 AWG 10 cm, first, 20 AWG 10 cm, second, 20 AWG 10 cm, pack -]
  numbers:
    all: {read: DC volts, red: pack +, black: pack -, expect: [12 V, 14 V]}
    part: {read: DC volts, red: first 1, black: first 2, expect: [3 V, 4 V]}
    drift: {read: DC volts, red: first 1, black: first 2, fault: first drift, severity: 3, expect: [6 V, 7 V]}
    flow: {amps: first body, expect: [3 mA, 4 mA]}
    size: {value: second body_ohm, expect: [3 kohm, 3 kohm]}
    path: {read: ohms, red: first 1, black: second 2, base: rest, expect: [3.9 kohm, 4.1 kohm]}
    broken: {read: continuity, red: first 1, black: first 2, base: rest, fault: first open, expect: [OL, OL]}
    smell: {sign: first look, expect: cool}
  says: "{all}, {part}, {drift} (up to {drift.severity}), {flow}, {size}, {path}, {broken}, {smell}."
caution: held-boat
sources:
  - {source: "Ohm's law", status: c}
drills:
  - {boat: dabchick, faults: [fuse corroded], complaint: pump turning}
  - {boat: dabchick, faults: [fuse open, "pack.+--fuse.in@1 open"], at-once: 2}
"""


def files(text: str) -> dict[str, str]:
    """Return knowledge files with one lesson."""
    return {"lessons/sample.yaml": text, "safety.yaml": "not looked at"}


def changed(old: str, new: str) -> str:
    """Return the good lesson with one place changed, which must be there."""
    assert old in GOOD, old
    return GOOD.replace(old, new, 1)


def sample(text: str = GOOD) -> Lesson:
    """Return the lesson that a text describes."""
    return load_lessons(files(text), CAUTIONS)["sample"]
