"""Beliefs against Bayes written out: every variant solved alone, every density by hand, everything multiplied."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import permutations
from math import erf, exp, isinf, log, pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from assistant.catalogue import Action
from assistant.circuit import CHEAP_METER, BoatState, MeterFunction, Solution, half_width
from assistant.circuit.hold import Hold
from assistant.diagnosis import Evidence, ModeAt, ReadingSeen, SignSeen, Unsteady
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
from assistant.diagnosis.hypotheses import (
    REPLACED_KEEPS,
    TOUCHED_SHARE,
    WET_SHARE,
    Lately,
    places_near,
    raised_by,
)
from assistant.diagnosis.moving import NOTICED
from assistant.diagnosis.normal import box_density
from assistant.diagnosis.table import FaultTable
from assistant.diagnosis.tolerances import KERNEL
from tests.diagnosis.boats import SMEW, diagnosis_of, light, ohms, read, ready, unplugged, volts

READY, UNPLUGGED = ready(SMEW), unplugged(SMEW)
OVER_FUSE = volts("fuse in", "fuse out", READY)
OVER_LAMP = volts("lamp +", "lamp -", READY)
FUSE_OUT = volts("fuse out", "pack -", READY)
OHMS_OF_FUSE = ohms("fuse in", "fuse out", UNPLUGGED)

Array = NDArray[np.float64]
LEVELS = ("dark", "dim", "bright", "glaring", "flickers")
PIECES: tuple[ReadingSeen | SignSeen, ...] = (
    light(READY, "dim"),
    read(OVER_FUSE, 1.9),
    read(OVER_LAMP, 5.4),
    light(READY, "dark", "dim"),
    read(OHMS_OF_FUSE, 3.0),
    read(FUSE_OUT, 5.6),
)


@pytest.fixture(scope="module")
def table() -> FaultTable:
    return diagnosis_of(SMEW).table


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
    """Of a trouble that stays, and of the same answers with one before them that it comes and goes."""
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
    for count in range(1, len(PIECES) + 1):
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


def test_what_comes_and_goes_may_have_been_away_at_any_answer(third: FaultTable) -> None:
    """A lamp dark, then lit, then dark again: no slip, where a joint is loose."""
    table = third
    fickle = table.cells.there < 1.0
    assert fickle.any()
    said = Unsteady(asked=light(READY, "dark").query)
    pieces: list[Evidence] = [
        said,
        light(READY, "dark"),
        read(OVER_LAMP, 7.5),
        read(FUSE_OUT, 0.0),
        light(READY, "bright"),
    ]
    shares = [float(believe(table, pieces[:count]).cells[fickle].sum()) for count in range(6)]
    assert shares[0] < 0.1
    assert shares[1] > 0.5
    assert shares[5] > 0.99
    assert float(believe(table, pieces[1:]).cells[fickle].sum()) < 0.5


def test_probabilities_add_up(table: FaultTable) -> None:
    for count in range(len(PIECES) + 1):
        belief = believe(table, PIECES[:count])
        assert belief.cells.sum() + belief.unknown == pytest.approx(1.0)


def test_without_evidence_the_prior_stands(table: FaultTable) -> None:
    belief = believe(table, ())
    weights = np.bincount(table.cells.owner, belief.cells)
    assert weights == pytest.approx([h.weight * (1.0 - UNKNOWN_SHARE) for h in table.hypotheses])
    assert belief.unknown == pytest.approx(UNKNOWN_SHARE)


@pytest.mark.parametrize(
    "pieces", [PIECES[:4], (*PIECES[:3], Unsteady(asked=OVER_LAMP))], ids=["stays", "comes and goes"]
)
def test_order_changes_nothing(table: FaultTable, pieces: tuple[Evidence, ...]) -> None:
    first = believe(table, pieces)
    for order in permutations(pieces):
        other = believe(table, order)
        assert other.cells == pytest.approx(first.cells, rel=1e-9)
        assert other.unknown == pytest.approx(first.unknown, rel=1e-9)


@pytest.mark.parametrize("number", range(len(PIECES)))
def test_withdrawing_is_nearly_never_having_had_it(table: FaultTable, number: int) -> None:
    withdrawn = believe(table, PIECES).without(number)
    never = believe(table, PIECES[:number] + PIECES[number + 1 :])
    assert withdrawn.evidence == never.evidence
    assert withdrawn.cells == pytest.approx(never.cells, rel=0.25, abs=0.03)
    assert withdrawn.unknown == pytest.approx(never.unknown, rel=0.25, abs=0.002)
    assert withdrawn.surprise() == pytest.approx(never.surprise(), abs=1.0)


@pytest.mark.parametrize("number", [0, 3, 4])
def test_withdrawing_what_is_no_volts_is_exact(table: FaultTable, number: int) -> None:
    withdrawn = believe(table, PIECES).without(number)
    never = believe(table, PIECES[:number] + PIECES[number + 1 :])
    assert withdrawn.cells == pytest.approx(never.cells, rel=1e-9)


@given(value=st.floats(-1e3, 1e3) | st.sampled_from([0.0, 1e9, -1e9]))
def test_no_reading_rules_anything_out(value: float) -> None:
    table = diagnosis_of(SMEW).table
    factors, unknown = likelihood(table, read(OVER_FUSE, value))
    assert factors.min() >= MISREAD * unknown * (1.0 - 1e-9)
    assert believe(table, [read(OVER_FUSE, value)] * 3).cells.min() > 0.0


@pytest.mark.parametrize("value", [0.0, 3.0, 1e6, np.inf])
def test_no_ohms_rule_anything_out(table: FaultTable, value: float) -> None:
    factors, unknown = likelihood(table, read(OHMS_OF_FUSE, value))
    assert factors.min() >= MISREAD * unknown * (1.0 - 1e-9)


@pytest.mark.parametrize("level", ["dark", "dim", "bright", "glaring", "flickers"])
def test_no_sign_rules_anything_out(table: FaultTable, level: str) -> None:
    factors, unknown = likelihood(table, light(READY, level))
    assert factors.min() >= MISSEEN * unknown * (1.0 - 1e-9)


def test_a_later_answer_brings_back_what_a_misread_pushed_down(table: FaultTable) -> None:
    """The fuse is open; one reading over it says the contrary."""
    behind = np.array([h.repairs[:1] != () and h.repairs[0].place == "fuse" for h in table.hypotheses])

    def of_fuse(*pieces: Evidence) -> float:
        return float(believe(table, pieces).cells[behind[table.cells.owner]].sum())

    dark, misread = light(READY, "dark"), read(OVER_FUSE, 0.02)
    assert of_fuse(dark, misread) < 0.1 * of_fuse(dark)
    assert of_fuse(dark, misread, read(OHMS_OF_FUSE, np.inf), read(OVER_FUSE, 7.6)) > 0.5


def test_any_of_the_levels_is_sure(table: FaultTable) -> None:
    every = light(READY, "dark", "dim", "bright", "glaring", "flickers")
    assert believe(table, [every]).cells == pytest.approx(believe(table, ()).cells)


def test_readings_that_do_not_belong_together_surprise(table: FaultTable) -> None:
    """All volts lie over the fuse, and all of them over the lamp behind it: one of both was misread."""
    together = believe(table, [read(OVER_FUSE, 7.6), read(OVER_LAMP, 0.0)])
    apart = believe(table, [read(OVER_FUSE, 7.6), read(OVER_LAMP, 7.6)])
    assert together.surprise() < 0.0
    assert apart.surprise() > 1.0


def test_one_answer_alone_cannot_surprise(table: FaultTable) -> None:
    assert believe(table, ()).surprise() == pytest.approx(0.0, abs=1e-9)
    for piece in PIECES:
        assert believe(table, [piece]).surprise() == pytest.approx(0.0, abs=1e-9)


def beep(value: float) -> ReadingSeen:
    """Return a beep over the fuse (0), or none (infinite)."""
    m = OHMS_OF_FUSE
    return ReadingSeen(
        measurement=replace(m, function=MeterFunction.CONTINUITY),
        value=value,
    )


def test_a_beep_hardly_speaks_against_ohms_below_the_limit_of_the_beeper(table: FaultTable) -> None:
    """A fuse of a few ohms beeps like a good one, so continuity clears no path for current."""
    fit, _ = likelihood(table, beep(0.0))
    corroded = [
        n for n, h in enumerate(table.hypotheses) if h.modes[:1] == (ModeAt(part="fuse", mode="corroded"),)
    ]
    blown = [n for n, h in enumerate(table.hypotheses) if h.modes[:1] == (ModeAt(part="fuse", mode="open"),)]
    few_ohms = np.flatnonzero(table.cells.owner == corroded[0])[:3]
    well = fit[table.cells.owner == 0].mean()
    assert fit[few_ohms].mean() > 0.9 * well
    assert fit[table.cells.owner == blown[0]].mean() < 0.05 * well
    silent, _ = likelihood(table, beep(float("inf")))
    assert silent[table.cells.owner == blown[0]].mean() > 0.9


def test_many_kilohms_through_the_fingers_do_not_clear_an_open(table: FaultTable) -> None:
    """151 kilohms over a broken wire were read in one report, and hours spent elsewhere."""
    fit, _ = likelihood(table, read(OHMS_OF_FUSE, 151e3))
    blown = [n for n, h in enumerate(table.hypotheses) if h.modes[:1] == (ModeAt(part="fuse", mode="open"),)]
    assert fit[table.cells.owner == blown[0]].mean() > 3 * fit[table.cells.owner == 0].mean()


def test_a_figure_told_without_decimals_is_taken_as_rounded(table: FaultTable) -> None:
    exact, _ = likelihood(table, read(FUSE_OUT, 9.0))
    told, _ = likelihood(table, replace(read(FUSE_OUT, 9.0), within=0.5))
    healthy = table.cells.owner == 0
    assert told[healthy].mean() > 3 * exact[healthy].mean()


@pytest.mark.parametrize("value", [0.0, 3.5, 7.5])
def test_likelihood_of_a_rounded_figure_is_that_by_hand(third: FaultTable, live: Alone, value: float) -> None:
    told = replace(read(FUSE_OUT, value), within=0.5)
    factors, _ = volt_factors(third, live, told)
    assert likelihood(third, told)[0].reshape(-1) == pytest.approx(factors, rel=2e-3, abs=1e-4)


def test_what_was_touched_last_gets_its_share_of_the_prior(table: FaultTable) -> None:
    factors = raised_by(table.hypotheses, table.solver.network.boat, Lately(touched=frozenset({"lamp"})))
    prior = believe(table, (), factors).prior.sum(axis=1)
    near = places_near(table.solver.network.boat, frozenset({"lamp"}))
    named = [n for n, h in enumerate(table.hypotheses) if h.modes and h.modes[0].part in near]
    inside = prior[np.isin(table.cells.owner, named)].sum()
    assert inside == pytest.approx(TOUCHED_SHARE)


def test_a_part_replaced_without_cure_keeps_little_and_its_joints_gain(table: FaultTable) -> None:
    boat = table.solver.network.boat
    factors = raised_by(table.hypotheses, boat, Lately(replaced=frozenset({"lamp"})))
    at = {h.modes[0].part: f for h, f in zip(table.hypotheses, factors, strict=True) if h.modes}
    assert at["lamp"] == REPLACED_KEEPS
    joints = [factor for place, factor in at.items() if "lamp" in place and place != "lamp"]
    assert joints
    assert min(joints) >= 1.0 > at["fuse"] * at["lamp"]


def test_after_water_what_is_cured_by_drying_gets_its_share(table: FaultTable) -> None:
    factors = raised_by(table.hypotheses, table.solver.network.boat, Lately(wet=True))
    prior = believe(table, (), factors).prior.sum(axis=1)
    dry = [n for n, h in enumerate(table.hypotheses) if h.repairs[:1] and h.repairs[0].action is Action.DRY]
    assert prior[np.isin(table.cells.owner, dry)].sum() == pytest.approx(WET_SHARE)
