"""Making a finding: the place in words and its line, filled in from the boat."""

from __future__ import annotations

from assistant.catalogue import Source, Status
from assistant.plan.finding import Finding, Severity
from assistant.quantities import Quantity, Unit
from assistant.wiring import Boat, label_of


def practice(text: str) -> Source:
    """Return a source that is common practice."""
    return Source(text=f"common practice, no source: {text}", status=Status.PRACTICE)


def memory(text: str) -> Source:
    """Return a source that is known from memory."""
    return Source(text=text, status=Status.MEMORY)


def finding(  # noqa: PLR0913 - one argument a field of a finding
    boat: Boat,
    rule: str,
    place: str,
    *,
    severity: Severity,
    says: str,
    source: Source,
    remedy: str,
    number: tuple[float, Unit] | None = None,
    limit: float | None = None,
    when: str = "",
) -> Finding:
    """Return a finding at a part, wire or joint; `limit` is in the unit of `number`."""
    mark = boat.parts[place].mark
    unit = number[1] if number else Unit.COUNT
    return Finding(
        rule=rule,
        severity=severity,
        place=place,
        label=label_of(boat, place),
        line=mark.line if mark else None,
        says=says,
        number=Quantity(value=number[0], unit=unit) if number else None,
        limit=Quantity(value=limit, unit=unit) if limit is not None else None,
        when=when,
        source=source,
        remedy=remedy,
    )
