"""A handful of plain part kinds for tests of wiring, beside the real kinds of wires and joints."""

from pathlib import Path

from assistant.catalogue import Catalogue, load_catalogue

KNOWLEDGE = Path(__file__).resolve().parents[2] / "knowledge" / "parts"
LEAD_KINDS = ("wire", "soldered-joint", "crimped-joint", "plugged-joint", "screwed-joint")

_SOURCE = "about: x, source: made up, status: p"
_HEAD = "about: x\nweight: {of: 1, source: made up, status: p}\nprobe: with care\n"


def _terminals(**sides: str) -> str:
    names = {"plus": '"+"', "minus": '"-"'}
    rows = (
        f"  {names.get(name, name)}: {{about: x, side: {side}, reach: open}}" for name, side in sides.items()
    )
    return "terminals:\n" + "\n".join(rows) + "\n"


KINDS = {
    "pack": "group: pack\n"
    + _terminals(plus="positive", minus="negative")
    + f"values: {{volts_v: {{unit: V, low: 1, high: 60, {_SOURCE}}}}}\n"
    + "settings: {plugged: {about: pack plug, off: unplugged, on: plugged in, rest: off, seconds: 8}}\n"
    + 'elements: {cell: {emf: ["+", "-"], volts: volts_v, ohm: 20 mohm, when: [plugged]}}\n',
    "fuse": "group: fuse\nthrough: [in, out]\n"
    + _terminals(**{"in": "positive", "out": "positive"})
    + f"values: {{rating_a: {{unit: A, low: 1, high: 100, {_SOURCE}}}}}\n"
    + "elements: {link: {resistance: [in, out], ohm: 5 mohm}}\n",
    "bus": "group: junction\nthrough: [x]\n" + _terminals(x="neutral"),
    "pump": "group: motor\n"
    + _terminals(plus="positive", minus="negative")
    + "values:\n"
    + f"  rated_v: {{unit: V, low: 1, high: 60, {_SOURCE}}}\n"
    + f"  rated_a: {{unit: A, low: 0.1, high: 60, {_SOURCE}}}\n"
    + f"  suppressor: {{choices: {{fitted: 0, missing: 1}}, default: fitted, {_SOURCE}}}\n"
    + 'elements: {coil: {resistance: ["+", "-"], ohm: "rated_v / rated_a"}}\n',
    "drive": "group: drive\n"
    + _terminals(
        plus="positive", minus="negative", A="output", B="output", s="signal", r="positive", b="negative"
    )
    + "inputs: {s: {signal: s, positive: r, negative: b, one way: no, lost: 0}}\n"
    + "elements:\n"
    + '  leg: {leg: ["+", "-", A], duty: "max(0, s.travel)", ohm: 12 mohm}\n'
    + '  tie: {resistance: ["-", b], ohm: 4 mohm}\n',
    "servo": "group: servo\n"
    + _terminals(s="signal", r="positive", b="negative")
    + "inputs: {s: {signal: s, positive: r, negative: b, one way: no, lost: 0}}\n"
    + "elements: {idle: {draw: [r, b], amps: 8 mA, min_v: 3}}\n",
    "sounder": "group: instrument\n"
    + _terminals(a="signal", b="negative", c="signal")
    + "inputs:\n"
    + "  one: {signal: a, positive: none, negative: b, lost: 0}\n"
    + "  two: {signal: c, positive: none, negative: b, lost: 0}\n",
    "receiver": "group: radio\n"
    "terminals:\n"
    "  batt+: {about: x, side: positive, reach: open}\n"
    "  batt-: {about: x, side: negative, reach: open}\n"
    "slots: {logic_v: 3.3, frame_ms: 20, source_ohm: 470, when: [linked], positive: +rail, negative: -rail}\n"
    "elements:\n"
    "  plus: {resistance: [batt+, +rail], ohm: 5 mohm}\n"
    "  minus: {resistance: [batt-, -rail], ohm: 5 mohm}\n",
}


def small_catalogue() -> Catalogue:
    """Return the plain kinds and the real lead kinds."""
    files = {f"{name}.yaml": f"kind: {name}\n{_HEAD}{body}" for name, body in KINDS.items()}
    return load_catalogue(
        files | {f"{name}.yaml": (KNOWLEDGE / f"{name}.yaml").read_text() for name in LEAD_KINDS}
    )


BOAT = """\
boat: Little Grebe
parts:
  pack: {kind: pack, volts: 7.2 V}
  fuse: {kind: fuse, rating: 15 A}
  drive: {kind: drive}
  port-pump: {kind: pump, rated: 7.2 V at 6 A}
  receiver: {kind: receiver}
  rudder: {kind: servo}
runs:
  - [pack +, 14 AWG 15 cm plug/crimped, fuse, 2.5 mm2 200 mm, drive +]
  - [pack -, 14 AWG 30 cm plug, drive -]
  - [drive A, 16 AWG 12 cm screwed, port-pump +]
  - [drive B, 16 AWG 12 cm screwed, port-pump -]
radio:
  controls: {throttle: stick, helm: stick}
  channels: {1: rudder, 2: {to: drive, lead: 22 AWG 20 cm}}
  mix: {1: {helm: 100 %}, 2: {throttle: 100 %, helm: -40 %}}
  trim: {1: 3 %}
usage: {throttle: 30 min}
"""
