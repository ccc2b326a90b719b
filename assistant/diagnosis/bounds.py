"""How few readings could do, and how many simpler habits need: measures to hold a hunt against.

Faults that nothing tells apart count as one, with their masses added.  If a reading has at most k outcomes
and never deceives, no way of choosing readings needs fewer on average than the k-ary Huffman code of the
masses has digits.  Along one feed only cuts between neighbours can be made, and the best is the alphabetic
tree.  Splitting the suspects in halves, by their number or by their mass, is what is taught to people.

All functions take masses of any scale and return a mean number of readings.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from heapq import heapify, heappop, heappush
from itertools import accumulate

from assistant.errors import MisuseError


def huffman_bound(masses: Sequence[float], arity: int) -> float:
    """Return the least mean number of readings of `arity` outcomes that tell all masses apart.

    Parameters
    ----------
    masses : of the faults (>= 0, not all 0), those that nothing tells apart merged.
    arity : the largest number of outcomes of any reading (>= 2).

    Raises
    ------
    MisuseError
        When `arity` is below 2, a mass is negative or all are 0.

    References
    ----------
    D. A. Huffman, "A method for the construction of minimum-redundancy codes", Proceedings of the IRE
    40(9), 1952, 1098-1101 (from memory).

    Examples
    --------
    >>> huffman_bound([1, 1, 1, 1, 1, 1, 1, 1], 2)
    3.0
    """
    if arity < 2:
        raise MisuseError(value=arity, reason="a reading that tells anything has at least 2 outcomes")
    heap = _shares(masses)
    heap += [0.0] * (-(len(heap) - 1) % (arity - 1))
    heapify(heap)
    mean = 0.0
    while len(heap) > 1:
        merged = sum(heappop(heap) for _ in range(arity))
        mean += merged
        heappush(heap, merged)
    return mean


def alphabetic_optimum(masses: Sequence[float]) -> float:
    """Return the least mean number of cuts between neighbours that find one of a chain of suspects.

    The optimum over all trees that keep the order of the chain.  Each best cut lies between those of the two
    chains shorter by one, which keeps the work at the square of the length.

    Parameters
    ----------
    masses : of the suspects (>= 0, not all 0), in their order along the feed.

    Raises
    ------
    MisuseError
        When a mass is negative or all are 0.

    References
    ----------
    D. E. Knuth, "Optimum binary search trees", Acta Informatica 1, 1971, 14-25 (from memory).

    Examples
    --------
    >>> alphabetic_optimum([1, 1, 1, 1])
    2.0
    """
    sums = _running(masses)
    size = len(masses)
    best = [[0.0] * size for _ in range(size)]
    cut = [list(range(size)) for _ in range(size)]
    for length in range(2, size + 1):
        for first in range(size - length + 1):
            last = first + length - 1
            low, high = cut[first][last - 1], min(cut[first + 1][last], last - 1)
            cost, where = min((best[first][m] + best[m + 1][last], m) for m in range(low, high + 1))
            best[first][last] = cost + sums[last + 1] - sums[first]
            cut[first][last] = where
    return best[0][-1]


def half_split_by_count(masses: Sequence[float]) -> float:
    """Return the mean number of cuts when each halves the number of suspects left along a chain.

    Of an odd number the smaller half lies nearer the start of the chain.

    Parameters
    ----------
    masses : of the suspects (>= 0, not all 0), in their order along the feed.

    Raises
    ------
    MisuseError
        When a mass is negative or all are 0.

    Examples
    --------
    >>> half_split_by_count([1, 1, 1, 1, 1, 1, 1, 1])
    3.0
    """
    return _split_mean(_running(masses), lambda first, end: (first + end) // 2)


def half_split_by_mass(masses: Sequence[float]) -> float:
    """Return the mean number of cuts when each halves the mass left along a chain as nearly as can be.

    Parameters
    ----------
    masses : of the suspects (>= 0, not all 0), in their order along the feed.

    Raises
    ------
    MisuseError
        When a mass is negative or all are 0.

    Examples
    --------
    >>> half_split_by_mass([4, 2, 1, 1])
    1.75
    """
    sums = _running(masses)

    def most_even(first: int, end: int) -> int:
        middle = 0.5 * (sums[first] + sums[end])
        return min(range(first + 1, end), key=lambda m: abs(sums[m] - middle))

    return _split_mean(sums, most_even)


def _split_mean(sums: Sequence[float], cut: Callable[[int, int], int]) -> float:
    """Return the mean number of cuts over a chain; `cut` tells where the stretch between two ends is cut."""
    mean = 0.0
    stretches = [(0, len(sums) - 1)]
    while stretches:
        first, end = stretches.pop()
        if end - first > 1:
            mean += sums[end] - sums[first]
            middle = cut(first, end)
            stretches += [(first, middle), (middle, end)]
    return mean


def _running(masses: Sequence[float]) -> list[float]:
    """Return the running sums of the shares, from 0 to 1."""
    return list(accumulate(_shares(masses), initial=0.0))


def _shares(masses: Sequence[float]) -> list[float]:
    total = sum(masses)
    if total <= 0.0 or min(masses) < 0.0:
        raise MisuseError(value=list(masses), reason="masses must not be negative, and not all 0")
    return [m / total for m in masses]
