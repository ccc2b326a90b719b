"""Reading the runs of a boat: chains of terminals with a lead at every hop.

A run alternates terminals and leads.  A bare part name stands for both its main terminals where the run
passes through it, first in, second out, or for the one where it has one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

from assistant.catalogue import Catalogue, Kind, terminal_of
from assistant.documents import Mark, Node, Problems, Scalar, Sequence, items_of, suggestion, text_of
from assistant.errors import AnswerError, QuantityError, quote
from assistant.quantities import Unit, parse_quantity
from assistant.wiring.leads import Draft, Gauge, wire_kind
from assistant.wiring.model import JointKind, Part, Point

_HOP_START = re.compile(r"\s*(?:[\d.,]|awg\b)", re.IGNORECASE)
_HOP = re.compile(
    r"\s*(?P<gauge>awg\s?\d+|[\d.,]+\s?(?:awg|mm2|mm²|mm\^2))\s+(?P<length>[\d.,]+\s?[^\W\d]+|[\d.,]+\s?[\"'])"
    r"(?:\s+(?P<joints>\S.*?))?\s*",
    re.IGNORECASE,
)
_HOP_FORM = 'write a lead as "14 AWG 15 cm plug": size, length, and what ends it unless it is soldered'
_JOINT_WORDS = {
    "solder": JointKind.SOLDERED,
    "soldered": JointKind.SOLDERED,
    "crimp": JointKind.CRIMPED,
    "crimped": JointKind.CRIMPED,
    "plug": JointKind.PLUGGED,
    "plugged": JointKind.PLUGGED,
    "screw": JointKind.SCREWED,
    "screwed": JointKind.SCREWED,
}
_SHORTEST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stop:
    """A terminal, or a bare part, in a run."""

    mark: Mark
    part: str
    entry: str
    exit: str
    bare_pair: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Hop:
    """A lead as written: size, length and what ends it."""

    mark: Mark
    gauge: Gauge
    joints: tuple[JointKind, JointKind]


def runs_of(
    node: Node | None, parts: dict[str, Part], unread: frozenset[str], limits: Kind, problems: Problems
) -> list[Draft]:
    """Return the leads of all runs in the order written.

    Parameters
    ----------
    node
        The list of runs.
    parts
        The parts described.
    unread
        Parts whose own entry has problems: using them is no further problem.
    limits
        The kind of wires, for the limits of size and length.
    problems
        Receives what is wrong.
    """
    drafts = []
    for run in items_of(node, problems):
        drafts.extend(_run(run, parts, unread, limits, problems))
    return drafts


def _run(
    run: Node, parts: dict[str, Part], unread: frozenset[str], limits: Kind, problems: Problems
) -> list[Draft]:
    items = items_of(run, problems)
    if not isinstance(run, Sequence):
        return []
    if len(items) < _SHORTEST:
        what = f"a run of {len(items)} entries"
        problems.add(
            run.mark,
            "short-run",
            what,
            "write at least a terminal, a lead and a terminal: [pack +, 14 AWG 15 cm, fuse in]",
        )
        return []
    read = [_item(item, parts, unread, limits, problems) for item in items]
    hops = [is_hop(item) for item in items]
    _check_order(items, read, hops, problems)
    _check_pairs(read, problems)
    return [
        Draft(
            ends=(
                Point(part=before.part, terminal=before.exit),
                Point(part=after.part, terminal=after.entry),
            ),
            joints=hop.joints,
            gauge=hop.gauge,
            cable=None,
            mark=hop.mark,
        )
        for before, hop, after in zip(read, read[1:], read[2:], strict=False)
        if isinstance(before, _Stop) and isinstance(hop, Hop) and isinstance(after, _Stop)
    ]


def _item(
    node: Node, parts: dict[str, Part], unread: frozenset[str], limits: Kind, problems: Problems
) -> _Stop | Hop | None:
    text = text_of(node, problems)
    if text is None:
        return None
    if is_hop(node):
        return hop_of(node, limits, problems)
    return _stop(node, text, parts, unread, problems)


def is_hop(node: Node) -> bool:
    """Return whether an entry of a run is meant as a lead: it starts with a size."""
    return not isinstance(node, Sequence) and bool(_HOP_START.match(getattr(node, "text", "")))


def hop_of(node: Node | None, limits: Kind, problems: Problems) -> Hop | None:
    """Return the lead that a text describes, such as ``14 AWG 15 cm plug/soldered``."""
    text = text_of(node, problems)
    if node is None or text is None:
        return None
    found = _HOP.fullmatch(text)
    if found is None:
        problems.add(node.mark, "lead", f"{quote(text)} is no lead", _HOP_FORM)
        return None
    area, length = limits.values["area_mm2"], limits.values["length_m"]
    try:
        area_mm2 = parse_quantity(found["gauge"], Unit.SQUARE_MM, low=area.low, high=area.high).value
        length_m = parse_quantity(found["length"], Unit.METRE, low=length.low, high=length.high).value
    except QuantityError as error:
        problems.add(node.mark, "lead", f"{quote(text)}: {error.value}: {error.reason}", error.next_step)
        return None
    joints = _joints(node, found["joints"] or "soldered", problems)
    if joints is None:
        return None
    return Hop(mark=node.mark, gauge=Gauge(area_mm2=area_mm2, length_m=length_m), joints=joints)


def read_lead(text: str, catalogue: Catalogue) -> Hop:
    """Return the lead that a person typed, such as ``14 AWG 15 cm plug/soldered``.

    Raises
    ------
    AnswerError
        If it is none.
    """
    problems, start = Problems(), Mark(file="typed", line=1, column=1)
    node = Scalar(text=text, mark=start, end=start, quoted=False)
    hop = hop_of(node, wire_kind(catalogue), problems)
    if hop is None:
        told = next(iter(problems))
        raise AnswerError(reason=told.what, next_step=told.mend)
    return hop


def _joints(node: Node, text: str, problems: Problems) -> tuple[JointKind, JointKind] | None:
    words = [word.strip().casefold() for word in text.split("/")]
    kinds = [_JOINT_WORDS[word] for word in words if word in _JOINT_WORDS]
    for word in words:
        if word not in _JOINT_WORDS:
            problems.add(
                node.mark, "unknown-joint", f"unknown joint {quote(word)}", suggestion(word, _JOINT_WORDS)
            )
    if len(kinds) < len(words):
        return None
    if len(words) > 2:
        problems.add(node.mark, "lead", f"{len(words)} joints in {quote(text)}", "write one, or first/second")
        return None
    return kinds[0], kinds[-1]


def _stop(
    node: Node, text: str, parts: dict[str, Part], unread: frozenset[str], problems: Problems
) -> _Stop | None:
    words = text.split()
    name = words[0]
    if name in unread:
        return None
    if name not in parts:
        problems.add(node.mark, "unknown-part", f"unknown part {quote(name)}", suggestion(name, parts))
        return None
    if len(words) > 2:
        problems.add(
            node.mark, "terminal", f"{quote(text)} is no terminal", 'write part and terminal: "pack +"'
        )
        return None
    kind = parts[name].kind
    if len(words) == 2:
        return _terminal(node, name, words[1], kind, problems)
    if not kind.through:
        names = ", ".join(f"{name} {terminal}" for terminal in kind.terminals)
        problems.add(node.mark, "bare-part", f"{quote(name)} has no main terminals", f"name one: {names}")
        return None
    return _Stop(
        mark=node.mark,
        part=name,
        entry=kind.through[0],
        exit=kind.through[-1],
        bare_pair=len(kind.through) == 2,
    )


def _terminal(node: Node, part: str, terminal: str, kind: Kind, problems: Problems) -> _Stop | None:
    if terminal_of(kind, terminal) is None:
        what = f"{quote(part)} ({kind.name}) has no terminal {quote(terminal)}"
        problems.add(node.mark, "unknown-terminal", what, suggestion(terminal, kind.terminals))
        return None
    return _Stop(mark=node.mark, part=part, entry=terminal, exit=terminal, bare_pair=False)


def _check_order(
    items: tuple[Node, ...], read: list[_Stop | Hop | None], hops: list[bool], problems: Problems
) -> None:
    for position in {0, len(items) - 1}:
        if hops[position]:
            where = "starts" if position == 0 else "ends"
            problems.add(
                items[position].mark, "run-order", f"a run {where} with a lead", "add the terminal it goes to"
            )
    for item, (hop, after) in zip(items[1:], pairwise(hops), strict=True):
        if hop and after:
            problems.add(item.mark, "run-order", "two leads in a row", "name the part or splice between them")
    for before, after_stop in pairwise(read):
        if isinstance(before, _Stop) and isinstance(after_stop, _Stop) and before.part != after_stop.part:
            what = f"no lead between {quote(before.part)} and {quote(after_stop.part)}"
            problems.add(after_stop.mark, "run-order", what, 'write the lead between them: "14 AWG 15 cm"')


def _check_pairs(read: list[_Stop | Hop | None], problems: Problems) -> None:
    """Note bare parts with two terminals that the run does not pass through, with a lead on either side."""
    for position, stop in enumerate(read):
        if not isinstance(stop, _Stop) or not stop.bare_pair:
            continue
        neighbours = (
            read[position - 1] if position else stop,
            read[position + 1] if position + 1 < len(read) else stop,
        )
        if any(isinstance(neighbour, _Stop) for neighbour in neighbours):
            choices = f"{quote(f'{stop.part} {stop.entry}')} or {quote(f'{stop.part} {stop.exit}')}"
            what = f"{quote(stop.part)} has two ends, and the run does not pass through it"
            problems.add(stop.mark, "bare-part", what, f"write {choices}")
