"""How long a fuse lasts at a current: the soonest and the latest its standard lets pass.

The times are curves of the kind, powers of ten of seconds over the ratio of current to rating.  Between the points
of a standard the curves run straight on logarithmic axes of time.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

from assistant.catalogue import Curve, Kind

SOONEST = "opens_soonest"
LATEST = "opens_latest"
_RATINGS = ("rating_a", "hold_a")


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """When a fuse opens: not before `soonest_s`, and by `latest_s` (infinite: it may carry on for ever)."""

    soonest_s: float
    latest_s: float


def opening_of(kind: Kind, values: Mapping[str, float], amps: float) -> Opening | None:
    """Return when a fuse of this kind opens at a steady current, or None for what is no fuse.

    Parameters
    ----------
    values : of the part, its rating or hold current (A) among them.
    amps : steady current, of either sign.
    """
    rating = next((values[name] for name in _RATINGS if name in values), None)
    if rating is None or not {SOONEST, LATEST} <= kind.curves.keys():
        return None
    ratio = abs(amps) / rating
    return Opening(
        soonest_s=_seconds(kind.curves[SOONEST], ratio), latest_s=_seconds(kind.curves[LATEST], ratio)
    )


def _seconds(curve: Curve, ratio: float) -> float:
    """Return the seconds at a ratio; below its first point a curve says nothing, so the fuse may last for ever."""
    return inf if ratio < curve.xs[0] else float(10.0 ** curve(ratio))
