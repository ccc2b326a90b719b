"""What a review of a plan gives: findings to act on, and figures to know."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from assistant.catalogue import Source
from assistant.quantities import Quantity, format_quantity


class Severity(StrEnum):
    """How much a finding matters."""

    DANGER = "danger"  # fire, injury, or a part destroyed
    TROUBLE = "trouble"  # it will fail or wear out early
    NOTE = "note"  # worth knowing before it is built


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that is not sound about a plan.

    Attributes
    ----------
    rule : id of the rule.
    place : id of the part, wire or joint.
    label : the place in words.
    line : line of the description it comes from, where it has one.
    says : what is wrong, in a sentence without number.
    number, limit : what was computed, and what it should keep to; absent where the finding is no matter of size.
    when : the case the number belongs to, such as "full pack".
    source : where the limit comes from.
    remedy : what to do.
    """

    rule: str
    severity: Severity
    place: str
    label: str
    line: int | None
    says: str
    number: Quantity | None = None
    limit: Quantity | None = None
    when: str = ""
    source: Source
    remedy: str

    @property
    def is_grave(self) -> bool:
        """Whether people or parts are in danger."""
        return self.severity is Severity.DANGER

    @property
    def against(self) -> str:
        """Number against limit in words, or nothing.

        >>> from assistant.catalogue import Status
        >>> from assistant.quantities import Unit
        >>> Finding(
        ...     rule="volts",
        ...     severity=Severity.DANGER,
        ...     place="drive",
        ...     label="drive",
        ...     line=None,
        ...     says="too high",
        ...     number=Quantity(value=16.8, unit=Unit.VOLT),
        ...     limit=Quantity(value=12.6, unit=Unit.VOLT),
        ...     when="full pack",
        ...     source=Source(text="printed", status=Status.PRACTICE),
        ...     remedy="fewer cells",
        ... ).against
        '16.8 V against 12.6 V (full pack)'
        """
        numbers = [format_quantity(q) for q in (self.number, self.limit) if q is not None]
        case = f" ({self.when})" if self.when else ""
        return f"{' against '.join(numbers)}{case}" if numbers else self.when


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A number of the plan that is good to know, whether or not anything is wrong with it."""

    name: str
    value: Quantity
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """All findings of a boat, the gravest first, and its figures."""

    findings: tuple[Finding, ...]
    figures: tuple[Figure, ...]
