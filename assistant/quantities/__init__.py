"""Quantities as people type and read them.

Text comes in with whatever unit and notation the person prefers, is turned once into a float in the unit the
program computes with, and goes out in the size a person reads. Nothing in between carries text.
"""

from assistant.quantities.often import how_often
from assistant.quantities.parse import MAX_LENGTH, parse_quantity
from assistant.quantities.quantity import OVERLOAD, Quantity
from assistant.quantities.show import format_quantity, show
from assistant.quantities.unit import Unit
from assistant.quantities.wire import awg_mm2, wire_ohm

__all__ = [
    "MAX_LENGTH",
    "OVERLOAD",
    "Quantity",
    "Unit",
    "awg_mm2",
    "format_quantity",
    "how_often",
    "parse_quantity",
    "show",
    "wire_ohm",
]
