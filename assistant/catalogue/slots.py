"""Terminals of a part kind, the made ones included.

A receiver has a row of equal three-pin sockets.  Its kind describes the row once; the terminals ``3s``,
``3+`` and ``3-`` of socket 3 are made here, so that every user of a name sees the same terminals.
"""

from __future__ import annotations

import re

from assistant.catalogue.model import Kind, Reach, Side, Terminal

_SLOT_PIN = re.compile(r"([1-9][0-9]?)([s+-])")
_PINS = {
    "s": ("signal pin of socket", Side.SIGNAL),
    "+": ("middle pin (+) of socket", Side.POSITIVE),
    "-": ("minus pin of socket", Side.NEGATIVE),
}


def slot_of(terminal: str) -> tuple[int, str] | None:
    """Return socket number and pin of a slot terminal's name, or None for any other name.

    >>> slot_of("3+")
    (3, '+')
    """
    found = _SLOT_PIN.fullmatch(terminal)
    return (int(found[1]), found[2]) if found else None


def terminal_of(kind: Kind, name: str) -> Terminal | None:
    """Return the terminal `name` of `kind`, or None when it has no such terminal.

    Pins of slots count as open to a probe: what is plugged into them decides that, and a kind cannot know it.
    """
    if name in kind.terminals:
        return kind.terminals[name]
    slot = slot_of(name)
    if kind.slots is None or slot is None:
        return None
    words, side = _PINS[slot[1]]
    return Terminal(name=name, about=f"{words} {slot[0]}", side=side, reach=Reach.OPEN)
