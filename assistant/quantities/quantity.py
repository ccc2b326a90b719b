"""A value together with its unit.

A quantity is finite, or it is the meter's overload, kept as infinity so that comparisons still go the right
way: an overload is more than any reading. Not-a-number never gets in.
"""

import math
from typing import Final

from attrs import Attribute, field, frozen, validators

from assistant.errors import MisuseError
from assistant.quantities.unit import Unit

__all__ = ["OVERLOAD", "Quantity"]

OVERLOAD: Final = math.inf
"""The value of a reading shown as "OL": more than the meter's range."""


def _finite_or_overload(_owner: object, _attribute: "Attribute[float]", value: float) -> None:
    if math.isnan(value) or value == -math.inf:
        raise MisuseError(
            value=value, reason="a quantity must be finite or an overload", next_step="check the computation"
        )


@frozen(kw_only=True)
class Quantity:
    """A number in a unit.

    Parameters
    ----------
    value
        In `unit`; finite, or `OVERLOAD`.
    unit
        The unit of `value`, never a multiple of it.

    Raises
    ------
    MisuseError
        If the value is not a number or minus infinity.
    """

    value: float = field(converter=float, validator=_finite_or_overload)
    unit: Unit = field(validator=validators.instance_of(Unit))

    @property
    def is_overload(self) -> bool:
        """Whether the meter showed more than its range."""
        return self.value == OVERLOAD
