"""Published and recomputed examples of diagnosis, through the beliefs and gains that serve the boats.

Each test names its source.  Values marked c were computed by exhaustive enumeration apart from this program;
m marks what is known from memory of the source.  Entropies are in bits.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, permutations

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.diagnosis import Belief
from assistant.diagnosis.belief import believe
from assistant.diagnosis.bounds import (
    alphabetic_optimum,
    half_split_by_count,
    half_split_by_mass,
    huffman_bound,
)
from assistant.diagnosis.cells import at_any_moment
from assistant.diagnosis.choose import sign_gain
from assistant.diagnosis.order import expected_repair_cost, repair_order
from tests.diagnosis.discrete import (
    DiscreteTable,
    query,
    seen,
    story,
    trust_every_answer,
)

Array = NDArray[np.float64]
Set = frozenset[str]

FREE = "anything"


@pytest.fixture
def exact(monkeypatch: pytest.MonkeyPatch) -> None:
    trust_every_answer(monkeypatch)


# --- Circuits of components that work or do not ---


@dataclass(frozen=True, kw_only=True)
class Components:
    """Components that each hold a linear equation between points while they work.

    `equations[component]` is the coefficient of each point and the right side; `prior` the chance that one
    is bad. A bad component holds nothing: any value may follow, each of `values` equally likely.  With
    `values` of 1, a value that nothing predicts counts as if it had been predicted.
    """

    equations: Mapping[str, tuple[Mapping[str, int], int]]
    prior: Mapping[str, float]
    values: int

    @property
    def points(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(point for terms, _ in self.equations.values() for point in terms))

    def candidates(self) -> list[Set]:
        names = tuple(self.equations)
        return [frozenset(c) for size in range(len(names) + 1) for c in combinations(names, size)]

    def weight(self, bad: Set) -> float:
        return float(np.prod([p if name in bad else 1.0 - p for name, p in self.prior.items()]))

    def predicted(self, bad: Set, known: Mapping[str, int], point: str) -> int | None:
        """Return the value that the components not in `bad` and the known values force on a point, if any.

        Known values that contradict these components force whatever the shortest solution says; the
        candidate has no mass by then.
        """
        rows = [e for name, e in self.equations.items() if name not in bad]
        rows += [({p: 1}, value) for p, value in known.items()]
        matrix = np.array([[terms.get(p, 0) for p in self.points] for terms, _ in rows], dtype=float)
        asked = np.array([float(p == point) for p in self.points])
        if not rows or np.linalg.matrix_rank(np.vstack([matrix, asked])) > np.linalg.matrix_rank(matrix):
            return None
        solution = np.linalg.lstsq(matrix, np.array([float(v) for _, v in rows]), rcond=None)[0]
        return round(float(asked @ solution))

    def chances(self, known: Mapping[str, int], point: str, *values: int) -> dict[str, list[float]]:
        """Return the chance of each value of a point, `values` among them, on each candidate after the known."""
        forced = [self.predicted(bad, known, point) for bad in self.candidates()]
        names = [str(v) for v in sorted({*values, *(v for v in forced if v is not None)})]
        if self.values == 1:
            names.append(FREE)
            return {n: [float((FREE if f is None else str(f)) == n) for f in forced] for n in names}
        names += [f"other {i}" for i in range(self.values - len(names))]
        return {n: [1.0 / self.values if f is None else float(str(f) == n) for f in forced] for n in names}

    def after(self, values: Mapping[str, int], ask: Sequence[str] = ()) -> tuple[DiscreteTable, Belief]:
        """Return the belief after values seen in this order; its table predicts the points to ask too."""
        known: dict[str, int] = {}
        table: dict[str, dict[str, list[float]]] = {}
        for point, value in values.items():
            table[point] = self.chances(known, point, value)
            known[point] = value
        table |= {point: self.chances(known, point) for point in ask}
        stories = [story(" ".join(sorted(bad)) or "none", self.weight(bad)) for bad in self.candidates()]
        made = DiscreteTable(stories, table)
        evidence = [seen(p, *((str(v), FREE) if self.values == 1 else (str(v),))) for p, v in values.items()]
        return made, believe(made, evidence)

    def masses(self, values: Mapping[str, int]) -> dict[Set, float]:
        """Return the probability of every candidate that the values allow."""
        _, belief = self.after(values)
        pairs = [(bad, float(mass)) for bad, mass in zip(self.candidates(), belief.cells, strict=True)]
        most = max(mass / self.weight(bad) for bad, mass in pairs)
        return {bad: mass for bad, mass in pairs if mass / self.weight(bad) > 1e-6 * most}

    def gains(self, values: Mapping[str, int], points: Sequence[str]) -> dict[str, float]:
        """Return the information each point is expected to bring about the candidate."""
        table, belief = self.after(values, points)
        return {point: sign_gain(table, table.everything(belief.cells), query(point)) for point in points}


def entropy(masses: Mapping[Set, float]) -> float:
    return -sum(p * float(np.log2(p)) for p in masses.values())


def smallest(sets: Iterator[Set] | Sequence[Set]) -> set[Set]:
    """Return the sets that hold no other of them."""
    every = list(sets)
    return {s for s in every if not any(other < s for other in every)}


def conflicts(components: Components, allowed: Mapping[Set, float]) -> set[Set]:
    """Return the smallest sets of components that cannot all be well."""
    return smallest(
        [well for well in components.candidates() if not any(well.isdisjoint(bad) for bad in allowed)]
    )


def sets(*names: str) -> set[Set]:
    return {frozenset(name.split()) for name in names}


def five_components(values: int) -> Components:
    """X = A·C (M1), Y = B·D (M2), Z = C·E (M3), F = X + Y (A1), G = Y + Z (A2) with A=3 B=2 C=2 D=3 E=3."""
    return Components(
        equations={
            "M1": ({"X": 1}, 3 * 2),
            "M2": ({"Y": 1}, 2 * 3),
            "M3": ({"Z": 1}, 2 * 3),
            "A1": ({"F": 1, "X": -1, "Y": -1}, 0),
            "A2": ({"G": 1, "Y": -1, "Z": -1}, 0),
        },
        prior=dict.fromkeys(("M1", "M2", "M3", "A1", "A2"), 0.01),
        values=values,
    )


BOTH = {"F": 10, "G": 12}


@pytest.mark.usefixtures("exact")
class TestFiveComponents:
    """J. de Kleer, B. C. Williams, "Diagnosing multiple faults", Artificial Intelligence 32, 1987, 97-130.

    All values recomputed (c).
    """

    def test_one_wrong_output_gives_one_conflict(self) -> None:
        circuit = five_components(1)
        assert conflicts(circuit, circuit.masses({"F": 10})) == sets("A1 M1 M2")

    def test_both_outputs(self) -> None:
        circuit = five_components(1)
        allowed = circuit.masses(BOTH)
        assert conflicts(circuit, allowed) == sets("A1 M1 M2", "A1 A2 M1 M3")
        assert smallest([*allowed]) == sets("A1", "M1", "A2 M2", "M2 M3")
        assert (len(allowed), len(circuit.candidates())) == (27, 32)

    @pytest.mark.parametrize(
        ("point", "value", "minimal"),
        [
            ("X", 4, sets("M1")),
            ("X", 6, sets("A1", "A2 M2", "M2 M3")),
            ("X", 5, sets("A1 M1", "A2 M1 M2", "M1 M2 M3")),
            ("Y", 6, sets("A1", "M1")),
            ("Y", 4, sets("A2 M2", "M2 M3")),
            ("Z", 6, sets("A1", "M1", "A2 M2")),
            ("Z", 8, sets("M2 M3", "A1 A2 M3", "A2 M1 M3")),
        ],
    )
    def test_what_a_third_value_leaves(self, point: str, value: int, minimal: set[Set]) -> None:
        assert smallest([*five_components(1).masses(BOTH | {point: value})]) == minimal

    @pytest.mark.parametrize(
        ("values", "single", "bits", "after"),
        [
            (1, 0.478026, 1.359445, {"X": 0.318607, "Y": 1.277901, "Z": 1.312044}),
            (16, 0.496225, 1.071352, {"X": 0.038337, "Y": 1.063548, "Z": 1.067007}),
        ],
    )
    def test_where_to_measure_next(
        self, values: int, single: float, bits: float, after: dict[str, float]
    ) -> None:
        circuit = five_components(values)
        masses = circuit.masses(BOTH)
        assert masses[frozenset({"A1"})] == pytest.approx(single, abs=5e-7)
        assert masses[frozenset({"M1"})] == pytest.approx(single, abs=5e-7)
        assert entropy(masses) == pytest.approx(bits, abs=5e-7)
        gains = circuit.gains(BOTH, ["X", "Y", "Z"])
        for point, left in after.items():
            assert entropy(masses) - gains[point] == pytest.approx(left, abs=1e-6)
        assert max(gains, key=lambda p: gains[p]) == "X"

    def test_doubles_without_penalty(self) -> None:
        masses = five_components(1).masses(BOTH)
        assert masses[frozenset({"A2", "M2"})] == pytest.approx(0.004829, abs=5e-7)
        assert masses[frozenset({"M2", "M3"})] == pytest.approx(0.004829, abs=5e-7)


def inverters(last_prior: float = 0.01) -> Components:
    """Four in a row, the first fed with 1, outputs b to e."""
    return Components(
        equations={
            "1": ({"b": 1}, 0),
            "2": ({"b": 1, "c": 1}, 1),
            "3": ({"c": 1, "d": 1}, 1),
            "4": ({"d": 1, "e": 1}, 1),
        },
        prior={"1": 0.01, "2": 0.01, "3": 0.01, "4": last_prior},
        values=2,
    )


@pytest.mark.usefixtures("exact")
class TestInverters:
    """The same paper's row of inverters, four of them (c)."""

    def test_nothing_seen_yet(self) -> None:
        row = inverters()
        assert entropy(row.masses({})) == pytest.approx(0.323173, abs=5e-7)
        gains = row.gains({}, ["b", "c", "d", "e"])
        assert gains == pytest.approx({"b": 0.035415, "c": 0.060561, "d": 0.081756, "e": 0.100360}, abs=1e-6)

    def test_last_output_wrong(self) -> None:
        row = inverters()
        masses = row.masses({"e": 0})
        for size, mass in ((1, 0.246244), (2, 0.002487)):
            alike = [m for bad, m in masses.items() if len(bad) == size]
            assert alike == pytest.approx([mass] * {1: 4, 2: 6}[size], abs=5e-7)
        assert entropy(masses) == pytest.approx(2.122114, abs=5e-7)
        gains = row.gains({"e": 0}, ["b", "c", "d"])
        left = {point: entropy(masses) - gain for point, gain in gains.items()}
        assert left == pytest.approx({"b": 1.318353, "c": 1.132164, "d": 1.318353}, abs=1e-6)

    def test_middle_right(self) -> None:
        masses = inverters().masses({"e": 0, "c": 1})
        assert masses[frozenset("3")] == pytest.approx(0.492488, abs=5e-7)
        assert masses[frozenset("4")] == pytest.approx(0.492488, abs=5e-7)

    def test_weak_last_one_moves_the_best_probe(self) -> None:
        row = inverters(last_prior=0.025)
        masses = row.masses({"e": 0})
        assert masses[frozenset("4")] == pytest.approx(0.449558, abs=5e-7)
        for other in "123":
            assert masses[frozenset(other)] == pytest.approx(0.177099, abs=5e-7)
        gains = row.gains({"e": 0}, ["b", "c", "d"])
        assert max(gains, key=lambda p: gains[p]) == "d"
        assert entropy(masses) - gains["d"] == pytest.approx(1.021900, abs=1e-6)


