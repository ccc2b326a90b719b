"""Kind files: the real ones load, and every slip is found at its place."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.catalogue import (
    Action,
    Catalogue,
    Group,
    Kind,
    Primitive,
    Reach,
    Sense,
    Status,
    load_catalogue,
    nominal_values,
)
from assistant.errors import KnowledgeError, Problem
from assistant.quantities import Unit

KNOWLEDGE = Path(__file__).resolve().parents[2] / "knowledge" / "parts"

GOOD = """\
kind: test drive
about: A drive with a regulator.
group: drive
weight: {of: 6, source: made up, status: p}
terminals:
  "+": {about: supply, side: positive, reach: open}
  "-": {about: supply, side: negative, reach: open}
  A: {about: motor, side: output, reach: open}
  s: {about: signal, side: signal, reach: behind cover}
through: []
values:
  bridge_ohm: {unit: ohm, default: 12 mohm, tolerance: 30 %, about: x, source: made up, status: p}
  stall_a: {unit: A, low: 1, high: 100, about: x, source: made up, status: m}
  winding_ohm: {unit: ohm, default: "supply_v(0.5) / stall_a", about: x, source: made up, status: c}
  suppressor: {choices: {fitted: 0, missing: 1}, default: fitted, about: x, source: made up, status: p}
curves:
  supply_v: {source: made up, status: s, points: [[0, 3.0], [1, 4.2]]}
settings:
  armed: {about: button, off: "off", on: "on", rest: off, seconds: 2}
inputs:
  s: {signal: s, positive: none, negative: "-", one way: no, lost: 0}
elements:
  leg: {leg: ["+", "-", A], duty: "max(0, s.travel)", ohm: bridge_ohm / 2, when: [fed, armed]}
  winding: {motor: [A, ~inner], ohm: winding_ohm, idle_a: 300 mA, rated_v: 7.2 V, rated_a: 6, load: 1}
  shunt: {resistance: [~inner, "-"], ohm: 1 mohm}
  guard: {diode: ["-", "+"], volts: 0.7, amps: 1}
conditions:
  fed: {volts: ["+", "-"], on: 4.5, off: 4.0, about: enough volts}
  driving: {travel: s, on: 6 %, off: 0.04, when: [fed], click: yes}
faults:
  dead: {says: x, share: 60 %, source: made up, status: p, never: [fed], open: [leg], action: set, remedy: x}
  worn:
    says: worn
    share: 40 %
    source: made up
    status: p
    severity: {unit: ohm, from: 50 mohm, to: 5, log: yes}
    values: {bridge_ohm: "bridge_ohm + severity", suppressor: missing}
    add: {leak: {resistance: [A, "-"], ohm: 100 * severity}}
    intermittent: yes
    action: remake
    remedy: x
signs:
  turning:
    ask: How does {part} turn?
    look: see
    of: winding.speed
    cuts: [0.1, 50 %]
    levels: [still, weakly, runs]
    words: {still: no, weakly: a little, runs: it runs}
    blur: 15 %
    restless: {of: [fed], level: stutters, words: stop and go}
    chance: {of: "clip(noise, 0, 1)", level: twitches, words: twitches}
    source: made up
    status: p
noise: "suppressor * step(abs(winding.amps) - 0.2)"
ratings:
  amps: {about: current, limit: 20 A, source: made up, status: p}
