"""How often something comes back, as a person counts it without a watch."""

from typing import Final

__all__ = ["how_often"]

_BUZZ_S: Final = 1.0 / 12.0
"""What comes back sooner runs together for ear and eye (common practice, no source)."""

_RATTLE_S: Final = 1.0 / 2.5
"""What comes back sooner is too quick to be counted (common practice, no source)."""

_TWICE_S: Final = 0.75
"""Up to here it is nearer to twice a second than to once."""

_SECONDS_S: Final = 10.0
_MINUTES_S: Final = 90.0
"""From the first on seconds are told in steps, from the second on minutes (common practice, no source)."""

_STEP_S: Final = 5


def how_often(turn_s: float) -> str:
    """Return in words how often something happens that takes `turn_s` (s, > 0) from one time to the next.

    >>> how_often(0.015), how_often(0.2)
    ('about 70 times a second: a buzz', 'about 5 times a second: a rattle')
    >>> how_often(1.2), how_often(2.9), how_often(33.0), how_often(200.0)
    ('about once a second', 'about every 3 seconds', 'about every 35 seconds', 'about every 3 minutes')
    """
    if turn_s < _BUZZ_S:
        return f"about {float(f'{1.0 / turn_s:.0e}'):.0f} times a second: a buzz"
    if turn_s < _RATTLE_S:
        return f"about {round(1.0 / turn_s)} times a second: a rattle"
    if turn_s < _TWICE_S:
        return "about twice a second"
    if turn_s < _SECONDS_S:
        seconds = round(turn_s)
        return "about once a second" if seconds == 1 else f"about every {seconds} seconds"
    if turn_s < _MINUTES_S:
        return f"about every {_STEP_S * round(turn_s / _STEP_S)} seconds"
    return f"about every {round(turn_s / 60.0)} minutes"
