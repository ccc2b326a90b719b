"""Where program and simulator may differ, each with its reason; anything else that differs is a failure."""

from collections.abc import Iterable
from dataclasses import dataclass
from fnmatch import fnmatchcase

from tests.oracle.campaign import Finding, Sort


@dataclass(frozen=True, slots=True, kw_only=True)
class Excuse:
    """Findings that are excused.

    Attributes
    ----------
    fault, where : patterns with ``*``, matched against the finding's words.
    within_v : how far apart voltages may be.
    """

    boat: str
    fault: str
    sort: Sort
    where: str
    within_v: float
    reason: str

    def covers(self, finding: Finding) -> bool:
        """Tell whether a finding is excused by this."""
        return (
            finding.sort is self.sort
            and abs(finding.ours - finding.theirs) <= self.within_v
            and fnmatchcase(finding.boat, self.boat)
            and fnmatchcase(finding.fault, self.fault)
            and fnmatchcase(finding.where, self.where)
        )


EXCUSES: tuple[Excuse, ...] = ()
MOST_UNSETTLED = 0.01
"""Share of all boats compared that may have no steady state found."""


def unexcused(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings that no exception covers."""
    return [f for f in findings if not any(e.covers(f) for e in EXCUSES)]
