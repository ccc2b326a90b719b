"""What every sign most likely shows on many variants with sound values but for their faults.

On a boat divided into feeds the signs of a feed are worked out in that feed alone, on variants that stand for all that
are alike there; so they cost as much as the feed has faults, and not as the boat has.  What hangs on noise, and what
belongs to no feed, is worked out in the whole boat, on variants alike there and in the noise that reaches it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from assistant.circuit import REST, Likeness, Solution, Solver, Survey, Variant
from assistant.diagnosis.model import SignQuery
from assistant.diagnosis.signs import SignModel, hangs_on_noise

Marks = NDArray[np.int8]

_Sign = tuple[str, str]


def likeliest_levels(solver: Solver, variants: Sequence[Variant], solution: Solution | Survey) -> Marks:
    """Return the number of the likeliest level of each sign of each part, shape (signs, variants).

    Parameters
    ----------
    variants : those of the solution, without tolerances.
    """
    signs = [(part.id, sign) for part in solver.network.parts.values() for sign in part.kind.signs]
    if isinstance(solution, Solution):
        model = SignModel(solver.network, variants, 0)
        return np.array([_likeliest(model, solution, sign) for sign in signs], dtype=np.int8)
    row = {sign: n for n, sign in enumerate(signs)}
    levels = np.empty((len(signs), len(variants)), dtype=np.int8)
    for sign, found in _Divided(solver, variants, solution).levels(signs):
        levels[row[sign]] = found
    return levels


class _Divided:
    """The signs of a boat divided into feeds."""

    def __init__(self, solver: Solver, variants: Sequence[Variant], survey: Survey) -> None:
        self._solver = solver
        self._variants = variants
        self._survey = survey
        self._healthy = solver.healthy_values(0)
        self._likeness = Likeness(solver.network, solver.division(), survey, variants)

    def levels(self, signs: Iterable[_Sign]) -> Iterator[tuple[_Sign, Marks]]:
        """Yield each sign with its likeliest level on every variant."""
        parts, feed_of = self._solver.network.parts, self._solver.division().feed_of_part
        own: dict[int, list[_Sign]] = {}
        common: list[_Sign] = []
        for part, sign in signs:
            number = feed_of.get(part, REST)
            wide = number == REST or hangs_on_noise(parts[part].kind.signs[sign])
            (common if wide else own.setdefault(number, [])).append((part, sign))
        for number, some in own.items():
            yield from self._in_feed(number, some)
        if common:
            yield from self._in_common(common, {feed_of.get(part, REST) for part, _ in common})

    def _in_feed(self, number: int, signs: Sequence[_Sign]) -> Iterator[tuple[_Sign, Marks]]:
        feed, alike = self._solver.division().feeds[number], self._likeness.within({number})
        model = SignModel(feed.frame.network, self._some(alike.columns), 0, self._healthy)
        solution = self._survey.in_feed(feed, alike.columns)
        for sign in signs:
            yield sign, _likeliest(model, solution, sign)[alike.of]

    def _in_common(self, signs: Sequence[_Sign], numbers: set[int]) -> Iterator[tuple[_Sign, Marks]]:
        survey = self._survey
        every = SignModel(self._solver.network, self._variants, 0, self._healthy)
        noise = [every.noise(phase) for phase in (survey.phase, survey.other)]
        alike = self._likeness.within(numbers, noise)
        model = SignModel(self._solver.network, self._some(alike.columns), 0, self._healthy)
        solution = survey.take(alike.columns)
        for sign in signs:
            yield sign, _likeliest(model, solution, sign)[alike.of]

    def _some(self, columns: NDArray[np.intp]) -> list[Variant]:
        return [self._variants[n] for n in columns.tolist()]


def _likeliest(model: SignModel, solution: Solution, sign: _Sign) -> Marks:
    query = SignQuery(part=sign[0], sign=sign[1], state=solution.state)
    return np.asarray(model.probabilities(solution, query).argmax(axis=0), dtype=np.int8)