probe: Touch the tabs.
cautions: [hands-clear]
"""


def load(text: str = GOOD) -> Kind:
    return load_catalogue({"parts/test-drive.yaml": text}).kinds["test drive"]


def problems_of(text: str) -> tuple[Problem, ...]:
    with pytest.raises(KnowledgeError) as caught:
        load(text)
    return caught.value.problems


@pytest.fixture(scope="module")
def real() -> Catalogue:
    return load_catalogue({str(path): path.read_text(encoding="utf-8") for path in KNOWLEDGE.glob("*.yaml")})


def test_good_kind_is_read_whole() -> None:
    kind = load()
    assert (kind.group, kind.weight, kind.weight_source.status) == (Group.DRIVE, 6.0, Status.PRACTICE)
    assert kind.terminals["s"].reach is Reach.BEHIND_COVER
    assert kind.values["bridge_ohm"].unit is Unit.OHM
    assert kind.values["bridge_ohm"].tolerance == pytest.approx(0.3)
    assert kind.values["stall_a"].default is None
    assert dict(kind.values["suppressor"].choices) == {"fitted": 0.0, "missing": 1.0}
    assert (kind.settings["armed"].on_word, kind.settings["armed"].rest_on) == ("on", False)
    assert (kind.inputs["s"].positive, kind.inputs["s"].one_way) == (None, False)
    assert kind.noise is not None


def test_elements_and_conditions_are_read() -> None:
    kind = load()
    leg = kind.elements["leg"]
    assert (leg.primitive, leg.nodes, leg.when) == (Primitive.LEG, ("+", "-", "A"), ("fed", "armed"))
    assert float(leg.parameters["duty"]({"s.travel": 0.4})) == pytest.approx(0.4)
    assert float(kind.elements["guard"].parameters["slope_v"]({})) == pytest.approx(0.045)
    assert float(kind.elements["winding"].parameters["idle_a"]({})) == pytest.approx(0.3)
    driving = kind.conditions["driving"]
    assert (driving.sense, driving.of, driving.when, driving.click) == (Sense.TRAVEL, ("s",), ("fed",), True)
    assert driving.on is not None
    assert float(driving.on({})) == pytest.approx(0.06)


def test_faults_and_signs_are_read() -> None:
    kind = load()
    worn = kind.faults["worn"]
    assert (worn.action, worn.intermittent) == (Action.REMAKE, True)
    assert worn.share == pytest.approx(0.4)
    assert worn.severity is not None
    assert (worn.severity.low, worn.severity.high, worn.severity.log) == (0.05, 5.0, True)
    assert float(worn.values["suppressor"]({})) == 1.0
    assert [element.name for element in worn.add] == ["leak"]
    sign = kind.signs["turning"]
    assert sign.levels == ("still", "weakly", "runs")
    assert (sign.restless, sign.restless_level) == (("fed",), "stutters")
    assert (sign.words["stutters"], sign.words["twitches"]) == ("stop and go", "twitches")


def test_sockets_bring_the_radio_link() -> None:
    text = GOOD.replace(
        "inputs:",
        "slots: {logic_v: 3.3 V, frame_ms: 20, source_ohm: 470R, when: [linked], "
        "positive: +rail, negative: -rail}\ninputs:",
    )
    kind = load(text)
    assert kind.slots is not None
    assert float(kind.slots.source_ohm({})) == 470.0
    assert kind.conditions["linked"].of == ("transmitter",)


# What is replaced in the good text, by what, and what must be found: code, and a word of message or advice.
SLIPS = [
    ("kind: test drive", "kind: toast drive", "file-name", "toast-drive.yaml"),
    ("group: drive", "group: drivel", "choice", "drive"),
    ("of: 6,", "of: -6,", "weight", "0 or more"),
    ("A: {about", "A b: {about", "terminal", "one word"),
    ("side: output", "side: outptu", "choice", "output"),
    ("through: []", "through: [B]", "unknown-terminal", "B"),
    ("through: []", 'through: [A, "+", "-"]', "through", "two, one or none"),
    ("default: 12 mohm", "default: 12 mV", "formula", "volts"),
    ("default: 12 mohm", "default: 12 +", "formula", "not a formula"),
    ("default: 12 mohm", "default: stall_ohm", "unknown-name", "stall_a"),
    ("default: 12 mohm", "default: winding_ohm * bridge_ohm", "unknown-name", "bridge_ohm"),
    ("tolerance: 30 %", "tolerance: 130 %", "limits", "tolerance"),
    ("low: 1, high: 100", "low: 100, high: 1", "limits", "swap"),
    ("unit: A, low", "unit: amperage, low", "choice", "amperage"),
    ("default: fitted", "default: fited", "unknown-name", "fited"),
    ("supply_v(0.5)", "suply_v(0.5)", "unknown-name", "supply_v"),
    ("[[0, 3.0], [1, 4.2]]", "[[1, 3.0], [0, 4.2]]", "curve", "ascending"),
    ("[[0, 3.0], [1, 4.2]]", "[[0, 3.0, 1], [1, 4.2]]", "curve", "[x, y]"),
    ("rest: off", "rest: half", "choice", "half"),
    ("{signal: s,", "{signal: t,", "unknown-terminal", "t"),
    ('leg: {leg: ["+", "-", A]', 'leg: {leg: ["+", "-", C]', "unknown-node", "C"),
    ('leg: {leg: ["+", "-", A]', 'leg: {leg: ["+", "-"]', "nodes", "out"),
    ('leg: {leg: ["+", "-", A]', 'leg: {leg: ["+", "+", A]', "nodes", "once"),
    ("leg: {leg:", "leg: {lag:", "primitive", "leg"),
    ("ohm: bridge_ohm / 2,", "", "missing-key", "ohm"),
    ("load: 1}", "load: 1, lode: 2}", "unknown-key", "load"),
    ("when: [fed, armed]", "when: [feed, armed]", "unknown-condition", "fed"),
    ("motor: [A, ~inner]", "motor: [A, ~iner]", "lone-node", "~iner"),
    ('fed: {volts: ["+", "-"]', 'fed: {volts: ["+"]', "nodes", "two"),
    ("on: 4.5, off: 4.0", "on: 4.0, off: 4.5", "hysteresis", "above"),
    ("on: 4.5, off: 4.0", "on: 4.5, off: 4.0, takes: {on: 5 V}", "formula", "time"),
    ("on: 4.5, off: 4.0", "on: 4.5, off: 4.0, takes: {on: slow_s}", "unknown-name", "sensed"),
    ("on: 4.5, off: 4.0", "on: 4.5, off: 4.0, takes: {of: 1 s}", "unknown-key", "off"),
    ("travel: s,", "travel: q,", "unknown-input", "q"),
    ("travel: s,", "amps: legs,", "unknown-element", "leg"),
    ("on: 4.5, off: 4.0, about: enough volts", "on: 4.5, off: 4.0, when: [driving]", "circle", "fed"),
    ("share: 60 %", "share: 50 %", "shares", "90 %"),
    ("never: [fed], open: [leg],", "", "effect", "changes nothing"),
    ("open: [leg]", "open: [legs]", "unknown-element", "leg"),
    ("never: [fed]", "never: [feed]", "unknown-condition", "fed"),
    ('{bridge_ohm: "bridge', '{bridg_ohm: "bridge', "unknown-value", "bridge_ohm"),
    ("severity: {unit: ohm, from: 50 mohm", "severity: {unit: ohm, from: 0", "severity", "above 0"),
    ("severity: {unit: ohm, from: 50 mohm, to: 5, log: yes}", "consequence: no", "unknown-name", "severity"),
    ("action: remake", "action: pray", "choice", "pray"),
    ("intermittent: yes", "intermittent: maybe", "choice", "yes"),
    ("of: winding.speed", "of: leg.speed", "unknown-name", "winding.speed"),
    ("cuts: [0.1, 50 %]", "cuts: [0.1]", "levels", "one level more"),
    ("cuts: [0.1, 50 %]", "cuts: [0.1, 5 %]", "levels", "rising"),
    ("runs: it runs", "rums: it runs", "words", "runs"),
    ("restless: {of: [fed]", "restless: {of: [fad]", "unknown-condition", "fed"),
    ('noise: "suppressor', 'noise: "noise + suppressor', "unknown-name", "noise"),
    ("limit: 20 A, source: made up", "limit: 20 A", "missing-key", "source"),
    ("status: m}", "status: x}", "choice", "x"),
    ("cautions:", "caution:", "unknown-key", "cautions"),
    ("probe: Touch the tabs.\n", "", "missing-key", "probe"),
]


@pytest.mark.parametrize(("right", "wrong", "code", "word"), SLIPS)
def test_slip_is_found_at_its_place(right: str, wrong: str, code: str, word: str) -> None:
    assert GOOD.count(right) >= 1
    text = GOOD.replace(right, wrong, 1)
    found = [problem for problem in problems_of(text) if problem.code == code]
    assert any(word in f"{problem.what} {problem.mend}" for problem in found), problems_of(text)
    assert all(problem.file == "parts/test-drive.yaml" for problem in found)


def test_unused_severity_is_found() -> None:
    text = GOOD.replace('"bridge_ohm + severity"', "2").replace("100 * severity", "5")
    assert [problem.code for problem in problems_of(text)] == ["severity"]


def test_circle_of_defaults_is_named() -> None:
    text = GOOD.replace("default: 12 mohm", "default: winding_ohm").replace("/ stall_a", "/ bridge_ohm")
    (problem,) = problems_of(text)
    assert problem.code == "circle"
    assert "bridge_ohm" in problem.what
    assert "winding_ohm" in problem.what


def test_place_is_that_of_the_wrong_text() -> None:
    text = GOOD.replace("default: 12 mohm", "default: 12 mV")
    (problem,) = problems_of(text)
    line = text.split("\n")[problem.line - 1]
    assert line[problem.column - 1 :].startswith("12 mV")


def test_all_problems_of_all_files_come_at_once() -> None:
    with pytest.raises(KnowledgeError) as caught:
        load_catalogue(
            {
                "test-drive.yaml": GOOD.replace("group: drive", "group: x").replace(
                    "action: remake", "action: y"
                ),
                "b.yaml": "kind: [",
                "c.yaml": "- a list",
            }
        )
    files = [problem.file for problem in caught.value.problems]
    assert files.count("test-drive.yaml") == 2
    assert {"b.yaml", "c.yaml"} <= set(files)


def test_same_kind_twice_is_found() -> None:
    with pytest.raises(KnowledgeError, match="again"):
        load_catalogue({"a/test-drive.yaml": GOOD, "b/test-drive.yaml": GOOD})


def test_real_kinds_load(real: Catalogue) -> None:
    assert {"wire", "soldered joint", "crimped joint", "plugged joint", "screwed joint"} <= real.kinds.keys()
    assert len(real.kinds) == len(list(KNOWLEDGE.glob("*.yaml")))


@pytest.mark.parametrize(("area_mm2", "length_m", "ohm"), [(2.5, 10.0, 0.06897), (1.0, 58.0, 1.0)])
def test_wire_has_the_resistance_of_copper(
    real: Catalogue, area_mm2: float, length_m: float, ohm: float
) -> None:
    values = nominal_values(real.kinds["wire"], {"area_mm2": area_mm2, "length_m": length_m})
    assert values["ohm"] == pytest.approx(ohm, rel=1e-3)


def test_every_joint_can_be_open_poor_or_loose(real: Catalogue) -> None:
    for kind in real.kinds.values():
        if kind.group is Group.JOINT:
            assert kind.faults.keys() == {"open", "poor", "loose"}
            assert kind.faults["loose"].intermittent


def assert_placed(error: KnowledgeError) -> None:
    assert error.problems
    assert all(problem.line > 0 < problem.column for problem in error.problems)


@given(st.integers(0, len(GOOD)), st.integers(0, 40), st.text('[]{}:,~ \n"x1%-+', max_size=6))
def test_any_damage_gives_a_kind_or_a_knowledge_error(start: int, length: int, patch: str) -> None:
    damaged = GOOD[:start] + patch + GOOD[start + length :]
    try:
        catalogue = load_catalogue({"test-drive.yaml": damaged})
    except KnowledgeError as error:
        assert_placed(error)
        return
    assert len(catalogue.kinds) == 1
