"""From leads as written to wires and joints: a lead is one wire part and a joint part at each end."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from assistant.catalogue import Catalogue, Kind
from assistant.documents import Mark, Problems
from assistant.errors import MisuseError, quote
from assistant.wiring.model import JointKind, Lead, Part, Point

WIRE = "wire"
"""Name of the kind that wires are of; joints are of ``soldered joint`` and so on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """Size of a wire."""

    area_mm2: float
    length_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A lead as written, before it is checked against the others."""

    ends: tuple[Point, Point]
    joints: tuple[JointKind, JointKind]
    gauge: Gauge
    cable: str | None
    mark: Mark


def wire_kind(catalogue: Catalogue) -> Kind:
    """Return the kind of wires.

    Raises
    ------
    MisuseError
        When the catalogue lacks it or one of the joints: no boat can be read with it.
    """
    wanted = (WIRE, *(joint_name(joint) for joint in JointKind))
    missing = [name for name in wanted if name not in catalogue.kinds]
    if missing:
        reason = f"the catalogue lacks the kinds {', '.join(missing)}"
        raise MisuseError(reason=reason, next_step="load the whole folder of kinds")
    return catalogue.kinds[WIRE]


def joint_name(joint: JointKind) -> str:
    """Return the name of a joint's kind.

    >>> joint_name(JointKind.PLUGGED)
    'plugged joint'
    """
    return f"{joint} joint"


def leads_of(drafts: Iterable[Draft], problems: Problems) -> dict[str, Lead]:
    """Return the leads by id; a lead to itself and a second one between the same ends are noted."""
    leads: dict[str, Lead] = {}
    first: dict[frozenset[Point], Mark] = {}
    for draft in drafts:
        pair = frozenset(draft.ends)
        words = (
            f"{draft.ends[0].part} {draft.ends[0].terminal}",
            f"{draft.ends[1].part} {draft.ends[1].terminal}",
        )
        if len(pair) == 1:
            what = f"a lead from {quote(words[0])} to itself"
            problems.add(draft.mark, "loop", what, "name the terminal it goes to")
        elif pair in first:
            what = f"a second lead between {quote(words[0])} and {quote(words[1])}"
            mend = f"keep this one or that on line {first[pair].line}; two wires are one thicker wire"
            problems.add(draft.mark, "duplicate-lead", what, mend)
        else:
            first[pair] = draft.mark
            lead = _lead(draft)
            leads[lead.id] = lead
    return leads


def _lead(draft: Draft) -> Lead:
    return Lead(
        id=f"{draft.ends[0]}--{draft.ends[1]}",
        ends=draft.ends,
        joints=draft.joints,
        area_mm2=draft.gauge.area_mm2,
        length_m=draft.gauge.length_m,
        cable=draft.cable,
        mark=draft.mark,
    )


def lead_parts(leads: Iterable[Lead], catalogue: Catalogue) -> dict[str, Part]:
    """Return wire and joints of all leads as parts, by id."""
    nothing: Mapping[str, float] = MappingProxyType({})
    found: dict[str, Part] = {}
    for lead in leads:
        given = MappingProxyType({"area_mm2": lead.area_mm2, "length_m": lead.length_m})
        found[lead.id] = _part(lead.id, catalogue.kinds[WIRE], given, lead.mark)
        for end, joint in enumerate(lead.joints, start=1):
            name = f"{lead.id}@{end}"
            found[name] = _part(name, catalogue.kinds[joint_name(joint)], nothing, lead.mark)
    return found


def _part(name: str, kind: Kind, given: Mapping[str, float], mark: Mark | None) -> Part:
    return Part(id=name, kind=kind, given=given, reach=MappingProxyType({}), mark=mark)
