"""From the text of a wiring description to a boat.

The text is read strictly, and every section is read even when another has problems, so that its author gets
one complete list.  Names of parts that could not be read are remembered, lest one slip be told many times.
"""

from __future__ import annotations

import re
from types import MappingProxyType

from assistant.catalogue import Catalogue
from assistant.documents import Mapping as Fields
from assistant.documents import (
    Node,
    Problems,
    entries_of,
    mapping_fields,
    parse_document,
    suggestion,
    text_of,
)
from assistant.errors import DocumentError, QuantityError, WiringError, quote
from assistant.quantities import Unit, parse_quantity
from assistant.wiring.cables import cable_parts
from assistant.wiring.leads import lead_parts, leads_of, wire_kind
from assistant.wiring.load_parts import parts_of
from assistant.wiring.load_radio import radio_of
from assistant.wiring.load_runs import runs_of
from assistant.wiring.model import Boat, Lead, Part, Point, Radio
from assistant.wiring.radio_parts import radio_parts

_REQUIRED = ("boat", "parts", "runs")
_OPTIONAL = ("about", "radio", "usage")
_MINUTES_PER_HOUR = 60.0
_SECONDS_PER_MINUTE = 60.0


def load_boat(text: str, file: str, catalogue: Catalogue) -> Boat:
    """Return the boat that `text` describes.

    Parameters
    ----------
    text
        The wiring description.
    file
        Its name, for messages.
    catalogue
        All part kinds, those of wires and joints among them.

    Raises
    ------
    WiringError
        With all problems of the description, each with its place.
    MisuseError
        When the catalogue lacks the kinds of wires and joints.
    """
    limits = wire_kind(catalogue)
    problems = Problems()
    try:
        root = parse_document(text, file)
    except DocumentError as error:
        raise WiringError(problems=error.problems) from error
    fields = mapping_fields(root, _OPTIONAL, _REQUIRED, problems)
    name = text_of(fields.get("boat"), problems) or ""
    about = text_of(fields.get("about"), problems) or ""
    parts = parts_of(fields.get("parts"), catalogue, problems)
    unread = _unread(fields.get("parts"), parts)
    runs = runs_of(fields.get("runs"), parts, unread, limits, problems)
    radio, channel_leads, marks = radio_of(fields.get("radio"), parts, unread, limits, problems)
    leads = leads_of([*runs, *channel_leads], problems)
    usage = _usage(fields.get("usage"), radio, problems)
    if "runs" in fields and not problems:
        _check_ends(parts, leads, problems)
    problems.raise_if_any(WiringError)
    return Boat(
        id=_slug(name),
        name=name,
        about=about,
        parts=MappingProxyType(
            {
                **parts,
                **lead_parts(leads.values(), catalogue),
                **cable_parts(leads.values(), catalogue),
                **radio_parts(radio, marks, catalogue),
            }
        ),
        leads=MappingProxyType(leads),
        radio=radio,
        usage=MappingProxyType(usage),
        text=text,
    )


def _slug(name: str) -> str:
    """Return a name as an id.

    >>> _slug("Little Grebe 2")
    'little-grebe-2'
    """
    return re.sub(r"[\W_]+", "-", name.casefold()).strip("-") or "boat"


def _unread(node: Node | None, parts: dict[str, Part]) -> frozenset[str]:
    return frozenset(node.keys()) - parts.keys() if isinstance(node, Fields) else frozenset()


def _usage(node: Node | None, radio: Radio, problems: Problems) -> dict[str, float]:
    """Return the share of time each control is in use; minutes are those of an hour."""
    found = {}
    for key, body in entries_of(node, problems):
        text = text_of(body, problems)
        if key.text not in radio.controls:
            what = f"unknown control {quote(key.text)}"
            problems.add(key.mark, "unknown-control", what, suggestion(key.text, radio.controls))
        elif text is not None:
            try:
                found[key.text] = _share_of_time(text)
            except QuantityError as error:
                problems.add(
                    body.mark, "quantity", f"{quote(text)}: {error.reason}", 'write "30 %" or "20 min"'
                )
    return found


def _share_of_time(text: str) -> float:
    try:
        return parse_quantity(text, Unit.RATIO, low=0, high=1).value
    except QuantityError:
        seconds = parse_quantity(text, Unit.SECOND, low=0, high=_MINUTES_PER_HOUR * _SECONDS_PER_MINUTE).value
        return seconds / _SECONDS_PER_MINUTE / _MINUTES_PER_HOUR


def _check_ends(parts: dict[str, Part], leads: dict[str, Lead], problems: Problems) -> None:
    """Note parts without any lead, and loose ends of parts that have two terminals."""
    wired = {end for lead in leads.values() for end in lead.ends}
    busy = {end.part for end in wired}
    for name, part in parts.items():
        if part.mark is None:
            continue
        if name not in busy:
            mend = "add it to a run or a channel, or remove it"
            problems.add(part.mark, "unwired", f"{quote(name)} is wired to nothing", mend)
            continue
        terminals = part.kind.terminals
        loose = [end for end in terminals if Point(part=name, terminal=end) not in wired]
        for terminal in loose if len(terminals) == 2 and part.kind.slots is None else ():
            what = f"{quote(f'{name} {terminal}')} is wired to nothing"
            problems.add(part.mark, "unwired", what, "add the lead from it to a run")
