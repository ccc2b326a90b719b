"""What to answer, and what to change afterwards, to describe each example boat anew."""

from collections.abc import Mapping

from tests.cli.described import Steps


def _values(part: str, **said: str) -> Steps:
    named = [(name.replace("_", " "), value) for name, value in said.items()]
    steps = [step for name, value in named for step in (("value", name), (name, value))]
    return [("wish", "change part"), ("part", part), *steps, ("value", "done")]


def _relaid(lead: str, written: str, *ends: str) -> Steps:
    """Return the steps for another size or end; each end asks for a part, and for a terminal where it has several."""
    kept = [("to part", "") if end == "part" else ("to terminal", "") for end in ends]
    return [("wish", "change lead"), ("lead", lead), ("lead as written", written), *kept]


def _to(part: str, terminal: str | None = None) -> Steps:
    return [("to part", part), *([("to terminal", terminal)] if terminal else [])]


def _from_there(written: str) -> Steps:
    return [("lead as written", written)]


_FOUR = ("part", "terminal", "part", "terminal")
_BAR_FIRST = ("part", "part", "terminal")

DABCHICK = {
    "name": "Dabchick",
    "purpose": "pond-survey trainer",
    "stall current": "28 A",
    "drive rating": "20 A",
    "cut-off": "5 V",
    "main lead": "14 AWG 45 cm",
}

GREBE = {
    "name": "Grebe",
    "pack": "lithium",
    "drives": "2",
    "motor": "12 V at 8 A",
    "stall current": "40 A",
    "drive rating": "25 A",
    "cut-off": "9 V",
    "switching": "remote",
    "servos": "1",
    "lights": "both",
    "lamp": "12 V at 0.25 A",
    "LEDs": "3 at 3.2 V",
    "main fuse": "30 A",
    "fuse of a drive": "15 A",
    "main lead": "12 AWG 40 cm",
}
_GREBE_CHANGES: tuple[Steps, ...] = (
    _values("main-switch", rating="60 A"),
    _values("port-drive", bec_type="usual"),
    _values("starboard-drive", bec_type="usual"),
    _values("led-lights", supply="12 V"),
    [("wish", "take part out"), ("part", "step-down-fuse")],
    _relaid("feed.x--step-down.in", "22 AWG 10 cm soldered/screwed", *_BAR_FIRST),
    [
        ("wish", "channel"),
        ("channel", "3"),
        ("device", "starboard-drive"),
        ("red wire", "yes"),
        ("control", "throttle"),
        ("share", ""),
        ("control", "helm"),
        ("share", "-50 %"),
        ("control", "done"),
    ],
)

WIGEON = {
    "name": "Wigeon",
    "pack": "lithium",
    "capacity": "4 Ah",
    "packs": "parallel",
    "drives": "2",
    "drive runs": "shared",
    "motor": "12 V at 5 A",
    "stall current": "25 A",
    "astern pump": "12 V at 3 A",
    "stall current of an astern pump": "15 A",
    "drive rating": "30 A",
    "steering mix": "60 %",
    "lights": "both",
    "lamp": "12 V at 0.4 A",
    "LEDs": "3 at 3.2 V",
    "lights lit by": "dimmer",
    "depth sounder": "yes",
    "main fuse": "20 A",
    "fuse of a drive": "0 A",
    "main lead": "12 AWG 40 cm",
}
_WIGEON_CHANGES: tuple[Steps, ...] = (
    _values("switch", rating="30 A", contact="4 mohm"),
    _values("led-lights", supply="12 V"),
    _values("sounder", start="usual", min="usual", draw="250 mA"),
)

POCHARD = {
    "name": "Pochard",
    "pack": "lead",
    "packs": "tap",
    "motor drives": "motor",
    "motor": "24 V at 5 A",
    "stall current": "30 A",
    "drive rating": "25 A",
    "drive volts": "30 V",
    "cut-off": "21 V",
    "switching": "key switch",
    "receiver feed": "pack",
    "lights": "both",
    "lamp": "12 V at 0.25 A",
    "LEDs": "3 at 2.0 V",
    "main fuse": "15 A",
    "main lead": "14 AWG 50 cm",
}
_POCHARD_CHANGES: tuple[Steps, ...] = (
    _values("lower-fuse", rating="20 A"),
    _values("led-lights", supply="12 V"),
    _values("aux-fuse", kind="glass fuse", rating="5 A"),
    _values("aux-switch", kind="magnetic switch"),
    [
        ("wish", "change part"),
        ("part", "receiver-fuse"),
        ("value", "kind"),
        ("kind", "resettable fuse"),
        ("hold", "2 A"),
        ("value", "done"),
    ],
    _relaid("switch.out--drive.+", "14 AWG 20 cm soldered/screwed", *_FOUR),
    _relaid("minus.x--drive.-", "14 AWG 30 cm screwed", *_BAR_FIRST),
    _relaid("tap.x--aux-fuse.in", "20 AWG 10 cm screwed/soldered", *_BAR_FIRST),
    _relaid("aux-fuse.out--aux-switch.in", "20 AWG 10 cm", *_FOUR),
    _relaid("receiver-pack.+--receiver-fuse.in", "22 AWG 8 cm plug/soldered", *_FOUR),
    _relaid("receiver-fuse.out--receiver-switch.in", "22 AWG 8 cm", *_FOUR),
    [
        ("wish", "add part"),
        ("part name", "bilge drive"),
        ("kind", "forward drive"),
        *_to("aux"),
        *_from_there("20 AWG 15 cm soldered/screwed"),
        *_to("minus"),
        *_from_there("20 AWG 20 cm screwed"),
        *_to("nowhere"),
    ],
    _values("bilge-drive", bec_type="none", rating="10 A", max="16 V", cutoff="10.5 V"),
    [
        ("wish", "add part"),
        ("part name", "bilge pump"),
        ("kind", "pump motor"),
        ("rated", "12 V at 2 A"),
        *_to("aux"),
        *_from_there("20 AWG 25 cm"),
        *_to("bilge-drive", "M"),
        *_from_there("20 AWG 15 cm screwed/soldered"),
    ],
    _values("bilge-pump", stall="9 A"),
    [
        ("wish", "channel"),
        ("channel", ""),
        ("device", "bilge-drive"),
        ("red wire", "no"),
        ("control", "new"),
        ("control name", "bilge"),
        ("control kind", "switch"),
        ("share", ""),
        ("control", "done"),
    ],
)

REBUILT: Mapping[str, tuple[Mapping[str, str], tuple[Steps, ...]]] = {
    "dabchick": (DABCHICK, ()),
    "grebe": (GREBE, _GREBE_CHANGES),
    "wigeon": (WIGEON, _WIGEON_CHANGES),
    "pochard": (POCHARD, _POCHARD_CHANGES),
}
"""Answers of the interview and changes after it, by example boat."""
