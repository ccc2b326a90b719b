"""Each rule has a boat that trips it and the nearest boat that does not."""

from dataclasses import dataclass

import pytest

from assistant.errors import AnswerError
from assistant.plan import RULES, Severity, review, with_pack
from tests.plan.boats import SOUND, boat_of, but, catalogue, example, found_by, review_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    rule: str
    place: str
    severity: Severity
    trips: str
    passes: str


FUSED = "fuse, 14 AWG 10 cm crimped/soldered, switch"
SHUNT = (
    "[switch out, 20 AWG 20 cm, lamp +]",
    "[switch out, 20 AWG 20 cm, lamp +]\n  - [switch out, 20 AWG 9 cm, part +]",
)
TWO_PACKS = but(
    ("  fuse:     {kind", "  spare:    {kind: nimh pack, cells: 6, capacity: 3.3 Ah}\n  fuse:     {kind"),
    ("runs:\n", "runs:\n  - [spare +, 14 AWG 10 cm, pack +]\n  - [spare -, 14 AWG 10 cm, pack -]\n"),
)
LEDS = but(
    ("{kind: lamp, rated: 8 V at 0.3 A}", "{kind: led string, leds: 2, led: 2.1 V at 20 mA, supply: 8.4 V}")
)
SOUNDER = but(
    (
        "  lamp:     {kind: lamp, rated: 8 V at 0.3 A}",
        "  lamp:     {kind: depth sounder, start: 6.5 V, min: 5.5 V}",
    )
)
PAIRED = but(
    (
        "{kind: motor, rated: 7.2 V at 4 A, stall: 22 A}",
        (
            "{kind: motor, rated: 3.6 V at 4 A, stall: 22 A}\n"
            "  second:   {kind: motor, rated: 3.6 V at 4 A, stall: 22 A}"
        ),
    ),
    (
        "  - [drive B, 16 AWG 12 cm, motor -]",
        "  - [motor -, 16 AWG 12 cm, second +]\n  - [drive B, 16 AWG 12 cm, second -]",
    ),
)
TWO_REGULATORS = but(
    ("  lamp:     {kind: lamp, rated: 8 V at 0.3 A}", "  lamp:     {kind: step-down module, set: 5.0 V}"),
    ("lamp +]", "lamp in]"),
    ("lamp -]", "lamp gnd]\n  - [lamp out, 22 AWG 10 cm, receiver batt+]"),
)

