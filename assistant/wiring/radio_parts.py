"""What can be set or plugged wrongly about the radio, as parts without terminals.

Each channel, each pair of channels of one receiver and the model memory is a part of its own kind, so the same fault
machinery serves them.  A catalogue without these kinds describes boats whose radio is set up right.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations
from types import MappingProxyType

from assistant.catalogue import Catalogue
from assistant.documents import Mark
from assistant.wiring.model import Channel, Part, Radio

CHANNEL = "channel"
"""Name of the kind of a channel that one control moves."""

MIXED_CHANNEL = "mixed channel"
"""Name of the kind of a channel that several controls move."""

CHANNEL_PAIR = "channel pair"
"""Name of the kind of two channels whose plugs can be swapped."""

MODEL_MEMORY = "model memory"
"""Name of the kind of the transmitter's settings for this boat, and id of the part."""

_FIRST, _SECOND = "first", "second"


def channel_id(number: int) -> str:
    """Return the id of the part that stands for the settings of a channel.

    >>> channel_id(3)
    'channel 3'
    """
    return f"channel {number}"


def pair_id(first: int, second: int) -> str:
    """Return the id of the part that stands for two channels whose plugs can be swapped.

    >>> pair_id(1, 3)
    'channels 1 and 3'
    """
    return f"channels {first} and {second}"


def paired_channels(pair: Part) -> tuple[int, int]:
    """Return the numbers of the two channels that a part of the kind `CHANNEL_PAIR` stands for."""
    return int(pair.given[_FIRST]), int(pair.given[_SECOND])


def radio_parts(radio: Radio, marks: Mapping[int, Mark], catalogue: Catalogue) -> dict[str, Part]:
    """Return the parts of a radio's settings by id.

    Parameters
    ----------
    marks : where each channel is described, by its number.
    """
    channels = sorted(radio.channels.values(), key=lambda channel: channel.number)
    made = [_channel_part(channel, marks, catalogue) for channel in channels]
    for one, other in combinations(channels, 2):
        if one.receiver == other.receiver:
            given = {_FIRST: float(one.number), _SECOND: float(other.number)}
            name = pair_id(one.number, other.number)
            made.append(_part(name, CHANNEL_PAIR, given, marks.get(other.number), catalogue))
    if channels:
        made.append(_part(MODEL_MEMORY, MODEL_MEMORY, {}, marks.get(channels[0].number), catalogue))
    return {part.id: part for part in made if part is not None}


def _channel_part(channel: Channel, marks: Mapping[int, Mark], catalogue: Catalogue) -> Part | None:
    kind = CHANNEL if len(channel.mix) < 2 else MIXED_CHANNEL
    return _part(channel_id(channel.number), kind, {}, marks.get(channel.number), catalogue)


def _part(
    name: str, kind: str, given: Mapping[str, float], mark: Mark | None, catalogue: Catalogue
) -> Part | None:
    if kind not in catalogue.kinds:
        return None
    return Part(
        id=name,
        kind=catalogue.kinds[kind],
        given=MappingProxyType(dict(given)),
        reach=MappingProxyType({}),
        mark=mark,
    )
