"""Luck passes no step of the course, even when it reasons perfectly; `tests.drill.luck` is the campaign."""

from tests.drill.luck import Luck, luck_of
from tests.drill.player import diagnosis, issued_at

MOST = 0.05
"""Chance of passing a drill twice in a row, as a step of the course wants."""


def test_checks_at_random_do_not_pass_a_step_of_the_course() -> None:
    together = Luck(name="levels 1 to 3")
    for level in (1, 2, 3):
        found = luck_of(f"level {level}", [(diagnosis(), issued_at(level))])
        together.plays += found.plays
        together.passes += found.passes
    assert together.plays == 12
    assert together.chance**2 < MOST, together
