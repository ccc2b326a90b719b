"""In what order to check what no reading tells apart.

When the readings on offer are used up, each place left is looked at in turn until the guilty one is found.
With one fault, checks that cost the same whenever they come and never deceive, the cheapest order on average
is that of falling probability over cost: swapping two neighbours can only help if it moves the greater
quotient forward.
"""

from __future__ import annotations

from collections.abc import Sequence

from assistant.errors import MisuseError


def repair_order(probabilities: Sequence[float], costs: Sequence[float]) -> tuple[int, ...]:
    """Return the numbers of the checks in the order that is cheapest on average.

    Parameters
    ----------
    probabilities : that the fault is behind each check (>= 0; any scale).
    costs : of each check (> 0), in seconds or any other one unit.

    Raises
    ------
    MisuseError
        When the two do not have the same length, a probability is negative or a cost is not above 0.

    References
    ----------
    D. Heckerman, J. S. Breese, K. Rommelse, "Decision-theoretic troubleshooting", Communications of the ACM
    38(3), 1995, 49-57 (from memory).

    Examples
    --------
    >>> names = ("fuse", "connector", "switch", "motor")
    >>> [names[i] for i in repair_order((0.10, 0.30, 0.20, 0.40), (1, 2, 4, 10))]
    ['connector', 'fuse', 'switch', 'motor']
    """
    _refuse_bad(probabilities, costs)
    return tuple(sorted(range(len(costs)), key=lambda i: -probabilities[i] / costs[i]))


def expected_repair_cost(
    probabilities: Sequence[float],
    costs: Sequence[float],
    order: Sequence[int],
    repairs: Sequence[float] | None = None,
) -> float:
    """Return what checking in `order` until the fault is found costs on average.

    A check is paid for when all before it found nothing, a repair when the fault is there:
    ``sum over i of (1 - sum over j before i of p_j) * cost_i + p_i * repair_i``.

    Parameters
    ----------
    probabilities : that the fault is behind each check, with sum 1.
    costs : of each check (> 0), in seconds or any other one unit.
    order : numbers of the checks, first to last.
    repairs : what each repair costs once found; nothing when left out, for no order changes it.

    Raises
    ------
    MisuseError
        As for `repair_order`.

    References
    ----------
    See `repair_order`.

    Examples
    --------
    >>> round(expected_repair_cost((0.10, 0.30, 0.20, 0.40), (1, 2, 4, 10), (1, 0, 2, 3)), 2)
    9.1
    """
    _refuse_bad(probabilities, costs)
    left, total = 1.0, 0.0
    for i in order:
        total += left * costs[i] + (probabilities[i] * repairs[i] if repairs else 0.0)
        left -= probabilities[i]
    return total


def _refuse_bad(probabilities: Sequence[float], costs: Sequence[float]) -> None:
    if len(probabilities) != len(costs):
        raise MisuseError(
            value=f"{len(probabilities)} probabilities, {len(costs)} costs",
            reason="each check needs one of both",
        )
    for probability, cost in zip(probabilities, costs, strict=True):
        if probability < 0.0 or cost <= 0.0:
            raise MisuseError(
                value=f"p = {probability:g}, cost = {cost:g}",
                reason="p must be at least 0 and a cost above 0",
            )
