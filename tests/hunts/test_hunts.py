import pytest

from tests.hunts.campaign import campaign, play, setup_of


def test_faults_of_the_small_boat_are_found_through_the_line_protocol() -> None:
    """Every eighth fault; ``python -m tests.hunts`` plays them all on all boats."""
    played = list(campaign("dabchick", every=8))
    assert len(played) >= 12
    missed = [f"{p.breakdown.faults}: {p.ending} {p.named[:2]}" for p in played if not p.found]
    assert len(missed) <= 0.06 * len(played), missed


@pytest.mark.parametrize("part", ["pump", "receiver", "rudder"])
def test_a_boat_that_is_well_is_not_accused(part: str) -> None:
    ended = play(setup_of("dabchick"), None, part, f"well {part}")
    assert isinstance(ended, tuple)
    assert ended[0] in ("healthy", "well")
