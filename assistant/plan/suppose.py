"""A supposed fault in a person's words: "2 ohm at plug at pack +", "signal touches minus in rudder lead".

Words of a fault are compared with its name and with what is said of it, in one spelling and without the small words;
what fits several faults of the place is refused with their names, not guessed.
"""

from __future__ import annotations

import re
from math import sqrt

from assistant.catalogue import FaultSpec
from assistant.circuit import Fault
from assistant.documents import suggestion
from assistant.errors import AnswerError, QuantityError
from assistant.quantities import Unit, parse_quantity
from assistant.wiring import Boat, cable_id, cable_ids, label_of

_FORM = 'write it as "2 ohm at PLACE" or "open at PLACE"'
_FORMS = (r"\s*(.+?)\s+at\s+(.+?)\s*", r"\s*(.+?)\s+(?:in|on)\s+(.+?)\s*")
_SMALL = frozenset(
    {"a", "and", "the", "its", "is", "are", "to", "with", "each", "other", "core", "cores", "wire", "wires"}
)
_ALIKE = (
    ("touch", "touch"),
    ("short", "touch"),
    ("negativ", "minus"),
    ("black", "minus"),
    ("plus", "red"),
    ("positiv", "red"),
)
"""Beginnings of words, and the one word that they are taken for."""


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
    found = next(filter(None, (re.fullmatch(form, text) for form in _FORMS)), None)
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
    meant = _meaning(typed)
    fitting = (
        [m for m in modes if m.casefold() == word]
        or [m for m in modes if word in m.casefold()]
        or [m for m in modes if meant and meant <= _meaning(f"{m} {modes[m].says}")]
        or [m for m in modes if word in modes[m].says.casefold()]
    )
    named = [m for m in fitting if modes[m].share > 0.0] or fitting
    if named[1:] and not any(word in m.casefold() for m in named):
        raise AnswerError(
            value=typed,
            reason="more than one fault could be meant",
            next_step=f"name one of: {', '.join(named)}",
        )
    name = next(iter(named), None)
    if name is None:
        raise AnswerError(
            value=typed, reason=f"{label_of(boat, part)} does not fail that way", next_step=_modes(boat, part)
        )
    severity = modes[name].severity
    if severity is None:
        return Fault(part=part, mode=name)
    middle = sqrt(severity.low * severity.high) if severity.log else 0.5 * (severity.low + severity.high)
    return Fault(part=part, mode=name, severity=middle)


def _meaning(text: str) -> frozenset[str]:
    """Return the words that matter, those of one meaning in one spelling.

    >>> sorted(_meaning("Signal shorted to the negative"))
    ['minus', 'signal', 'touch']
    """
    words = set(re.findall(r"[^\W_]+", text.casefold())) - _SMALL
    return frozenset(next((to for start, to in _ALIKE if word.startswith(start)), word) for word in words)


def _modes(boat: Boat, part: str) -> str:
    modes = [m for m, fault in boat.parts[part].kind.faults.items() if fault.share > 0.0]
    return f"name one of: {', '.join(modes)}" if modes else "name another place"


def _spelled(name: str) -> str:
    """Return a name in one spelling: the description writes step-down, the sheets step down.

    >>> _spelled("Screw at step-down  out"), _spelled("pack -")
    ('screw at step down out', 'pack -')
    """
    return " ".join(re.sub(r"(?<=\w)-(?=\w)", " ", name.casefold()).split())


def _cable_names(boat: Boat) -> dict[str, set[str]]:
    """Return what people call the lead of a channel: after the device at its end."""
    cables = cable_ids(boat)
    ends = {
        cable_id(f"channel {one.number}"): _spelled(label_of(boat, one.device))
        for one in boat.radio.channels.values()
    }
    return {
        cable: {
            form.format(end) for form in ("{} lead", "lead of {}", "lead to {}", "{} cable", "cable of {}")
        }
        for cable, end in ends.items()
        if cable in cables
    }


def _place(boat: Boat, typed: str) -> str:
    """Return the id of the place that is meant: by id, by label, or by a part of the label only it has."""
    word = _spelled(typed).removeprefix("the ").removeprefix("joint ")
    labels = {part: _spelled(label_of(boat, part)) for part in boat.parts}
    exact = [part for part, label in labels.items() if word in {_spelled(part), label}]
    exact = exact or [cable for cable, names in _cable_names(boat).items() if word in names]
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
