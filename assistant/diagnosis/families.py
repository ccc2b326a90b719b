"""Families of causes, and how often each was the cause in troubles that really happened.

Weights and shares of the part kinds come from published failure-mode distributions and practice: they say how the
faults of one kind divide, and less well how kinds compare.  First-hand reports of such troubles say that better, but
they are few and biased towards what was hard to find.  So each family is drawn half way (on a log scale) from the one
to the other, by no more than a factor of `MOST`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import StrEnum
from math import sqrt
from types import MappingProxyType

from assistant.catalogue import Action, FaultSpec, Group, Kind


class Family(StrEnum):
    """What sort of cause a fault is."""

    CONTACT = "joint, contact or wire"
    CONNECTION = "wrong connection"
    SUPPLY = "battery or supply"
    SERVO = "servo"
    MOTOR = "motor or mechanics"
    RADIO = "noise or radio"
    REGULATOR = "regulator for the receiver"
    SETTING = "setting"
    DRIVE = "drive"
    RELAY = "relay"
    WATER = "water"
    OTHER = "other"


REPORTED: Mapping[Family, float] = MappingProxyType(
    {
        Family.CONTACT: 0.33,
        Family.CONNECTION: 0.14,
        Family.SUPPLY: 0.11,
        Family.SERVO: 0.08,
        Family.MOTOR: 0.05,
        Family.RADIO: 0.05,
        Family.REGULATOR: 0.04,
        Family.SETTING: 0.03,
        Family.DRIVE: 0.03,
        Family.RELAY: 0.03,
        Family.WATER: 0.03,
    }
)
"""Share of the causes in 93 field reports, biased towards hard faults (seen); shorts, the meter and others left out."""

MOST = 2.0
"""Largest factor by which a family is raised or lowered (common practice, no source)."""

_BY_ACTION = {Action.CONNECT: Family.CONNECTION, Action.DRY: Family.WATER, Action.SET: Family.SETTING}
_BY_GROUP = {
    Group.WIRE: Family.CONTACT,
    Group.JOINT: Family.CONTACT,
    Group.PACK: Family.SUPPLY,
    Group.SERVO: Family.SERVO,
    Group.MOTOR: Family.MOTOR,
    Group.RADIO: Family.RADIO,
    Group.CONVERTER: Family.REGULATOR,
    Group.DRIVE: Family.DRIVE,
    Group.RELAY: Family.RELAY,
}


def family_of(kind: Kind, fault: FaultSpec) -> Family:
    """Return the family of a fault: by what cures it where that says more than the part it sits in."""
    if fault.action in _BY_ACTION:
        return _BY_ACTION[fault.action]
    if fault.action is Action.REMAKE and kind.group in (Group.FUSE, Group.LIGHT, Group.SWITCH):
        return Family.CONTACT
    if kind.group is Group.WIRE and fault.add:
        return Family.OTHER
    return _BY_GROUP.get(kind.group, Family.OTHER)


def family_factors(families: Sequence[Family], weights: Sequence[float]) -> Mapping[Family, float]:
    """Return by what each family's weights are to be multiplied on a boat, given its faults and their weights.

    >>> found = family_factors([Family.CONTACT, Family.SUPPLY], [1.0, 1.0])
    >>> found[Family.CONTACT] > 1.0 > found[Family.SUPPLY]
    True
    """
    own: dict[Family, float] = {}
    for family, weight in zip(families, weights, strict=True):
        if family in REPORTED and weight > 0.0:
            own[family] = own.get(family, 0.0) + weight
    whole, reported = sum(own.values()), sum(REPORTED[family] for family in own)
    return {
        family: min(MOST, max(1.0 / MOST, sqrt(REPORTED[family] / reported * whole / share)))
        for family, share in own.items()
    }
