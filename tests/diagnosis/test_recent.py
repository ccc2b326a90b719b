"""The last few values are kept, and no more of them."""

from hypothesis import given
from hypothesis import strategies as st

from assistant.diagnosis.recent import Recent


@given(st.lists(st.integers(0, 6)), st.integers(1, 4))
def test_just_the_values_last_wanted_are_not_made_anew(wanted: list[int], most: int) -> None:
    recent: Recent[int, int] = Recent(most)
    made: list[int] = []

    def make(key: int) -> int:
        made.append(key)
        return -key

    last: list[int] = []
    for key in wanted:
        before = len(made)
        assert recent.get(key, lambda key=key: make(key)) == -key  # type: ignore[misc]
        assert (len(made) > before) == (key not in last)
        last = [*(other for other in last if other != key), key][-most:]
