"""How firmly nodes are held, against the dense inverse."""

from collections.abc import Sequence

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from assistant.circuit.departures import Departures
from assistant.circuit.elimination import eliminate, make_pattern
from assistant.circuit.hold import Hold

Array = NDArray[np.float64]
SIZE = 7
LEAK_S = 1e-6


def held(links: Sequence[tuple[int, int, float]]) -> tuple[Hold, Array]:
    """Return the hold of a network of (node, node, siemens), and its dense inverse; the reference is left out."""
    dense = LEAK_S * np.eye(SIZE)
    for a, b, siemens in links:
        dense[[a, b], [a, b]] += siemens
        dense[[a, b], [b, a]] -= siemens
    pattern = make_pattern(SIZE, [(a, b) for a, b, _ in links], frozenset())
    values = np.zeros((pattern.entries, 1))
    for place, slot in pattern.slots.items():
        values[slot] = dense[place]
    eliminate(pattern.steps, values, np.zeros((SIZE, 1)))
    return Hold(pattern, Departures.none(values)), np.asarray(np.linalg.inv(dense), dtype=np.float64)


def all_pairs(size: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    nodes = np.arange(size)
    return np.repeat(nodes, size), np.tile(nodes, size)


LINKS = st.lists(
    st.tuples(st.integers(0, SIZE - 1), st.integers(0, SIZE - 1), st.floats(0.01, 100.0)).filter(
        lambda link: link[0] != link[1]
    ),
    max_size=12,
)


@given(LINKS)
def test_exact_for_every_pair(links: list[tuple[int, int, float]]) -> None:
    hold, inverse = held(links)
    first, second = all_pairs(SIZE)
    own = np.diag(inverse)
    expected = own[first] + own[second] - inverse[first, second] - inverse[second, first]
    seen = hold.between(first, second, np.array([0]), exact=True)[:, 0]
    np.testing.assert_allclose(seen, expected, rtol=1e-5, atol=1e-8 * own.max())


@given(LINKS)
def test_never_too_low(links: list[tuple[int, int, float]]) -> None:
    hold, _ = held(links)
    first, second = all_pairs(SIZE)
    near_enough, exact = (hold.between(first, second, np.array([0]), exact=e)[:, 0] for e in (False, True))
    assert (near_enough >= exact - 1e-5 * exact.max()).all()


def test_against_the_reference_it_is_the_resistance_to_it() -> None:
    """Two ohms and three in a row, the far end a leak away from the reference (number `SIZE`)."""
    hold, inverse = held([(0, 1, 1 / 2), (1, 2, 1 / 3)])
    nodes = np.arange(SIZE)
    seen = hold.between(nodes, np.full(SIZE, SIZE), np.array([0]), exact=True)[:, 0]
    np.testing.assert_allclose(seen, np.diag(inverse), rtol=1e-9)
    assert abs(hold.between(np.array([0]), np.array([2]), np.array([0]), exact=True)[0, 0] - 5.0) < 1e-4