# --- Orders and costs of checks ---


class TestCostOfRepair:
    """D. Heckerman and others, "Decision-theoretic troubleshooting", CACM 38(3), 1995, 49-57.

    The rule is from memory (m); the example of four parts was computed over all 24 orders (c).
    """

    parts = ("fuse", "connector", "switch", "motor")
    chances = (0.10, 0.30, 0.20, 0.40)
    costs = (1.0, 2.0, 4.0, 10.0)

    def cost(self, *names: str) -> float:
        return expected_repair_cost(self.chances, self.costs, [self.parts.index(n) for n in names])

    def test_falling_chance_over_cost_is_best_of_all_orders(self) -> None:
        order = [self.parts[i] for i in repair_order(self.chances, self.costs)]
        assert order == ["connector", "fuse", "switch", "motor"]
        every = [self.cost(*names) for names in permutations(self.parts)]
        assert self.cost(*order) == pytest.approx(min(every)) == pytest.approx(9.10)
        assert max(every) == pytest.approx(13.4)

    def test_simpler_habits_cost_more(self) -> None:
        assert self.cost("fuse", "connector", "switch", "motor") == pytest.approx(9.20)  # cheapest first
        assert self.cost("motor", "connector", "switch", "fuse") == pytest.approx(12.5)  # likeliest first

    def test_what_a_perfect_test_is_worth(self) -> None:
        """It tells {fuse, connector} from {switch, motor}; each half then has its own best order."""
        with_test = 0.0
        for half in ((0, 1), (2, 3)):
            mass = sum(self.chances[i] for i in half)
            chances = [self.chances[i] / mass for i in half]
            costs = [self.costs[i] for i in half]
            with_test += mass * expected_repair_cost(chances, costs, repair_order(chances, costs))
        assert with_test == pytest.approx(7.30)
        without = expected_repair_cost(self.chances, self.costs, repair_order(self.chances, self.costs))
        assert without - with_test == pytest.approx(1.80)


