"""Elimination of many equal patterns at once, against dense linear algebra."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from assistant.circuit.elimination import (
    Pattern,
    eliminate,
    make_pattern,
    rest_of,
    selected_inverse,
    solve_again,
    solve_densely,
    substitute,
    widened,
)

Array = NDArray[np.float64]
ROWS = 3


@st.composite
def systems(draw: st.DrawFn) -> tuple[Pattern, Array, Array]:
    """Return a pattern, matrix entries and right-hand sides; the diagonals outweigh their columns and rows."""
    size = draw(st.integers(1, 12))
    node = st.integers(0, size - 1)
    groups = draw(
        st.lists(
            st.lists(node, min_size=2, max_size=3, unique=True) if size > 2 else st.just([0]), max_size=16
        )
    )
    late = draw(st.frozensets(node))
    pattern = make_pattern(size, groups, late)
    chance = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    dense = np.zeros((size, size, ROWS))
    for group in groups:
        for a in group:
            for b in group:
                dense[a, b] = chance.normal(size=ROWS)
    bulk = np.abs(dense).sum(axis=0) + np.abs(dense).sum(axis=1)
    dense[np.arange(size), np.arange(size)] = bulk + chance.uniform(0.1, 10.0, size=(size, ROWS))
    values = np.zeros((pattern.entries, ROWS))
    for place, slot in pattern.slots.items():
        values[slot] = dense[place]
    return pattern, values, dense


def sides(pattern: Pattern) -> Array:
    """Return right-hand sides."""
    return np.random.default_rng(1).normal(size=(pattern.size, ROWS))


@settings(max_examples=60)
@given(systems())
def test_solution_is_that_of_dense_algebra(system: tuple[Pattern, Array, Array]) -> None:
    """The early steps are taken apart from the rest, as they are while a solution is refined."""
    pattern, values, dense = system
    sources = sides(pattern)
    expected = np.stack([np.linalg.solve(dense[..., r], sources[:, r]) for r in range(ROWS)], axis=1)
    early, late = pattern.steps[: pattern.early], pattern.steps[pattern.early :]
    core, entries = rest_of(pattern)
    nodes = [step.pivot for step in late]
    eliminate(early, values, sources)
    rest, rest_sources, rest_volts = values[entries], sources[nodes], np.zeros((core.size, ROWS))
    eliminate(core.steps, rest, rest_sources)
    substitute(core.steps, rest, rest_sources, rest_volts)
    volts = np.zeros((pattern.size, ROWS))
    volts[nodes] = rest_volts
    substitute(early, values, sources, volts)
    np.testing.assert_allclose(volts, expected, rtol=1e-9, atol=1e-12)
    eliminate(late, values, sources)
    assert np.array_equal(values[entries], rest)


@settings(max_examples=20)
@given(systems())
def test_volts_of_some_variants_alone(system: tuple[Pattern, Array, Array]) -> None:
    pattern, values, _ = system
    sources, chosen = sides(pattern), np.array([2, 0])
    every, some = np.zeros((pattern.size, ROWS)), np.zeros((pattern.size, len(chosen)))
    eliminate(pattern.steps, values, sources)
    substitute(pattern.steps, values, sources, every)
    substitute(pattern.steps, values, sources, some, chosen)
    np.testing.assert_array_equal(some, every[:, chosen])


@settings(max_examples=20)
@given(systems())
def test_a_handful_solved_densely(system: tuple[Pattern, Array, Array]) -> None:
    pattern, values, _ = system
    sources = sides(pattern)
    volts = np.zeros((pattern.size, ROWS))
    places = np.array(list(pattern.slots), dtype=np.intp).T
    densely = solve_densely(places, values[list(pattern.slots.values())], sources)
    eliminate(pattern.steps, values, sources)
    substitute(pattern.steps, values, sources, volts)
    np.testing.assert_allclose(densely, volts, rtol=1e-9, atol=1e-12)


@settings(max_examples=40)
@given(systems())
def test_further_sides_and_kept_entries_of_the_inverse(system: tuple[Pattern, Array, Array]) -> None:
    pattern, values, dense = system
    eliminate(pattern.steps, values, sides(pattern))
    inverse = np.stack([np.linalg.inv(dense[..., r]) for r in range(ROWS)], axis=2)
    unit = np.repeat(np.eye(pattern.size)[..., None], ROWS, axis=2)
    np.testing.assert_allclose(solve_again(pattern, values, unit), inverse, rtol=1e-9, atol=1e-12)
    one = solve_again(pattern, values, unit[:, 0])
    np.testing.assert_allclose(one, inverse[:, 0], rtol=1e-9, atol=1e-12)
    kept = selected_inverse(pattern, values)
    for place, slot in pattern.slots.items():
        np.testing.assert_allclose(kept[slot], inverse[place], rtol=1e-9, atol=1e-12)


@given(systems())
def test_every_node_is_eliminated_once_and_late_ones_last(system: tuple[Pattern, Array, Array]) -> None:
    pattern = system[0]
    assert sorted(step.pivot for step in pattern.steps) == list(range(pattern.size))
    assert 0 <= pattern.early <= len(pattern.steps)


@given(systems(), st.data())
def test_a_widened_pattern_keeps_the_order_and_the_first_entries(
    system: tuple[Pattern, Array, Array], data: st.DataObject
) -> None:
    """With nothing where it is wider, it eliminates to the last bit as the narrow one does."""
    pattern, values, _ = system
    node = st.integers(0, pattern.size - 1)
    wide = widened(pattern, data.draw(st.lists(st.lists(node, min_size=2, max_size=3), max_size=3)))
    assert [step.pivot for step in wide.steps] == [step.pivot for step in pattern.steps]
    assert wide.early == pattern.early
    assert list(wide.slots)[: pattern.entries] == list(pattern.slots)
    more, sources = np.zeros((wide.entries, ROWS)), sides(pattern)
    more[: pattern.entries] = values
    more_sources = sources.copy()
    eliminate(pattern.steps, values, sources)
    eliminate(wide.steps, more, more_sources)
    assert np.array_equal(more[: pattern.entries], values)
    assert not more[pattern.entries :].any()
    assert np.array_equal(more_sources, sources)


@settings(max_examples=20)
@given(systems())
def test_a_widened_pattern_has_the_couplings_of_both(system: tuple[Pattern, Array, Array]) -> None:
    """All of a pattern's groups given afterwards fill in what giving them at once fills in, in the order of nodes."""
    pattern = system[0]
    bare = make_pattern(pattern.size, [], frozenset())
    assert [step.pivot for step in bare.steps] == list(range(pattern.size))
    pairs = [pair for pair in pattern.slots if pair[0] != pair[1]]
    wide = widened(bare, pairs)
    assert set(pairs) <= set(wide.slots)
    kept = set(wide.slots)
    for step in wide.steps:
        others = step.others.tolist()
        assert all(other > step.pivot for other in others)
        assert {(a, b) for a in others for b in others} <= kept


def test_late_nodes_wait() -> None:
    pattern = make_pattern(4, [[0, 1], [1, 2], [2, 3]], frozenset({0}))
    assert pattern.early == 3
    assert pattern.steps[-1].pivot == 0


def test_tree_fills_in_nothing() -> None:
    """A chain with branches has a diagonal entry a node and two a branch, and no more after elimination."""
    branches = [[n, n // 2] for n in range(1, 40)]
    assert make_pattern(40, branches, frozenset()).entries == 40 + 2 * len(branches)
