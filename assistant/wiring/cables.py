"""Cores that run together in one lead, as a part of its own: what can touch what there.

The part of a cable has no elements while it is sound.  Its terminals are the ends of its cores at the device, so that
a short lies behind their copper.  A catalogue without these kinds describes cables whose cores never touch.
"""

from __future__ import annotations

from collections.abc import Iterable
from types import MappingProxyType

from assistant.catalogue import Catalogue
from assistant.wiring.model import Boat, Lead, Part

SIGNAL_CABLE = "signal cable"
"""Name of the kind of a three-core lead."""

CUT_SIGNAL_CABLE = "cut signal cable"
"""Name of the kind of a three-core lead whose red core is cut out."""

_KINDS = {3: SIGNAL_CABLE, 2: CUT_SIGNAL_CABLE}


def cable_id(cable: str) -> str:
    """Return the id of the part that stands for the cores of a cable together.

    >>> cable_id("channel 1")
    'channel 1 lead'
    """
    return f"{cable} lead"


def cable_ids(boat: Boat) -> frozenset[str]:
    """Return the ids of all cables."""
    return frozenset(cable_id(lead.cable) for lead in boat.leads.values() if lead.cable) & boat.parts.keys()


def cable_parts(leads: Iterable[Lead], catalogue: Catalogue) -> dict[str, Part]:
    """Return the parts of the cables that leads are the cores of, by id."""
    cores: dict[str, list[Lead]] = {}
    for lead in leads:
        if lead.cable:
            cores.setdefault(lead.cable, []).append(lead)
    parts = [_part(cable, members, catalogue) for cable, members in cores.items()]
    return {part.id: part for part in parts if part is not None}


def _part(cable: str, cores: list[Lead], catalogue: Catalogue) -> Part | None:
    kind = catalogue.kinds.get(_KINDS.get(len(cores), ""))
    if kind is None:
        return None
    none = MappingProxyType[str, float]({})
    return Part(id=cable_id(cable), kind=kind, given=none, reach=MappingProxyType({}), mark=cores[0].mark)
