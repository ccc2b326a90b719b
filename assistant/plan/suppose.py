"""A supposed fault in a person's words: "2 ohm at plug at pack +", "stalled at pump", "open at fuse"."""

from __future__ import annotations

import re
from math import sqrt

from assistant.catalogue import FaultSpec
from assistant.circuit import Fault
from assistant.documents import suggestion
from assistant.errors import AnswerError, QuantityError
from assistant.quantities import Unit, parse_quantity
from assistant.wiring import Boat, label_of

_FORM = 'write it as "2 ohm at PLACE" or "open at PLACE"'


def supposed_fault(boat: Boat, text: str) -> Fault:
    """Return the fault that `text` speaks of.

    Parameters
    ----------
    text
        How much or which mode, then ``at``, then a part, wire or joint by its id or as the sheets call it.

    Raises
    ------
    AnswerError
        If there is no such place, or nothing there can fail that way.
    """
    found = re.fullmatch(r"\s*(.+?)\s+at\s+(.+?)\s*", text)
    if found is None:
        raise AnswerError(value=text, reason="no place is named", next_step=_FORM)
    part = _place(boat, found[2])
    modes = boat.parts[part].kind.faults
    try:
        ohm = parse_quantity(found[1], Unit.OHM, low=0.0).value
    except QuantityError:
        return _mode(boat, part, found[1])
    series = [f for f in modes.values() if _is_series(f)]
    if not series:
        raise AnswerError(
            value=text, reason=f"{label_of(boat, part)} has no fault by ohms", next_step=_modes(boat, part)
        )
    fitting = next((f for f in series if f.severity and f.severity.low <= ohm <= f.severity.high), series[0])
    return Fault(part=part, mode=fitting.name, severity=ohm)


def _is_series(fault: FaultSpec) -> bool:
    return fault.severity is not None and fault.severity.unit is Unit.OHM and bool(fault.values)


def _mode(boat: Boat, part: str, typed: str) -> Fault:
    modes = boat.parts[part].kind.faults
    word = typed.casefold()
    name = next((m for m in modes if m.casefold() == word), None) or next(
        (m for m in modes if word in m.casefold() or word in modes[m].says.casefold()), None
    )
    if name is None:
        raise AnswerError(
            value=typed, reason=f"{label_of(boat, part)} does not fail that way", next_step=_modes(boat, part)
        )
    severity = modes[name].severity
    if severity is None:
        return Fault(part=part, mode=name)
    middle = sqrt(severity.low * severity.high) if severity.log else 0.5 * (severity.low + severity.high)
    return Fault(part=part, mode=name, severity=middle)


def _modes(boat: Boat, part: str) -> str:
    modes = [m for m, fault in boat.parts[part].kind.faults.items() if fault.share > 0.0]
    return f"name one of: {', '.join(modes)}" if modes else "name another place"


def _spelled(name: str) -> str:
    """Return a name in one spelling: the description writes step-down, the sheets step down.

    >>> _spelled("Screw at step-down  out"), _spelled("pack -")
    ('screw at step down out', 'pack -')
    """
    return " ".join(re.sub(r"(?<=\w)-(?=\w)", " ", name.casefold()).split())


def _place(boat: Boat, typed: str) -> str:
    """Return the id of the place that is meant: by id, by label, or by a part of the label only it has."""
    word = _spelled(typed).removeprefix("the ").removeprefix("joint ")
    labels = {part: _spelled(label_of(boat, part)) for part in boat.parts}
    exact = [part for part, label in labels.items() if word in {_spelled(part), label}]
    holding = [part for part, label in labels.items() if word in label]
    found = exact or holding
    if len(found) == 1:
        return found[0]
    if found:
        some = ", ".join(f'"{label_of(boat, part)}"' for part in found[:6])
        raise AnswerError(value=typed, reason="more than one place could be meant", next_step=f"name {some}")
    raise AnswerError(
        value=typed, reason="there is no such place", next_step=suggestion(word, [*labels, *labels.values()])
    )
