"""Everything a hand can set on a boat: levers, keys, magnets and plugs, the transmitter, and its controls."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations

from assistant.catalogue import Group
from assistant.wiring.labels import label_of
from assistant.wiring.model import Boat, Control, ControlKind
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
    """Return what is set, without saying a word again that the name of the part has.

    >>> _about("drive pack", "pack plug"), _about("pack a", "pack plug"), _about("switch", "lever")
    ('drive pack plug', 'pack a plug', 'switch lever')
    """
    first, _, rest = setting.partition(" ")
    return f"{part} {rest}" if rest and first in part.split() else f"{part} {setting}"


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
    return [_control_setting(boat, control) for control in boat.radio.controls.values()]


def _control_setting(boat: Boat, control: Control) -> Setting:
    off_word, on_word = _ends(boat, control)
    return Setting(
        id=control.id,
        sort=SettingSort.CONTROL,
        about=f"{control.id} {control.kind}",
        rest=control.rest,
        low=-1.0,
        high=1.0,
        steps=control.kind is ControlKind.SWITCH,
        off_word=off_word,
        on_word=on_word,
        seconds=_CONTROL_SECONDS,
    )


def _ends(boat: Boat, control: Control) -> tuple[str, str]:
    """Return the words for both ends; a stick that steers goes to the sides."""
    if control.kind is ControlKind.SWITCH:
        return "off", "on"
    if control.kind is ControlKind.STICK and _steers(boat, control):
        return "fully left", "fully right"
    return "fully back", "fully forward"


def _steers(boat: Boat, control: Control) -> bool:
    """Tell whether a control moves a servo, or drives two channels apart that another one drives together."""
    fed = [channel for channel in boat.radio.channels.values() if channel.mix.get(control.id)]
    if any(boat.parts[channel.device].kind.group is Group.SERVO for channel in fed):
        return True
    pairs = [(one.mix, other.mix) for one, other in combinations(fed, 2)]
    return any(
        one[control.id] * other[control.id] < 0 and any(one[name] * other.get(name, 0.0) > 0 for name in one)
        for one, other in pairs
    )
