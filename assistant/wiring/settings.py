"""Everything a hand can set on a boat: levers, keys, magnets and plugs, the transmitter, and its controls."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from assistant.wiring.labels import label_of
from assistant.wiring.model import Boat, ControlKind
from assistant.wiring.points import described_parts

TRANSMITTER = "transmitter"
"""Id of the setting that switches the transmitter on and off."""

_TRANSMITTER_SECONDS = 5.0
_CONTROL_SECONDS = 1.0


class SettingSort(StrEnum):
    """What is set."""

    PART = "part"
    TRANSMITTER = "transmitter"
    CONTROL = "control"


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One thing to set.

    Attributes
    ----------
    id : ``part.setting``, ``transmitter``, or the id of a control.
    about : what it is, in words.
    rest : where it stands when nobody touched it: 0 or 1, for a control -1 .. 1.
    low, high : its ends; a part's setting and the transmitter are 0 (off) or 1 (on).
    steps : whether only the two ends exist.
    off_word, on_word : words for `low` and `high`.
    seconds : time it takes to set.
    """

    id: str
    sort: SettingSort
    about: str
    rest: float
    low: float
    high: float
    steps: bool
    off_word: str
    on_word: str
    seconds: float


def settings_of(boat: Boat) -> tuple[Setting, ...]:
    """Return all settings: those of parts in the order of the description, the transmitter, the controls."""
    radio = (_transmitter(),) if boat.radio.channels else ()
    return (*_part_settings(boat), *radio, *_control_settings(boat))


def _part_settings(boat: Boat) -> list[Setting]:
    return [
        Setting(
            id=f"{part}.{spec.name}",
            sort=SettingSort.PART,
            about=_about(label_of(boat, part), spec.about),
            rest=float(spec.rest_on),
            low=0.0,
            high=1.0,
            steps=True,
            off_word=spec.off_word,
            on_word=spec.on_word,
            seconds=spec.seconds,
        )
        for part in described_parts(boat)
        for spec in boat.parts[part].kind.settings.values()
    ]


def _about(part: str, setting: str) -> str:
    """Return what is set, without saying a word twice that ends one name and begins the other.

    >>> _about("drive pack", "pack plug"), _about("switch", "lever")
    ('drive pack plug', 'switch lever')
    """
    first, _, rest = setting.partition(" ")
    return f"{part} {rest}" if rest and part.rsplit(maxsplit=1)[-1] == first else f"{part} {setting}"


def _transmitter() -> Setting:
    return Setting(
        id=TRANSMITTER,
        sort=SettingSort.TRANSMITTER,
        about="transmitter",
        rest=0.0,
        low=0.0,
        high=1.0,
        steps=True,
        off_word="off",
        on_word="on",
        seconds=_TRANSMITTER_SECONDS,
    )


def _control_settings(boat: Boat) -> list[Setting]:
    return [
        Setting(
            id=control.id,
            sort=SettingSort.CONTROL,
            about=f"{control.id} {control.kind}",
            rest=control.rest,
            low=-1.0,
            high=1.0,
            steps=control.kind is ControlKind.SWITCH,
            off_word="off" if control.kind is ControlKind.SWITCH else "fully back",
            on_word="on" if control.kind is ControlKind.SWITCH else "fully forward",
            seconds=_CONTROL_SECONDS,
        )
        for control in boat.radio.controls.values()
    ]
