"""Changes to a described boat, each as the smallest change of its text: a value, a part, a lead, a channel.

A change gives a document; whether a boat comes out of it is for the reader of descriptions to say, since some steps
are only right together (a new part and its leads).  A lead is found by where the boat's reader saw it, so changes
that take a boat come before others to the same text.
"""

from __future__ import annotations

from collections.abc import Mapping as Values

from assistant.catalogue import Kind
from assistant.documents import Mapping, Node, Scalar, Sequence
from assistant.errors import AnswerError
from assistant.plan.editing import Document, Path, as_written, with_items, with_node, without_node
from assistant.wiring import Boat, Point


def values_of(document: Document, part: str) -> dict[str, str]:
    """Return what a description says of a part, kind and reach included."""
    body = document.at(("parts", part))
    if not isinstance(body, Mapping):
        raise AnswerError(value=part, reason="no such part is described", next_step="name one of the list")
    return {key.text: node.text for key, node in body.items if isinstance(node, Scalar)}


def with_value(document: Document, part: str, name: str, value: str) -> Document:
    """Return the description with one value of a part set."""
    return with_node(document, ("parts", part, name), as_written(value))


def without_value(document: Document, part: str, name: str) -> Document:
    """Return the description with one value of a part left to what is usual."""
    return without_node(document, ("parts", part, name))


def with_part(document: Document, part: str, kind: str, values: Values[str, str]) -> Document:
    """Return the description with one part more, wired to nothing yet.

    Raises
    ------
    AnswerError
        If there is such a part.
    """
    if document.at(("parts", part)) is not None:
        raise AnswerError(value=part, reason="there is a part of this name", next_step="give it another name")
    said = ", ".join(f"{name}: {as_written(value)}" for name, value in {"kind": kind, **values}.items())
    return with_node(document, ("parts", part), f"{{{said}}}")


def with_lead(document: Document, start: str, lead: str, end: str) -> Document:
    """Return the description with one lead more; the ends are written as ``part terminal``."""
    runs = document.at(("runs",))
    place = len(runs.items) if isinstance(runs, Sequence) else 0
    written = ", ".join(map(as_written, (start, lead, end)))
    return with_node(document, ("runs", place), f"[{written}]")


def with_lead_as(document: Document, boat: Boat, lead: str, written: str) -> Document:
    """Return the description with size, length and ends of a lead written anew."""
    return with_node(document, _place_of(document, boat, lead), as_written(written))


def lead_written(document: Document, boat: Boat, lead: str) -> str:
    """Return what a description says of a lead."""
    node = document.at(_place_of(document, boat, lead))
    return node.text if isinstance(node, Scalar) else ""


def with_part_in_lead(
    document: Document, boat: Boat, lead: str, part: str, leads: tuple[str, str]
) -> Document:
    """Return the description with a part, described before or after, put into a lead, which becomes two leads."""
    *run, place = _place_of(document, boat, lead)
    values = tuple(map(as_written, (leads[0], part, leads[1])))
    return with_items(document, tuple(run), int(place), int(place) + 1, values)


def without_lead(document: Document, boat: Boat, lead: str) -> Document:
    """Return the description without a lead; what stands on either side of it in its run goes on as before."""
    *_, run, place = _place_of(document, boat, lead)
    items = _texts(document, int(run))
    before = _closed(boat, items[: int(place)])
    after = _opened(boat, items[int(place) + 1 :])
    return _with_runs(document, int(run), [before, after])


def without_part(document: Document, boat: Boat, part: str) -> Document:
    """Return the description without a part, its leads and its channels.

    Where a run goes through the part, the lead before it goes on to what stood behind it.
    """
    runs = document.at(("runs",))
    for number in reversed(range(len(runs.items) if isinstance(runs, Sequence) else 0)):
        items = _texts(document, number)
        if any(_names(item, part) for item in items):
            document = _with_runs(document, number, _bypassed(boat, items, part))
    for number in [n for n, channel in boat.radio.channels.items() if channel.device == part]:
        document = without_channel(document, number)
    return without_node(document, ("parts", part))


