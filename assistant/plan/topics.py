"""What an interview asks, in order; a topic gives its question, or none where the answers so far make it idle."""

from __future__ import annotations

from typing import Final

from assistant.plan.lighting import LIGHTS
from assistant.plan.question import VOLTS_AMPS, Form, Question, Topic
from assistant.plan.sizing import Answers, Sizing, pair
from assistant.quantities import Unit, parse_quantity, show

_NOMINAL: Final = 1.17
_HELD_FAST: Final = 4.5
_PLAIN_DRIVE_V: Final = 12.6
_WHOLE: Final = 1e-6
_YES_NO: Final = (("yes", "yes"), ("no", "no"))


def _name(_: Answers, __: Sizing) -> Question:
    return Question(key="name", text="What is the boat called?", form=Form.TEXT, usual="Boat")


def _about(_: Answers, __: Sizing) -> Question:
    return Question(
        key="purpose", text="What does she do, in a few words?", form=Form.TEXT, usual="work boat"
    )


def _pack(_: Answers, __: Sizing) -> Question:
    return Question(
        key="pack",
        text="Which kind of pack drives her?",
        form=Form.CHOICE,
        choices=(
            ("nimh", "nickel-metal hydride (NiMH)"),
            ("lithium", "lithium (LiPo, Li-ion)"),
            ("lead", "sealed lead-acid block"),
            ("alkaline", "throw-away cells (weak; the review will say so)"),
        ),
        usual="nimh",
    )


def _cells(answers: Answers, sizing: Sizing) -> Question:
    return Question(
        key="cells",
        text="How many cells in a row has one pack?",
        form=Form.QUANTITY,
        usual=str(sizing.usual_cells(answers)),
        units=(Unit.COUNT,),
        low=1,
        high=sizing.most_cells(answers),
        why="A cell has 1.2 V in NiMH, 3.7 V in lithium, 2 V in lead-acid, 1.5 V in a throw-away cell.",
    )


def _capacity(answers: Answers, sizing: Sizing) -> Question:
    low, high = sizing.capacities_ah(answers)
    return Question(
        key="capacity",
        text="Which capacity is printed on it?",
        form=Form.QUANTITY,
        usual=show(sizing.usual_capacity_ah(answers), Unit.AMP_HOUR),
        units=(Unit.AMP_HOUR,),
        low=low,
        high=high,
        why="It tells how long she runs, and how hard the pack can be driven.",
    )


def _packs(answers: Answers, sizing: Sizing) -> Question:
    doubled = (
        ("series", "two one after the other (series)"),
        ("tap", "two in series, with lights and instruments on the lower one (centre tap)"),
    )
    fits = 2 * int(answers["cells"]) <= sizing.most_cells(answers)
    return Question(
        key="packs",
        text="How many of these packs, and how joined?",
        form=Form.CHOICE,
        choices=(("one", "one"), ("parallel", "two side by side (parallel)"), *(doubled if fits else ())),
        usual="one",
    )


def _drives(_: Answers, __: Sizing) -> Question:
    return Question(
        key="drives",
        text="How many motor drives (speed controllers)?",
        form=Form.CHOICE,
        choices=(("1", "one"), ("2", "two, port and starboard")),
        usual="1",
    )


def _hangs(_: Answers, __: Sizing) -> Question:
    return Question(
        key="drive runs",
        text="What does a drive run?",
        form=Form.CHOICE,
        choices=(
            ("both", "one motor or pump, ahead and astern"),
            ("ahead", "one, ahead only; its + is always fed, the drive switches the -"),
            ("shared", "two pumps, one for ahead and one for astern; their + is always fed"),
        ),
        usual="both",
    )


def _motor_kind(_: Answers, __: Sizing) -> Question:
    return Question(
        key="motor drives",
        text="What does the motor turn?",
        form=Form.CHOICE,
        choices=(("pump motor", "a jet pump"), ("motor", "a propeller")),
        usual="pump motor",
    )


def _motor(answers: Answers, sizing: Sizing) -> Question:
    volts = sizing.full_v(answers) / _NOMINAL
    return Question(
        key="motor",
        text="Volts and running current of one motor?",
        form=Form.QUANTITY,
        usual=f"{show(volts, Unit.VOLT, 2)} at {show(sizing.motor_a(answers), Unit.AMP, 2)}",
        units=VOLTS_AMPS,
        second=(0.05, 200),
        low=1,
        high=60,
        why="Printed on it or in its data sheet; fuse, leads and drive are sized from it.",
    )


def _stall(answers: Answers, _: Sizing) -> Question:
    return _held_fast("stall current", "Current of one motor held fast?", answers["motor"])


def _astern(answers: Answers, _: Sizing) -> Question | None:
    if answers["drive runs"] != "shared":
        return None
    return Question(
        key="astern pump",
        text="Volts and running current of an astern pump?",
        form=Form.QUANTITY,
        usual=answers["motor"],
        units=VOLTS_AMPS,
        second=(0.05, 200),
        low=1,
        high=60,
    )


def _astern_stall(answers: Answers, _: Sizing) -> Question | None:
    if answers["drive runs"] != "shared":
        return None
    return _held_fast(
        "stall current of an astern pump", "Current of an astern pump held fast?", answers["astern pump"]
    )


def _held_fast(key: str, text: str, rated: str) -> Question:
    _, amps = pair(rated)
    return Question(
        key=key,
        text=text,
        form=Form.QUANTITY,
        usual=show(_HELD_FAST * amps, Unit.AMP, 2),
        units=(Unit.AMP,),
        low=1.01 * amps,
        high=500,
        why="Data sheets call it stall current; without one, four to five times the running current.",
    )