PAIRS = [
    Pair(
        rule="unfused",
        place="pack.+--switch.in",
        severity=Severity.DANGER,
        trips=but(
            ("plug/crimped, fuse, 14 AWG 10 cm crimped/soldered, switch", "plug/soldered, switch"),
            ("  fuse:     {kind: blade fuse, rating: 10 A}\n", ""),
        ),
        passes=SOUND,
    ),
    Pair(
        rule="unfused",
        place="pack.+--fuse.in",
        severity=Severity.NOTE,
        trips=but(("15 cm plug/crimped, fuse", "40 cm plug/crimped, fuse")),
        passes=SOUND,
    ),
    Pair(
        rule="fuse against lead",
        place="switch.out--lamp.+",
        severity=Severity.DANGER,
        trips=but(("20 AWG 20 cm, lamp +", "26 AWG 20 cm, lamp +")),
        passes=SOUND,
    ),
    Pair(
        rule="fuse against load",
        place="fuse",
        severity=Severity.TROUBLE,
        trips=but(("blade fuse, rating: 10 A", "blade fuse, rating: 5 A")),
        passes=SOUND,
    ),
    Pair(
        rule="stalled motor",
        place="fuse",
        severity=Severity.TROUBLE,
        trips=but(("blade fuse, rating: 10 A", "blade fuse, rating: 20 A")),
        passes=SOUND,
    ),
    Pair(
        rule="stalled motor",
        place="drive",
        severity=Severity.TROUBLE,
        trips=but(
            ("bec: 5.0 V at 2 A, rating: 20 A", "bec: 5.0 V at 2 A, rating: 8 A"),
            ("rating: 10 A", "rating: 15 A"),
        ),
        passes=but(("bec: 5.0 V at 2 A, rating: 20 A", "bec: 5.0 V at 2 A, rating: 16 A")),
    ),
    Pair(
        rule="ratings",
        place="drive",
        severity=Severity.DANGER,
        trips=but(("nimh pack, cells: 6", "nimh pack, cells: 12")),
        passes=SOUND,
    ),
    Pair(
        rule="ratings",
        place="part",
        severity=Severity.DANGER,
        trips=but(
            SHUNT,
            ("  lamp:", "  part:     {kind: capacitor, max: 10 V}\n  lamp:"),
            ("lamp -]", "lamp -]\n  - [pack -, 20 AWG 9 cm, part -]"),
        ),
        passes=but(
            SHUNT,
            ("  lamp:", "  part:     {kind: capacitor, max: 16 V}\n  lamp:"),
            ("lamp -]", "lamp -]\n  - [pack -, 20 AWG 9 cm, part -]"),
        ),
    ),
    Pair(
        rule="ratings",
        place="switch",
        severity=Severity.TROUBLE,
        trips=but(("toggle switch, rating: 20 A", "toggle switch, rating: 2 A")),
        passes=SOUND,
    ),
    Pair(
        rule="ratings",
        place="pack.---drive.-",
        severity=Severity.TROUBLE,
        trips=but(("[pack -, 14 AWG 30 cm plug/soldered, drive -]", "[pack -, 26 AWG 30 cm, drive -]")),
        passes=SOUND,
    ),
    Pair(
        rule="ratings",
        place="lamp",
        severity=Severity.TROUBLE,
        trips=LEDS.replace("supply: 8.4 V", "supply: 5 V"),
        passes=LEDS,
    ),
    Pair(
        rule="surge",
        place="switch",
        severity=Severity.TROUBLE,
        trips=but(("toggle switch, rating: 20 A", "toggle switch, rating: 6 A")),
        passes=SOUND,
    ),
    Pair(
        rule="shared bridge",
        place="motor",
        severity=Severity.TROUBLE,
        trips=PAIRED.replace("rated: 3.6 V", "rated: 7.2 V"),
        passes=PAIRED,
    ),
    Pair(
        rule="suppression",
        place="motor",
        severity=Severity.NOTE,
        trips=but(("stall: 22 A}", "stall: 22 A, suppressor: missing}")),
        passes=SOUND,
    ),
    Pair(
        rule="resistor power",
        place="lamp",
        severity=Severity.TROUBLE,
        trips=LEDS.replace("20 mA", "100 mA"),
        passes=LEDS,
    ),
    Pair(
        rule="dim LED",
        place="lamp",
        severity=Severity.NOTE,
        trips=LEDS.replace("leds: 2", "leds: 4"),
        passes=LEDS,
    ),
    Pair(
        rule="several regulators",
        place="receiver",
        severity=Severity.TROUBLE,
        trips=TWO_REGULATORS,
        passes=TWO_REGULATORS.replace("2: drive}", "2: {to: drive, cut: +}}"),
    ),
    Pair(
        rule="regulator heat",
        place="drive",
        severity=Severity.TROUBLE,
        trips=but(
            ("bec: 5.0 V at 2 A", "bec: 5.0 V at 2 A, bec type: linear"),
            ("{kind: servo}", "{kind: servo, move: 0.6 A}"),
        ),
        passes=but(("{kind: servo}", "{kind: servo, move: 0.6 A}")),
    ),
    Pair(
        rule="never arms",
        place="drive",
        severity=Severity.TROUBLE,
        trips=but(("usage:", "  trim: {2: 25 %}\nusage:")),
        passes=but(("usage:", "  trim: {2: 10 %}\nusage:")),
    ),
    Pair(
        rule="receiver rail",
        place="receiver",
        severity=Severity.DANGER,
        trips=but(("{kind: servo}", "{kind: servo, stall: 3.5 A}")),
        passes=SOUND,
    ),
    Pair(
        rule="servo rail",
        place="rudder",
        severity=Severity.TROUBLE,
        trips=but(("{kind: servo}", "{kind: servo, stall: 2.5 A}")),
        passes=SOUND,
    ),
    Pair(
        rule="missing negative",
        place="drive",
        severity=Severity.DANGER,
        trips=but(
            (
                "  - [pack -, 14 AWG 30 cm plug/soldered, drive -]\n",
                "  - [pack -, 22 AWG 30 cm, receiver batt-]\n",
            )
        ),
        passes=SOUND,
    ),
    Pair(
        rule="reversed part",
        place="drive",
        severity=Severity.DANGER,
        trips=but(
            ("switch, 14 AWG 20 cm, drive +]", "switch, 14 AWG 20 cm, drive -]"),
            ("plug/soldered, drive -]", "plug/soldered, drive +]"),
        ),
        passes=SOUND,
    ),
    Pair(
        rule="never fed",
        place="lamp",
        severity=Severity.TROUBLE,
        trips=but(("[pack -, 20 AWG 30 cm, lamp -]", "[switch out, 20 AWG 30 cm, lamp -]")),
        passes=SOUND,
    ),
    Pair(
        rule="volt drop",
        place="lamp",
        severity=Severity.TROUBLE,
        trips=but(("[switch out, 20 AWG 20 cm, lamp +]", "[switch out, 30 AWG 900 cm, lamp +]")),
        passes=SOUND,
    ),
    Pair(
        rule="drops out",
        place="lamp",
        severity=Severity.TROUBLE,
        trips=SOUNDER.replace("start: 6.5 V, min: 5.5 V", "start: 7.4 V, min: 7 V"),
        passes=SOUNDER,
    ),
    Pair(
        rule="parallel packs",
        place="spare",
        severity=Severity.DANGER,
        trips=TWO_PACKS.replace(
            "spare:    {kind: nimh pack, cells: 6", "spare:    {kind: nimh pack, cells: 7"
        ),
        passes=TWO_PACKS,
    ),
    Pair(
        rule="parallel packs",
        place="spare",
        severity=Severity.DANGER,
        trips=TWO_PACKS.replace(
            "spare:    {kind: nimh pack, cells: 6, capacity: 3.3 Ah",
            "spare:    {kind: lithium pack, cells: 2, capacity: 3.3 Ah",
        ),
        passes=TWO_PACKS,
    ),
    Pair(
        rule="parallel packs",
        place="spare",
        severity=Severity.DANGER,
        trips=TWO_PACKS.replace(
            "cells: 6, capacity: 3.3 Ah}\n  fuse", "cells: 6, capacity: 3.3 Ah, soc: 20 %}\n  fuse"
        ),
        passes=TWO_PACKS,
    ),
    Pair(
        rule="parallel packs",
        place="spare",
        severity=Severity.NOTE,
        trips=TWO_PACKS.replace(
            "cells: 6, capacity: 3.3 Ah}\n  fuse", "cells: 6, capacity: 3.3 Ah, cell ohm: 20 mohm}\n  fuse"
        ),
        passes=TWO_PACKS,
    ),
    Pair(
        rule="cut-off",
        place="drive",
        severity=Severity.DANGER,
        trips=but(("nimh pack, cells: 6", "lithium pack, cells: 2")),
        passes=but(
            ("nimh pack, cells: 6", "lithium pack, cells: 2"),
            ("rating: 20 A}\n  motor", "rating: 20 A, cutoff: 6.2 V}\n  motor"),
        ),
    ),
    Pair(
        rule="storage",
        place="pack",
        severity=Severity.NOTE,
        trips=but(
            (
                FUSED + ", 14 AWG 20 cm, drive +]",
                "fuse, 14 AWG 20 cm, drive +]\n  - [fuse out, 14 AWG 9 cm, switch in]",
            )
        ),
        passes=SOUND,
    ),
    Pair(
        rule="run time", place="pack", severity=Severity.NOTE, trips=but(("3.3 Ah", "0.5 Ah")), passes=SOUND
    ),
]


