"""What happened in a drill: checks with all that is needed to mark them, names, repairs, cautions and the cost."""

from __future__ import annotations

from dataclasses import dataclass, field

from assistant.catalogue import Action
from assistant.circuit import BoatState, Measurement
from assistant.diagnosis import Evidence
from assistant.drill.judging import Judge, Mark, What


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What was known at a moment: answers that count, and places moved with whether the trouble changed."""

    evidence: tuple[Evidence, ...]
    shaken: tuple[tuple[str, bool], ...] = ()


@dataclass(slots=True, kw_only=True)
class Made:
    """A check that was made.

    Attributes
    ----------
    what, shown : what it was, and in words what it showed.
    seconds : what it cost, with what had to be set for it.
    counts : whether it could be reckoned with at all.
    start, before, after : what was known after the complaint, before the check and after it.
    stood : how the boat was set before it, and the reading before.
    repeated : whether the very same check was made before, or answered by the complaint.
    """

    what: What
    shown: str
    seconds: float
    counts: bool
    start: Known
    before: Known
    after: Known
    stood: tuple[BoatState, Measurement | None]
    repeated: bool
    _mark: Mark | None = field(default=None)

    def mark(self, judge: Judge) -> Mark:
        """Return what it was worth; reckoned once."""
        if self._mark is None:
            beliefs = tuple(judge.belief(k.evidence, k.shaken) for k in (self.start, self.before, self.after))
            self._mark = judge.mark(
                self.what, (beliefs[0], beliefs[1], beliefs[2]), stood=self.stood, repeated=self.repeated
            )
        return self._mark


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A place that was named as faulty.

    Attributes
    ----------
    right : whether it is at fault, or no step tells it from what is.
    borne_out : whether the checks made before bear it out, or leave nothing more to ask; else it was a guess.
    """

    place: str
    right: bool
    borne_out: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Wasted:
    """A part or joint that was done something to in vain."""

    place: str
    action: Action


@dataclass(slots=True, kw_only=True)
class Ledger:
    """Everything that counts in the end.

    Attributes
    ----------
    seconds : cost of finding, up to the last name given.
    hints : how many hints were taken.
    ignored : ids of cautions ignored, in order; `costly` those that hurt the meter or the boat.
    proved : whether the boat was tried after the last repair and showed nothing wrong.
    """

    checks: list[Made] = field(default_factory=list)
    named: list[Named] = field(default_factory=list)
    wasted: list[Wasted] = field(default_factory=list)
    ignored: list[str] = field(default_factory=list)
    costly: int = 0
    seconds: float = 0.0
    hints: int = 0
    proved: bool = False
    gave_up: bool = False