# --- Bounds ---


@pytest.mark.parametrize(
    ("count", "arity", "mean"), [(8, 2, 3), (10, 2, 3.4), (12, 2, 3.6667), (8, 3, 2), (10, 3, 2.2)]
)
def test_huffman_of_equal_masses(count: int, arity: int, mean: float) -> None:
    """D. A. Huffman, Proceedings of the IRE 40(9), 1952, 1098-1101 (m); values computed (c)."""
    assert huffman_bound([1.0] * count, arity) == pytest.approx(mean, abs=5e-5)


def test_huffman_of_seven_masses() -> None:
    """The same (c): entropy 2.6029, and the bounds for 2, 3 and 4 outcomes."""
    masses = (0.30, 0.20, 0.15, 0.12, 0.10, 0.08, 0.05)
    assert -sum(m * np.log2(m) for m in masses) == pytest.approx(2.6029, abs=5e-5)
    assert [huffman_bound(masses, k) for k in (2, 3, 4)] == pytest.approx([2.63, 1.70, 1.35])


def end_to_end(masses: Sequence[float]) -> float:
    """Return the mean number of cuts when they go along the chain one by one; the last cut settles two."""
    return sum(m * min(i + 1, len(masses) - 1) for i, m in enumerate(masses))


@pytest.mark.parametrize(
    ("measure", "seven", "six"),
    [
        (lambda masses: huffman_bound(masses, 2), 2.63, 2.10),
        (alphabetic_optimum, 2.88, 2.30),
        (half_split_by_mass, 2.90, 2.30),
        (half_split_by_count, 2.95, 2.75),
        (end_to_end, 3.77, 3.45),
    ],
)
def test_cuts_along_a_chain(measure: Callable[[Sequence[float]], float], seven: float, six: float) -> None:
    """Two chains of suspects (c)."""
    assert measure((0.05, 0.30, 0.10, 0.20, 0.08, 0.15, 0.12)) == pytest.approx(seven)
    assert measure((0.05, 0.05, 0.5, 0.2, 0.1, 0.1)) == pytest.approx(six)


# --- Faults that come and go ---


@pytest.mark.parametrize(("readings", "left"), [(0, 0.2), (5, 0.0757), (10, 0.0261)])
def test_good_readings_of_a_part_that_comes_and_goes(readings: int, left: float) -> None:
    """After J. de Kleer, IJCAI 2009 (m); values computed (c)."""
    # There for a fifth of the time, and a fault that is there gives no good reading.
    good = float(at_any_moment(np.array(0.2), np.array(0.0), np.array(1.0))) ** readings
    assert 0.2 * good / (0.2 * good + 0.8) == pytest.approx(left, abs=5e-5)
