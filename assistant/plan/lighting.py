"""What an interview asks about lights."""

from __future__ import annotations

from typing import Final

from assistant.plan.question import VOLTS_AMPS, Form, Question, Topic
from assistant.plan.sizing import Answers, Sizing
from assistant.quantities import Unit, show


def _lights(_: Answers, __: Sizing) -> Question:
    return Question(
        key="lights",
        text="Which lights?",
        form=Form.CHOICE,
        choices=(
            ("none", "none"),
            ("lamp", "a lamp"),
            ("leds", "LEDs in a row"),
            ("both", "a lamp and LEDs"),
        ),
        usual="none",
    )


def _lamp(answers: Answers, sizing: Sizing) -> Question | None:
    if answers["lights"] not in {"lamp", "both"}:
        return None
    return Question(
        key="lamp",
        text="Volts and current of the lamp?",
        form=Form.QUANTITY,
        usual=f"{show(sizing.lamp_v(answers), Unit.VOLT, 2)} at 0.25 A",
        units=VOLTS_AMPS,
        second=(0.01, 10),
        low=0.5,
        high=48,
    )


def _leds(answers: Answers, sizing: Sizing) -> Question | None:
    if answers["lights"] not in {"leds", "both"}:
        return None
    return Question(
        key="LEDs",
        text="How many LEDs in a row, and volts of one?",
        form=Form.QUANTITY,
        usual=f"{sizing.leds(answers)} at 3.2 V",
        units=(Unit.COUNT, Unit.VOLT),
        second=(1, 4),
        low=1,
        high=20,
        why="White, blue and new green ones have 3.2 V, red 2.0 V, yellow and old green 2.1 V.",
    )


def _lit_by(answers: Answers, _: Sizing) -> Question | None:
    if answers["lights"] == "none" or answers["switching"] == "remote":
        return None
    return Question(
        key="lights lit by",
        text="How are the lights switched?",
        form=Form.CHOICE,
        choices=(("boat", "with the boat"), ("dimmer", "by a dimmer on a channel of the receiver")),
        usual="boat",
    )


LIGHTS: Final[tuple[Topic, ...]] = (_lights, _lamp, _leds, _lit_by)
"""These topics in the order asked."""