def test_every_rule_has_a_pair() -> None:
    assert {pair.rule for pair in PAIRS} == set(RULES)


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: f"{p.rule}-{p.place}")
def test_a_rule_trips_where_it_should_and_only_there(pair: Pair) -> None:
    found = {(f.place, f.severity) for f in found_by(pair.rule, pair.trips)}
    assert (pair.place, pair.severity) in found
    assert pair.place not in {f.place for f in found_by(pair.rule, pair.passes)}


def test_a_number_is_beyond_its_limit_or_for_what_must_not_be_less_below_it() -> None:
    least = {"receiver rail", "servo rail", "shared bridge", "dim LED", "drops out", "storage", "run time"}
    least |= {"reversed part", "cut-off"}
    for pair in PAIRS:
        for found in found_by(pair.rule, pair.trips):
            if found.number is None or found.limit is None:
                continue
            below = pair.rule in least or (pair.rule == "stalled motor" and found.place == "fuse")
            assert (found.number.value < found.limit.value) is below, found


def test_every_finding_says_where_its_limit_comes_from_and_what_to_do() -> None:
    for pair in PAIRS:
        for found in found_by(pair.rule, pair.trips):
            assert found.rule == pair.rule
            assert found.source.text
            assert found.remedy.endswith(".")
            assert found.line is not None


def test_a_sound_boat_has_no_findings_but_figures() -> None:
    found = review_of(SOUND)
    assert found.findings == ()
    assert {figure.name for figure in found.figures} >= {"run time of pack", "supply of receiver"}


def test_the_gravest_findings_come_first() -> None:
    text = but(("22 A}", "22 A, suppressor: missing}"), ("nimh pack, cells: 6", "lithium pack, cells: 2"))
    severities = [f.severity for f in review_of(text).findings]
    assert severities[0] is Severity.DANGER
    assert severities[-1] is Severity.NOTE


def test_more_cells_are_tried_without_a_change_of_the_description() -> None:
    fuller = with_pack(boat_of(SOUND), catalogue(), kind="lithium pack", cells=4)
    assert {f.place for f in review(fuller).findings if f.rule == "ratings"} >= {"drive", "motor"}
    assert boat_of(SOUND).parts["pack"].kind.name == "nimh pack"


@pytest.mark.parametrize(
    ("kind", "cells"), [("lithum pack", 3), ("blade fuse", 3), ("lithium pack", 40), (None, 0)]
)
def test_no_pack_that_cannot_be_is_tried(kind: str | None, cells: int) -> None:
    with pytest.raises(AnswerError):
        with_pack(boat_of(SOUND), catalogue(), kind=kind, cells=cells)


def test_the_small_example_is_sound_and_the_large_one_has_its_three_known_weaknesses() -> None:
    assert review(example("dabchick")).findings == ()
    assert {(f.rule, f.place) for f in review(example("grebe")).findings} == {
        ("fuse against lead", "feed.x--step-down.in"),
        ("several regulators", "receiver"),
        ("storage", "pack"),
    }
