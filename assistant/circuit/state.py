"""How everything a person sets is set: packs, levers, transmitter, sticks.

Keys are ``part.setting`` (0 or 1) and control ids (-1 .. 1); a missing key stands at rest.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from assistant.catalogue import Group
from assistant.wiring import Boat, SettingSort, settings_of


@dataclass(frozen=True, slots=True, order=True)
class BoatState:
    """A boat state as sorted pairs of key and value, so that equal states compare and hash equal."""

    pairs: tuple[tuple[str, float], ...]

    @classmethod
    def of(cls, settings: Mapping[str, float]) -> BoatState:
        """Return the state with these settings.

        >>> BoatState.of({"b": 1.0, "a": 0.0}).pairs
        (('a', 0.0), ('b', 1.0))
        """
        return cls(tuple(sorted((key, float(value)) for key, value in settings.items())))

    def get(self, key: str) -> float:
        """Return the value of a key, 0 when it is not set."""
        return dict(self.pairs).get(key, 0.0)

    def with_(self, changes: Mapping[str, float]) -> BoatState:
        """Return the state with some settings changed."""
        return BoatState.of({**dict(self.pairs), **changes})

    def changes_to(self, other: BoatState) -> Mapping[str, float]:
        """Return what has to be set to get from this state to the other."""
        mine = dict(self.pairs)
        return {key: value for key, value in other.pairs if mine.get(key) != value}


def pack_settings(boat: Boat) -> tuple[str, ...]:
    """Return the ids of the settings of packs: their plugs."""
    packs = (part for part in boat.parts.values() if part.kind.group is Group.PACK)
    return tuple(f"{pack.id}.{name}" for pack in packs for name in pack.kind.settings)


def is_unplugged(boat: Boat, state: BoatState) -> bool:
    """Tell whether no pack is plugged in, so that ohms may be measured."""
    return not any(state.get(setting) for setting in pack_settings(boat))


def rest_state(boat: Boat) -> BoatState:
    """Return the state in which everything rests: packs unplugged, switches and transmitter off, sticks centred."""
    return BoatState.of({setting.id: setting.rest for setting in settings_of(boat)})


def working_states(boat: Boat) -> tuple[BoatState, ...]:
    """Return the states of a boat at work: everything on, and one stick or lever after the other at either end.

    With nothing but switches there is one such state.
    """
    ready = ready_state(boat)
    controls = [s for s in settings_of(boat) if s.sort is SettingSort.CONTROL]
    on = ready.with_({s.id: s.high for s in controls if s.steps})
    moved = [on.with_({s.id: end}) for s in controls if not s.steps for end in (s.high, s.low)]
    return tuple(moved) or (on,)


def forward_states(boat: Boat) -> tuple[BoatState, ...]:
    """Return everything on with all controls at rest, and then one stick or lever after the other fully forward."""
    controls = [s for s in settings_of(boat) if s.sort is SettingSort.CONTROL]
    on = ready_state(boat).with_({s.id: s.high for s in controls if s.steps})
    return (on, *(on.with_({s.id: s.high}) for s in controls if not s.steps))


def ready_state(boat: Boat) -> BoatState:
    """Return the state ready to sail: everything plugged and switched on, controls at rest."""
    hands = {s.id: s.high for s in settings_of(boat) if s.sort is not SettingSort.CONTROL}
    return rest_state(boat).with_(hands)