def _suppressor(_: Answers, __: Sizing) -> Question:
    return Question(
        key="suppression capacitors",
        text="Are small capacitors soldered to the motors' tabs (suppression)?",
        form=Form.CHOICE,
        choices=_YES_NO,
        usual="yes",
        why="Without them the sparks of the brushes disturb receiver and servos.",
    )


def _drive_rating(answers: Answers, sizing: Sizing) -> Question:
    return Question(
        key="drive rating",
        text="Rated current of a drive?",
        form=Form.QUANTITY,
        usual=show(sizing.drive_a(answers), Unit.AMP),
        units=(Unit.AMP,),
        low=0.5,
        high=500,
        why="The usual one stands a motor held fast until the fuse opens.",
    )


def _drive_volts(answers: Answers, sizing: Sizing) -> Question | None:
    if sizing.full_v(answers) <= _PLAIN_DRIVE_V * (1.0 + _WHOLE):
        return None
    return Question(
        key="drive volts",
        text="Highest pack voltage printed on the drive?",
        form=Form.QUANTITY,
        usual=show(sizing.printed_v(answers), Unit.VOLT),
        units=(Unit.VOLT,),
        low=3,
        high=100,
    )


def _cut_off(answers: Answers, sizing: Sizing) -> Question:
    return Question(
        key="cut-off",
        text="At which pack voltage does the drive cut off?",
        form=Form.QUANTITY,
        usual=show(sizing.cut_off_v(answers), Unit.VOLT),
        units=(Unit.VOLT,),
        low=0,
        high=60,
        why="The usual one spares the cells; 0 V if it never cuts off.",
    )


def _switching(_: Answers, __: Sizing) -> Question:
    return Question(
        key="switching",
        text="What switches her on?",
        form=Form.CHOICE,
        choices=(
            ("toggle switch", "a toggle switch"),
            ("key switch", "a key"),
            ("magnetic switch", "a magnet through the hull"),
            ("remote", "the transmitter: a relay module closes a solid-state main switch"),
            ("none", "nothing; plugging in the pack"),
        ),
        usual="toggle switch",
    )


def _feed(answers: Answers, _: Sizing) -> Question | None:
    if answers["switching"] == "remote":
        return None
    return Question(
        key="receiver feed",
        text="What feeds the receiver?",
        form=Form.CHOICE,
        choices=(
            ("drive", "the regulator in the drive"),
            ("module", "a step-down module"),
            ("pack", "a pack of its own"),
        ),
        usual="drive",
    )


def _servos(answers: Answers, _: Sizing) -> Question:
    return Question(
        key="servos",
        text="How many servos (rudders)?",
        form=Form.CHOICE,
        choices=(("0", "none"), ("1", "one"), ("2", "two")),
        usual="0" if answers["drives"] == "2" else "1",
    )


def _regulator(answers: Answers, _: Sizing) -> Question | None:
    if answers.get("receiver feed") != "drive":
        return None
    return Question(
        key="regulator",
        text="Volts and current of the regulator in the drive?",
        form=Form.QUANTITY,
        usual=f"5 V at {'3' if answers['servos'] == '2' else '2'} A",
        units=VOLTS_AMPS,
        second=(0.1, 20),
        low=3,
        high=9,
    )


def _mix(answers: Answers, _: Sizing) -> Question | None:
    if answers["drives"] != "2":
        return None
    return Question(
        key="steering mix",
        text="By how much does steering slow down one side and speed up the other (0 % for not at all)?",
        form=Form.QUANTITY,
        usual="50 %",
        units=(Unit.RATIO,),
        low=0,
        high=1.5,
    )


def _sounder(_: Answers, __: Sizing) -> Question:
    return Question(
        key="depth sounder", text="Is there a depth sounder?", form=Form.CHOICE, choices=_YES_NO, usual="no"
    )


def _fuse(answers: Answers, sizing: Sizing) -> Question:
    where = "the fuse at each pack" if answers["packs"] == "parallel" else "the main fuse"
    return Question(
        key="main fuse",
        text=f"Rating of {where} (0 for none)?",
        form=Form.QUANTITY,
        usual=show(sizing.fuse_a(answers), Unit.AMP),
        units=(Unit.AMP,),
        none=True,
        why="The usual one is the smallest that carries the running current for long.",
    )


def _branch_fuse(answers: Answers, sizing: Sizing) -> Question | None:
    if answers["drives"] != "2":
        return None
    return Question(
        key="fuse of a drive",
        text="Rating of the fuse before each drive (0 for none)?",
        form=Form.QUANTITY,
        usual=show(sizing.branch_fuse_a(answers), Unit.AMP),
        units=(Unit.AMP,),
        none=True,
    )


def _main_lead(answers: Answers, sizing: Sizing) -> Question:
    length_m = 0.4
    return Question(
        key="main lead",
        text="Size of the main leads, and the way from pack to drive along them?",
        form=Form.LEAD,
        usual=f"{sizing.main_gauge(answers, length_m)} {show(length_m, Unit.METRE)}",
        why="The usual size stands what the fuse lets through and loses at most 3 % on its way. Write AWG or mm2.",
    )


def is_fitted(text: str, unit: Unit = Unit.AMP) -> bool:
    """Return whether an answer names more than nothing."""
    return parse_quantity(text, unit).value > 0.0


TOPICS: Final[tuple[Topic, ...]] = (
    _name,
    _about,
    _pack,
    _cells,
    _capacity,
    _packs,
    _drives,
    _hangs,
    _motor_kind,
    _motor,
    _stall,
    _astern,
    _astern_stall,
    _suppressor,
    _drive_rating,
    _drive_volts,
    _cut_off,
    _switching,
    _feed,
    _servos,
    _regulator,
    _mix,
    *LIGHTS,
    _sounder,
    _fuse,
    _branch_fuse,
    _main_lead,
)
"""All topics in the order asked."""
