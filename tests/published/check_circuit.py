"""One pack, one switch, one load and two joints that go bad, as part kinds and a boat.

In series: source 0.05, lead 0.02, joint one 0.005, switch 0.01, lead 0.02, load 2.0, lead 0.02, joint two 0.005 ohm, at
7.4 V.  The joints of no interest have a hundredth of a milliohm, taken off their leads.
"""

from assistant.catalogue import load_catalogue
from assistant.circuit import Network, build_network
from assistant.wiring import Boat, Point, load_boat

_SOURCE = "about: x, source: the check circuit, status: c"
_HEAD = "about: x\nweight: {of: 1, source: the check circuit, status: c}\nprobe: with care\n"
_ENDS = '"1": {about: x, side: neutral, reach: open}, "2": {about: x, side: neutral, reach: open}'
_MAIN = '"+": {about: x, side: positive, reach: open}, "-": {about: x, side: negative, reach: open}'

_KINDS = {
    "pack": f"""
group: pack
terminals: {{{_MAIN}}}
settings: {{plugged: {{about: x, off: unplugged, on: plugged in, rest: off, seconds: 8}}}}
elements: {{cell: {{emf: ["+", "-"], volts: 7.4 V, ohm: 50 mohm, when: [plugged]}}}}
""",
    "switch": f"""
group: switch
through: ["1", "2"]
terminals: {{{_ENDS}}}
elements: {{contact: {{resistance: ["1", "2"], ohm: 10 mohm}}}}
""",
    "load": f"""
group: light
through: ["+", "-"]
terminals: {{{_MAIN}}}
settings: {{drawing: {{about: x, off: taken out, on: put in, rest: off, seconds: 8}}}}
elements: {{load: {{resistance: ["+", "-"], ohm: 2, when: [drawing]}}}}
""",
    "wire": f"""
group: wire
through: ["1", "2"]
terminals: {{{_ENDS}}}
values:
  area_mm2: {{unit: mm2, low: 0.02, high: 60, {_SOURCE}}}
  length_m: {{unit: m, low: 0.005, high: 25, {_SOURCE}}}
elements: {{copper: {{resistance: ["1", "2"], ohm: 19.99 mohm}}}}
""",
    "crimped joint": f"""
group: joint
through: ["1", "2"]
terminals: {{{_ENDS}}}
values: {{ohm: {{unit: ohm, default: 5 mohm, {_SOURCE}}}}}
elements: {{contact: {{resistance: ["1", "2"], ohm: ohm}}}}
faults:
  soft:
    says: resistive
    share: 70 %
    source: the check circuit
    status: c
    severity: {{unit: ohm, from: 0.05, to: 50, log: yes}}
    values: {{ohm: severity}}
    action: remake
    remedy: make it again
  open:
    says: open
    share: 30 %
    source: the check circuit
    status: c
    open: [contact]
    action: remake
    remedy: make it again
""",
}
for _name in ("soldered", "plugged", "screwed"):
    _KINDS[f"{_name} joint"] = f"""
group: joint
through: ["1", "2"]
terminals: {{{_ENDS}}}
elements: {{contact: {{resistance: ["1", "2"], ohm: 0.01 mohm}}}}
"""

_BOAT = """\
boat: Goosander
parts: {pack: {kind: pack}, switch: {kind: switch}, load: {kind: load}}
runs:
  - [pack +, 16 AWG 10 cm soldered/crimped, switch, 16 AWG 10 cm, load +]
  - [load -, 16 AWG 10 cm soldered/crimped, pack -]
"""

LEAD_ONE, LEAD_THREE = "pack.+--switch.1", "load.---pack.-"
JOINT_ONE, JOINT_TWO = f"{LEAD_ONE}@2", f"{LEAD_THREE}@2"
OVER_JOINT_ONE = (Point(part=LEAD_ONE, terminal="2"), Point(part="switch", terminal="1"))
OVER_LOAD = (Point(part="load", terminal="+"), Point(part="load", terminal="-"))
LOAD_TO_NEGATIVE = (Point(part="load", terminal="+"), Point(part="pack", terminal="-"))
SWITCH_TO_NEGATIVE = (Point(part="switch", terminal="1"), Point(part="pack", terminal="-"))


def check_boat() -> Boat:
    kinds = {
        f"{name.replace(chr(32), chr(45))}.yaml": f"kind: {name}\n{_HEAD}{body}"
        for name, body in _KINDS.items()
    }
    return load_boat(_BOAT, "goosander.yaml", load_catalogue(kinds))


def check_network() -> Network:
    return build_network(check_boat())