def with_channel(
    document: Document, number: int, device: str, mix: Values[str, str], *, cut: bool = False
) -> Document:
    """Return the description with a device on a receiver's channel, and what moves it.

    Parameters
    ----------
    number
        Number of the channel.
    device
        The part, with the name of its input where it has several.
    mix
        Share of each control, by its name.
    cut
        Whether the red wire is taken out of the plug.
    """
    to = as_written(device)
    body = f"{{to: {to}, cut: +}}" if cut else to
    shares = ", ".join(f"{name}: {as_written(share)}" for name, share in mix.items())
    document = with_node(document, ("radio", "channels", str(number)), body)
    return with_node(document, ("radio", "mix", str(number)), f"{{{shares}}}")


def without_channel(document: Document, number: int) -> Document:
    """Return the description without a channel, its mix and its trim."""
    for section in ("channels", "mix", "trim"):
        path = ("radio", section, str(number))
        if document.at(path) is not None:
            document = without_node(document, path)
    return document


def with_control(document: Document, name: str, kind: str) -> Document:
    """Return the description with one control of the transmitter more."""
    return with_node(document, ("radio", "controls", name), as_written(kind))


def with_text(document: Document, key: str, text: str) -> Document:
    """Return the description with the boat's name or purpose said anew."""
    return with_node(document, (key,), as_written(text))


def spoken(boat: Boat, point: Point) -> str:
    """Return a point as runs call it."""
    kind = boat.parts[point.part].kind
    alone = len(kind.terminals) == 1 and kind.slots is None
    return point.part if alone else f"{point.part} {point.terminal}"


def _place_of(document: Document, boat: Boat, lead: str) -> Path:
    mark = boat.leads[lead].mark
    runs = document.at(("runs",))
    for number, run in enumerate(runs.items if isinstance(runs, Sequence) else ()):
        for place, item in enumerate(run.items if isinstance(run, Sequence) else ()):
            if isinstance(item, Scalar) and item.mark == mark:
                return ("runs", number, place)
    raise AnswerError(value=lead, reason="this lead belongs to a channel", next_step="change the channel")


def _texts(document: Document, run: int) -> list[str]:
    node = document.at(("runs", run))
    items: tuple[Node, ...] = node.items if isinstance(node, Sequence) else ()
    return [item.text for item in items if isinstance(item, Scalar)]


def _with_runs(document: Document, run: int, pieces: list[list[str]]) -> Document:
    """Return the description with a run replaced by those pieces of it that hold a lead."""
    kept = ["[{}]".format(", ".join(map(as_written, piece))) for piece in pieces if len(piece) > 2]
    if not kept:
        return without_node(document, ("runs", run))
    return with_items(document, ("runs",), run, run + 1, tuple(kept))


def _names(item: str, part: str) -> bool:
    return item.split(maxsplit=1)[0] == part


def _bypassed(boat: Boat, items: list[str], part: str) -> list[list[str]]:
    """Return the pieces of a run without a part: joined past it in the middle, cut off at an end."""
    hops = [place for place in range(len(items)) if place and _is_lead(boat, items[place])]
    places = [place for place, item in enumerate(items) if _names(item, part)]
    first, last = places[0], places[-1]
    if last == len(items) - 1:
        inner = [place for place in hops if place < first]
        return [_closed(boat, items[: inner[-1]])] if inner else []
    if first == 0:
        inner = [place for place in hops if place > last]
        return [_opened(boat, items[inner[0] + 1 :])] if inner else []
    return [[*items[:first], *items[last + 2 :]]]


def _is_lead(boat: Boat, item: str) -> bool:
    return item.split(maxsplit=1)[0] not in boat.parts


def _closed(boat: Boat, items: list[str]) -> list[str]:
    """Return a run that ends where it was cut, its last part by the terminal that the run came in at."""
    return [*items[:-1], _end(boat, items[-1], first=True)] if items else items


def _opened(boat: Boat, items: list[str]) -> list[str]:
    """Return a run that begins where it was cut, its first part by the terminal that the run goes out at."""
    return [_end(boat, items[0], first=False), *items[1:]] if items else items


def _end(boat: Boat, item: str, *, first: bool) -> str:
    kind: Kind | None = boat.parts[item].kind if item in boat.parts else None
    if kind is None or len(kind.through) < 2:
        return item
    return f"{item} {kind.through[0 if first else -1]}"
