"""Levels of drills: which faults each hides, from a joint that is simply open to two faults at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from assistant.catalogue import FaultSpec, Group
from assistant.circuit import Network
from assistant.diagnosis import Hypothesis
from assistant.quantities import Unit
from assistant.wiring import cable_ids, lead_of

_FEED = frozenset({Group.FUSE, Group.SWITCH, Group.JOINT, Group.WIRE})
_PARTS = frozenset(
    {
        Group.DRIVE,
        Group.MOTOR,
        Group.SERVO,
        Group.RADIO,
        Group.RELAY,
        Group.CONVERTER,
        Group.LIGHT,
        Group.PACK,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """A level.

    Attributes
    ----------
    number : from 1, easiest first.
    title : what it is about, in a few words.
    idea : the one idea that its drills need.
    hides : whether a story may be hidden here.
    faults : how many faults are hidden at once.
    """

    number: int
    title: str
    idea: str
    hides: Callable[[Network, Hypothesis], bool]
    faults: int = 1


def _spec(network: Network, hypothesis: Hypothesis) -> FaultSpec:
    first = hypothesis.modes[0]
    return network.parts[first.part].kind.faults[first.mode]


def _group(network: Network, hypothesis: Hypothesis) -> Group:
    return network.parts[hypothesis.modes[0].part].kind.group


def _is_single(network: Network, hypothesis: Hypothesis) -> bool:
    return len(hypothesis.modes) == 1 and not _spec(network, hypothesis).intermittent


def _is_signal(network: Network, hypothesis: Hypothesis) -> bool:
    part = hypothesis.modes[0].part
    lead = lead_of(network.boat, part)
    return part in cable_ids(network.boat) or (lead is not None and lead.cable is not None)


def _broken_feed(network: Network, hypothesis: Hypothesis) -> bool:
    spec = _spec(network, hypothesis)
    return (
        _is_single(network, hypothesis)
        and _group(network, hypothesis) in _FEED
        and not _is_signal(network, hypothesis)
        and spec.severity is None
        and bool(spec.open or spec.never)
    )


def _bad_contact(network: Network, hypothesis: Hypothesis) -> bool:
    spec = _spec(network, hypothesis)
    return (
        _is_single(network, hypothesis)
        and _group(network, hypothesis) in _FEED
        and not _is_signal(network, hypothesis)
        and spec.severity is not None
        and spec.severity.unit is Unit.OHM
        and bool(spec.values)
    )


def _signal_lead(network: Network, hypothesis: Hypothesis) -> bool:
    return _is_single(network, hypothesis) and _is_signal(network, hypothesis)


def _part(network: Network, hypothesis: Hypothesis) -> bool:
    return _is_single(network, hypothesis) and _group(network, hypothesis) in _PARTS


def _with_consequence(network: Network, hypothesis: Hypothesis) -> bool:
    return len(hypothesis.modes) > 1 and _group(network, hypothesis) is not Group.FUSE


def _comes_and_goes(network: Network, hypothesis: Hypothesis) -> bool:
    return len(hypothesis.modes) == 1 and _spec(network, hypothesis).intermittent


def _either_of_two(network: Network, hypothesis: Hypothesis) -> bool:
    return _broken_feed(network, hypothesis) or _signal_lead(network, hypothesis)


LEVELS: Sequence[Level] = (
    Level(
        number=1,
        title="a break in the feed",
        idea="Are there volts here? Before a break there are, behind it there are none.",
        hides=_broken_feed,
    ),
    Level(
        number=2,
        title="a bad contact",
        idea="A bad contact shows only while current flows: read the volts that are lost over it.",
        hides=_bad_contact,
    ),
    Level(
        number=3,
        title="a lead of the radio",
        idea="A device needs volts, minus and signal; each has a wire of its own.",
        hides=_signal_lead,
    ),
    Level(
        number=4,
        title="a part or a setting",
        idea="All that goes into a part is right and what comes out is not: then it is the part.",
        hides=_part,
    ),
    Level(
        number=5,
        title="cause and consequence",
        idea="What blew did so for a reason: find that first, or it will blow again.",
        hides=_with_consequence,
    ),
    Level(
        number=6,
        title="a fault that comes and goes",
        idea="A reading counts only while the trouble shows; a finger that makes it come or go is on the place.",
        hides=_comes_and_goes,
    ),
    Level(
        number=7,
        title="two faults at once",
        idea="What did not cure everything may have cured something: look again, and go on with fresh readings.",
        hides=_either_of_two,
        faults=2,
    ),
)
"""All levels, easiest first."""


def level_of(number: int) -> Level:
    """Return a level by its number; the nearest one where there is none such."""
    return LEVELS[min(max(number, 1), len(LEVELS)) - 1]
