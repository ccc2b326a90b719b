"""The same boat on another pack: to see what a change of chemistry or of the number of cells would mean."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from assistant.catalogue import Catalogue, Group
from assistant.documents import suggestion
from assistant.errors import AnswerError
from assistant.plan.cases import parts_in
from assistant.wiring import Boat


def with_pack(boat: Boat, catalogue: Catalogue, *, kind: str | None = None, cells: int | None = None) -> Boat:
    """Return the boat with its packs changed; what the description says of them is kept where it still fits.

    Parameters
    ----------
    kind : name of a pack kind, or None for the kind described.
    cells : cells in series of every pack, or None for the number described.

    Raises
    ------
    AnswerError
        If there is no such kind of pack, or it is not made with so many cells.
    """
    packs = {name: k for name, k in catalogue.kinds.items() if k.group is Group.PACK}
    if kind is not None and kind not in packs:
        raise AnswerError(value=kind, reason="no such kind of pack", next_step=suggestion(kind, list(packs)))
    parts = dict(boat.parts)
    for name in parts_in(boat, Group.PACK):
        part = parts[name]
        wanted = packs[kind] if kind is not None else part.kind
        given = {value: number for value, number in part.given.items() if value in wanted.values}
        if kind is not None:
            given.pop("soc", None)
        if cells is not None:
            given["cells"] = float(cells)
        low, high = wanted.values["cells"].low or 1.0, wanted.values["cells"].high or float("inf")
        if not low <= given["cells"] <= high:
            reason = f"a {wanted.name} has {low:g} to {high:g} cells"
            raise AnswerError(
                value=f"{given['cells']:g} cells", reason=reason, next_step="name another number"
            )
        parts[name] = replace(part, kind=wanted, given=MappingProxyType(given))
    return replace(boat, parts=MappingProxyType(parts))
