"""Boat states: from words of roles to settings, what has to be changed, and what such a change brings about.

A part is run by moving the control that commands it, and every control that commands something on its feed,
to full.  Which way is full ahead the mix tells; only for a motor that shares its drive with another, each on
one output, it takes the circuit to tell which way runs it.  Changes are put in a safe order: first what takes
energy away, sticks before levers before packs, the transmitter last of these; then what brings it in, the
other way round.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from assistant.catalogue import Group, Side
from assistant.circuit import (
    BoatState,
    Variant,
    build_network,
    make_solver,
    pack_settings,
    ready_state,
    rest_state,
)
from assistant.dialogue.events import Change
from assistant.dialogue.graph import Base, Occasion, StateSpec
from assistant.dialogue.roles import feeds_of, gates_of
from assistant.wiring import TRANSMITTER, Boat, ControlKind, Setting, SettingSort, settings_of, side_at

_FULL = 1.0
_LEAST_SPEED = 0.05
"""Share of its rated speed below which a motor counts as standing, as for the sign that people look for."""


def state_of(boat: Boat, spec: StateSpec, roles: Mapping[str, tuple[str, ...]]) -> BoatState:
    """Return the boat state that a graph speaks of."""
    if spec.base is Base.REST:
        return rest_state(boat)
    if spec.base is Base.PLUGGED:
        return rest_state(boat).with_(dict.fromkeys((*pack_settings(boat), *_transmitter(boat)), 1.0))
    moved: dict[str, float] = {}
    for role in (*spec.run, *spec.astern):
        for part in roles.get(role, ()):
            ahead = controls_for(boat, part)
            for control, value in (_reversed(boat, ahead) if role in spec.astern else ahead).items():
                moved.setdefault(control, value)
    return ready_state(boat).with_(moved)


def _transmitter(boat: Boat) -> tuple[str, ...]:
    return tuple(setting.id for setting in settings_of(boat) if setting.id == TRANSMITTER)


def _reversed(boat: Boat, moved: Mapping[str, float]) -> dict[str, float]:
    """Return controls moved the other way; a switch that has to be on stays on."""
    steps = {setting.id for setting in settings_of(boat) if setting.steps}
    return {control: value if control in steps else -value for control, value in moved.items()}


def controls_for(boat: Boat, part: str) -> Mapping[str, float]:
    """Return where the controls must stand for `part` to go fully."""
    moved: dict[str, float] = {}
    for gate in gates_of(boat, part):
        for channel in boat.radio.channels.values():
            if channel.device == gate and channel.mix:
                control = max(channel.mix, key=lambda name: abs(channel.mix[name]))
                moved.setdefault(control, _FULL if channel.mix[control] > 0 else -_FULL)
    return _reversed(boat, moved) if _shares_drive(boat, part) and _speed(boat, part, moved) <= 0 else moved


def _shares_drive(boat: Boat, part: str) -> bool:
    """Tell whether a motor hangs on a single output of a drive that runs both ways."""
    if boat.parts[part].kind.group is not Group.MOTOR:
        return False
    passed = {
        point
        for side in (Side.POSITIVE, Side.NEGATIVE)
        for feed in feeds_of(boat, part, side)[:1]
        for point in feed.points
        if side_at(boat, point) is Side.OUTPUT and boat.parts[point.part].kind.group is Group.DRIVE
    }
    drives = [boat.parts[point.part].kind for point in passed if not any(p != point for p in passed)]
    return any(not given.one_way for kind in drives for given in kind.inputs.values())


def _speed(boat: Boat, part: str, moved: Mapping[str, float]) -> float:
    """Return how fast a motor of the healthy boat turns with controls moved, nought when it does not."""
    network = build_network(boat)
    solution = make_solver(network).solve(ready_state(boat).with_(moved), [Variant(faults=())])
    speeds = [abs(float(solution.phase.speed[number, 0])) for number in network.elements_of(part)]
    return max(speeds) if max(speeds) >= _LEAST_SPEED else 0.0


def unplugged(boat: Boat) -> BoatState:
    """Return the state with every pack unplugged and all else at rest."""
    return rest_state(boat).with_(dict.fromkeys(pack_settings(boat), 0.0))


def changes_between(boat: Boat, present: BoatState, wanted: BoatState) -> tuple[Change, ...]:
    """Return what has to be set to get from one state to the other, in a safe order."""
    needed = present.changes_to(wanted)
    settings = [setting for setting in settings_of(boat) if setting.id in needed]
    packs = pack_settings(boat)

    def order(setting: Setting) -> tuple[bool, int]:
        away = _is_away(setting, needed[setting.id])
        rank = _rank(setting, packs)
        return not away, -rank if away else rank

    return tuple(
        Change(setting=one.id, value=needed[one.id], text=words_for(one, needed[one.id]))
        for one in sorted(settings, key=order)
    )


def held(boat: Boat, state: BoatState, changes: Iterable[Change], servo: str = "") -> tuple[str, ...]:
    """Return the sticks that `state` wants held away from their rest, other than those just changed, in words.

    Parameters
    ----------
    servo : the servo that is looked at; where its own stick stands is said even at rest, for it decides what is right.
    """
    changed = {change.setting for change in changes}
    own = {
        name
        for channel in boat.radio.channels.values()
        if channel.device == servo and boat.parts[servo].kind.group is Group.SERVO
        for name in channel.mix
    }
    sticks = {control.id for control in boat.radio.controls.values() if control.kind is ControlKind.STICK}
    return tuple(
        words_for(setting, state.get(setting.id))
        for setting in settings_of(boat)
        if setting.id in sticks - changed and (setting.id in own or state.get(setting.id) != setting.rest)
    )


def standing(boat: Boat, state: BoatState) -> tuple[str, ...]:
    """Return how every setting of the boat stands, in words, in the order of setting it."""
    known = sorted(settings_of(boat), key=lambda setting: _rank(setting, pack_settings(boat)))
    return tuple(words_for(setting, state.get(setting.id)) for setting in known)


def _is_away(setting: Setting, value: float) -> bool:
    return value == setting.rest


def _rank(setting: Setting, packs: tuple[str, ...]) -> int:
    """Return the place in the order of switching on; the transmitter comes first and goes last."""
    if setting.id == TRANSMITTER:
        return 0
    if setting.id in packs:
        return 1
    return 2 if setting.sort is SettingSort.PART else 3


def words_for(setting: Setting, value: float) -> str:
    """Return what to do to set something to `value`."""
    if setting.sort is not SettingSort.CONTROL or setting.steps:
        word = setting.on_word if value >= setting.high else setting.off_word
        return f"{setting.about}: {word}"
    if value == setting.rest:
        return f"{setting.about}: let go, in the middle"
    if value >= setting.high:
        return f"{setting.about}: hold {setting.on_word}"
    if value <= setting.low:
        return f"{setting.about}: hold {setting.off_word}"
    return f"{setting.about}: hold at {value:.0%}"


def occasions_of(boat: Boat, changes: Iterable[Change]) -> Iterator[Occasion]:
    """Yield what changes of the boat state bring about: a pack plugged in, a lever on, a control moved."""
    settings = {setting.id: setting for setting in settings_of(boat)}
    packs = pack_settings(boat)
    for change in changes:
        setting = settings[change.setting]
        if setting.id == TRANSMITTER or _is_away(setting, change.value):
            continue
        if setting.id in packs:
            yield Occasion.PLUG_IN
        elif setting.sort is SettingSort.PART:
            yield Occasion.SWITCH_ON
        else:
            yield Occasion.RUN
