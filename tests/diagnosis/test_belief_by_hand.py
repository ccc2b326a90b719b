"""Beliefs against Bayes written out: every variant solved alone, every density by hand, everything multiplied."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import erf, exp, isinf, log, pi, sqrt

import numpy as np
import pytest
from numpy.typing import NDArray

from assistant.circuit import CHEAP_METER, BoatState, MeterFunction, Solution, half_width
from assistant.circuit.hold import Hold
from assistant.diagnosis import ReadingSeen, SignSeen, Unsteady
from assistant.diagnosis.belief import (
    MISREAD,
    MISSEEN,
    MISTOLD,
    MODEL_SHARE,
    MODEL_V,
    OHM_FLOOR,
    OHM_SPREAD,
    SAID_UNSTEADY,
    SKIN_OHM,
    SKIN_SHARE,
    SKIN_SPREAD,
    UNKNOWN_SHARE,
    believe,
    likelihood,
)
from assistant.diagnosis.moving import NOTICED
from assistant.diagnosis.normal import box_density
from assistant.diagnosis.table import FaultTable
from assistant.diagnosis.tolerances import KERNEL
from tests.diagnosis.answers import (
    FUSE_OUT,
    LEVELS,
    OHMS_OF_FUSE,
    OVER_FUSE,
    OVER_LAMP,
    PIECES,
    READY,
    UNPLUGGED,
)
from tests.diagnosis.boats import SMEW, diagnosis_of, light, ohms, read, volts

Array = NDArray[np.float64]


def through_fingers(ohm: float) -> float:
    """Return the density of ohms read over an open, by hand."""
    if ohm <= 0.0:
        return 0.0
    off = log(ohm / SKIN_OHM) / SKIN_SPREAD
    return SKIN_SHARE * exp(-0.5 * off * off) / (SKIN_SPREAD * sqrt(2.0 * pi))


class Alone:
    """Every variant of a table, solved one at a time."""

    def __init__(self, table: FaultTable, state: BoatState) -> None:
        self._network = table.solver.network
        draws = max(v.draw for v in table.cells.variants)
        self._solved: list[tuple[Solution, Hold]] = []
        for variant in table.cells.variants:
            solution = table.solver.solve(state, [variant], draws=draws)
            self._solved.append(
                (solution, table.solver.hold(solution, [variant], np.array([0]), draws=draws))
            )

    def volts(self, piece: ReadingSeen) -> list[float]:
        """Return what a meter of 10 MΩ shows on each variant."""
        red, black = (self._network.node(p) for p in (piece.measurement.red, piece.measurement.black))
        volts = [float(s.phase.volts[red, 0] - s.phase.volts[black, 0]) for s, _ in self._solved]
        return [v * 10e6 / (10e6 + ohm) for v, ohm in zip(volts, self._between(piece), strict=True)]

    def works_alike(self, one: int, other: int) -> bool:
        """Tell whether the same is on, off and restless on two variants."""
        mine, others = self._solved[one][0], self._solved[other][0]
        settled = ~mine.restless & ~others.restless
        same = (mine.phase.conditions == others.phase.conditions) | ~settled
        return bool(same.all() and (mine.restless == others.restless).all())

    def ohms(self, piece: ReadingSeen) -> list[float]:
        """Return what an ohmmeter shows."""
        return self._between(piece)

    def _between(self, piece: ReadingSeen) -> list[float]:
        red, black = (
            np.array([self._network.node(p)]) for p in (piece.measurement.red, piece.measurement.black)
        )
        return [float(hold.between(red, black, np.array([0]), exact=True)[0, 0]) for _, hold in self._solved]

    def lamp_amps(self) -> list[float]:
        elements = self._network.elements
        lit = [i for i in self._network.elements_of("lamp") if elements[i].name in ("hot", "turned")]
        return [sum(abs(float(solution.phase.amps[i, 0])) for i in lit) for solution, _ in self._solved]


def phi(x: float) -> float:
    return 0.5 * (1.0 + erf(x / sqrt(2.0)))


def volt_factors(table: FaultTable, alone: Alone, piece: ReadingSeen) -> tuple[list[float], float]:
    """Return the factor of a volts reading on each variant, and on unknown troubles."""
    wide = 1.0 / (2.4 * table.highest_v)
    shown = np.array(alone.volts(piece)).reshape(-1, table.cells.draws)
    factors = []
    for (low, high, sigma), cell in zip(
        volt_boxes(table, alone, piece), np.repeat(np.arange(len(shown)), table.cells.draws), strict=True
    ):
        density = box_by_hand(
            piece.value, low, high, sqrt(sigma**2 + (KERNEL * float(shown[cell].std())) ** 2)
        )
        factors.append((1.0 - MISREAD) * density + MISREAD * wide)
    return factors, wide


def at_any_time(table: FaultTable, factors: Sequence[float]) -> list[float]:
    """Return the factors of an answer given at any moment: part of the time what comes and goes is away."""
    draws = table.cells.draws
    mixed = []
    for variant, factor in enumerate(factors):
        share = table.cells.there[variant // draws]
        mixed.append(share * factor + (1.0 - share) * factors[variant % draws])
    return mixed


def box_by_hand(value: float, low: float, high: float, sigma: float) -> float:
    if high - low > 0.5 * sigma:
        return (phi((value - low) / sigma) - phi((value - high) / sigma)) / (high - low)
    middle = 0.5 * (low + high)
    return exp(-0.5 * ((value - middle) / sigma) ** 2) / (sigma * sqrt(2.0 * pi))


def stands_for(table: FaultTable, cell: int) -> tuple[float, float]:
    """Return for how much of its range, below and above its severity, a cell is the nearest."""
    story = table.hypotheses[table.cells.owner[cell]]
    severity = next(iter(table.cells.variants[cell * table.cells.draws].faults)).severity
    spec = table.solver.network.parts[story.modes[0].part].kind.faults[story.modes[0].mode].severity
    assert spec is not None
    measure = log if spec.log else float
    own = [measure(s) for s in story.severities]
    here = own.index(measure(severity))
    low = 0.5 * (own[here - 1] + own[here]) if here else measure(spec.low)
    high = 0.5 * (own[here] + own[here + 1]) if here + 1 < len(own) else measure(spec.high)
    return own[here] - low, high - own[here]


def volt_boxes(table: FaultTable, alone: Alone, piece: ReadingSeen) -> Iterator[tuple[float, float, float]]:
    """Yield from where to where each variant shows a reading, and its standard deviation but for tolerances."""
    draws = table.cells.draws
    shown = np.array(alone.volts(piece)).reshape(-1, draws)
    for cell, row in enumerate(shown):
        near = [
            c
            for c in (cell - 1, cell + 1)
            if 0 <= c < len(shown)
            and table.cells.owner[c] == table.cells.owner[cell]
            and table.cells.there[c] == table.cells.there[cell]
        ]
        for draw, value in enumerate(row):
            half = half_width(CHEAP_METER, MeterFunction.DC_VOLTS, np.array(value))
            # The display and the rounding each spread evenly over plus and minus what they may be off.
            even = (float(half) / sqrt(3.0), piece.within / sqrt(3.0))
            sigma = sqrt(sum(p * p for p in (*even, MODEL_SHARE * abs(value) + MODEL_V)))
            alike = [c for c in near if alone.works_alike(c * draws + draw, cell * draws + draw)]
            halves = [0.5 * (shown[c, draw] - value) for c in alike]
            if len(halves) == 1:
                below, above = stands_for(table, cell)
                on, beyond = (below, above) if alike[0] < cell else (above, below)
                halves.append(-halves[0] * beyond / on)
            if near and not alike:
                nearest = min(0.5 * abs(shown[c, draw] - value) for c in near)
                halves = [-nearest, nearest]
            yield value + min([0.0, *halves]), value + max([0.0, *halves]), sigma


def joint_factors(
    table: FaultTable, alone: Alone, pieces: Sequence[ReadingSeen], there: Array
) -> list[float]:
    """Return how likely volts readings together are on each variant: the mean over thousands of boats around each draw.

    A boat differs from its draw by the deviations of the draws from their mean, each times a normal number of its own.
    """
    wide = 1.0 / (2.4 * table.highest_v)
    draws = table.cells.draws
    weights = np.random.default_rng(5).standard_normal((40_000, draws)) * KERNEL / sqrt(draws)
    steps = [(v - v.mean(axis=1, keepdims=True)) for p in pieces for v in [_rows(alone, p, draws)]]
    boxes = [list(volt_boxes(table, alone, piece)) for piece in pieces]
    found = []
    for variant in range(len(boxes[0])):
        product = np.ones(len(weights))
        share = there[variant // draws]
        for piece, step, box in zip(pieces, steps, boxes, strict=True):
            here, gone = (
                box_density(piece.value - weights @ step[one // draws], *map(np.asarray, box[one]))
                for one in (variant, variant % draws)
            )
            product *= (1.0 - MISREAD) * (share * here + (1.0 - share) * gone) + MISREAD * wide
        found.append(float(product.mean()))
    return found


def _rows(alone: Alone, piece: ReadingSeen, draws: int) -> Array:
    return np.array(alone.volts(piece)).reshape(-1, draws)


def ohm_factors(alone: Alone, piece: ReadingSeen) -> tuple[list[float], float]:
    wide = 1.0 / log(20e6 / 1e-3)
    factors = []
    for value in alone.ohms(piece):
        if value > 20e6:
            density = 1.0 if isinf(piece.value) else 0.01 * wide + through_fingers(piece.value)
        elif isinf(piece.value):
            density = 0.01 * wide
        else:
            wide_by = half_width(CHEAP_METER, MeterFunction.OHMS, np.array(value)) / sqrt(3.0)
            spread = sqrt(OHM_SPREAD**2 + (float(wide_by) / (value + OHM_FLOOR)) ** 2)
            off = (log(piece.value + OHM_FLOOR) - log(value + OHM_FLOOR)) / spread
            density = exp(-0.5 * off * off) / (spread * sqrt(2.0 * pi))
        factors.append((1.0 - MISREAD) * density + MISREAD * wide)
    return factors, wide


def light_factors(alone: Alone, piece: SignSeen) -> tuple[list[float], float]:
    """Return the factor of how bright the lamp is: cuts at .35, .8 and 1.3 of its rating, two sigma in 20 %."""
    names = LEVELS
    even = len(piece.levels) / len(names)
    factors = []
    for amps in alone.lamp_amps():
        above = [1.0, *(phi((amps - cut) / (0.1 * cut)) for cut in (0.35, 0.8, 1.3)), 0.0]
        chances = {name: above[i] - above[i + 1] for i, name in enumerate(names[:-1])}
        factors.append(
            (1.0 - MISSEEN) * sum(chances.get(level, 0.0) for level in piece.levels) + MISSEEN * even
        )
    return factors, even


@pytest.fixture(scope="module")
def third() -> FaultTable:
    """Every third story of the small boat and some that come and go: each can be solved alone in little time."""
    whole = diagnosis_of(SMEW).table
    fickle = [h for h in whole.hypotheses if h.there != (1.0,)]
    kept = [h for n, h in enumerate(whole.hypotheses) if n % 3 == 0 or h in fickle[::2]]
    return FaultTable(whole.solver, kept, CHEAP_METER)


@pytest.fixture(scope="module")
def live(third: FaultTable) -> Alone:
    return Alone(third, READY)


@pytest.fixture(scope="module")
def dead(third: FaultTable) -> Alone:
    return Alone(third, UNPLUGGED)


@pytest.mark.parametrize(
    "value", [-7.7, -0.01, 0.0, 0.018, 0.03, 0.4, 1.9, 3.5, 5.4, 6.8, 7.2, 7.5, 7.65, 7.9, 8.3]
)
def test_likelihood_of_volts_is_that_by_hand(third: FaultTable, live: Alone, value: float) -> None:
    for measurement in (OVER_FUSE, OVER_LAMP, FUSE_OUT, volts("pack +", "pack -", READY)):
        factors, wide = volt_factors(third, live, read(measurement, value))
        mine, unknown = likelihood(third, read(measurement, value))
        assert mine.reshape(-1) == pytest.approx(factors, rel=2e-3, abs=1e-4)
        mine, _ = likelihood(third, read(measurement, value), there=third.cells.there)
        assert mine.reshape(-1) == pytest.approx(at_any_time(third, factors), rel=2e-3, abs=1e-4)
        assert unknown == wide


@pytest.mark.parametrize("value", [0.0, 0.02, 0.5, 3.0, 40.0, 2e3, 5e6, np.inf])
def test_likelihood_of_ohms_is_that_by_hand(third: FaultTable, dead: Alone, value: float) -> None:
    for measurement in (
        OHMS_OF_FUSE,
        ohms("lamp +", "lamp -", UNPLUGGED),
        ohms("pack +", "fuse in", UNPLUGGED),
    ):
        factors, wide = ohm_factors(dead, read(measurement, value))
        mine, unknown = likelihood(third, read(measurement, value))
        assert mine.reshape(-1) == pytest.approx(factors, rel=2e-3, abs=1e-4)
        mine, _ = likelihood(third, read(measurement, value), there=third.cells.there)
        assert mine.reshape(-1) == pytest.approx(at_any_time(third, factors), rel=2e-3, abs=1e-4)
        assert unknown == wide


def unsteady_factors(table: FaultTable, alone: Alone) -> list[float]:
    """Return how likely the lamp is said to come and go: where it may, and shows one level there and another else."""
    chances = np.array([light_factors(alone, light(READY, level))[0] for level in LEVELS])
    chances = (chances - MISSEEN / len(LEVELS)) / (1.0 - MISSEEN)
    factors = []
    for variant in range(chances.shape[1]):
        well = variant % table.cells.draws
        differ = 0.5 * float(np.abs(chances[:, variant] - chances[:, well]).sum())
        may = table.cells.there[variant // table.cells.draws] < 1.0
        said = NOTICED * differ if may else 0.0
        factors.append((1.0 - MISTOLD) * said + MISTOLD * SAID_UNSTEADY)
    return factors


@pytest.mark.parametrize("unsteady", [False, True])
def test_posterior_is_that_of_brute_force(
    third: FaultTable, live: Alone, dead: Alone, *, unsteady: bool
) -> None:
    """After each answer of a trouble that stays; after all of them where one more says that it comes and goes."""
    said = (Unsteady(asked=light(READY, "dark").query),) if unsteady else ()
    table = third
    prior = [
        h.weight * share / len(h.there) / table.cells.draws
        for h in table.hypotheses
        for _ in h.there
        for share in h.shares
    ]
    start = np.repeat(np.array(prior), table.cells.draws)
    start *= (1.0 - UNKNOWN_SHARE) / start.sum()
    before = UNKNOWN_SHARE
    if unsteady:
        start, before = start * np.array(unsteady_factors(table, live)), before * SAID_UNSTEADY
    for count in (len(PIECES),) if unsteady else range(1, len(PIECES) + 1):
        masses, unknown, read_volts = start, before, list[ReadingSeen]()
        for piece in PIECES[:count]:
            if isinstance(piece, SignSeen):
                factors, wide = light_factors(live, piece)
            elif piece.measurement.function is MeterFunction.OHMS:
                factors, wide = ohm_factors(dead, piece)
            else:
                factors, wide = [1.0] * len(masses), 1.0 / (2.4 * table.highest_v)
                read_volts.append(piece)
            factors = at_any_time(table, factors) if unsteady else factors
            masses, unknown = masses * np.array(factors), unknown * wide
        if read_volts:
            there = table.cells.there if unsteady else np.ones(len(table.cells.owner))
            masses = masses * np.array(joint_factors(table, live, read_volts, there))
        belief = believe(table, (*PIECES[:count], *said))
        total = masses.sum() + unknown
        by_cell = (masses / total).reshape(-1, table.cells.draws).sum(axis=1)
        assert belief.cells == pytest.approx(by_cell, rel=0.4, abs=0.003)
        assert belief.unknown == pytest.approx(unknown / total, rel=0.15, abs=1e-3)


@pytest.mark.parametrize("value", [0.0, 3.5, 7.5])
def test_likelihood_of_a_rounded_figure_is_that_by_hand(third: FaultTable, live: Alone, value: float) -> None:
    told = replace(read(FUSE_OUT, value), within=0.5)
    factors, _ = volt_factors(third, live, told)
    assert likelihood(third, told)[0].reshape(-1) == pytest.approx(factors, rel=2e-3, abs=1e-4)
