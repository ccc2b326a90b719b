"""From solved circuits to what a person sees, hears and feels.

A sign is cut out of a computed quantity of its part.  Near a cut people disagree, so levels are soft; while something
alternates for ever, the restless level shows; and where direct current alone cannot tell (a servo that twitches from
noise), the kind's chance says how often it does.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import NOISE, Curve, SignSpec
from assistant.circuit import Network, Solution, Survey, Variant
from assistant.circuit.batch import PartValues, Values
from assistant.diagnosis.model import SignQuery
from assistant.diagnosis.normal import normal_cdf

Array = NDArray[np.float64]


class SteadyState(Protocol):
    """A steady state of many variants, or one of two between which they alternate; see `assistant.circuit.Phase`."""

    def volts_of(self, node: int, /) -> Array:
        """Return the volts of a node over the reference."""

    def amps_of(self, element: int, /) -> Array:
        """Return the current of an element."""

    def speed_of(self, element: int, /) -> Array:
        """Return the speed of a motor."""

    def holds(self, condition: int, /) -> NDArray[np.bool_]:
        """Tell where a condition holds."""

    def travel_of(self, number: int, /) -> Array:
        """Return the travel an input is commanded."""


def sign_levels(spec: SignSpec) -> tuple[str, ...]:
    """Return the levels of a sign: the cut ones in order, then the restless and the chance level if it has them."""
    extra = dict.fromkeys(level for level in (spec.restless_level, spec.chance_level) if level)
    return (*spec.levels, *(level for level in extra if level not in spec.levels))


def hangs_on_noise(spec: SignSpec) -> bool:
    """Tell whether a sign hangs on noise, which any part of the boat may make."""
    return NOISE in _names_in(spec)


class SignModel:
    """The signs of a boat's variants in whatever state they were solved.

    `healthy` are the healthy values of every part, where they are known already.
    """

    def __init__(
        self,
        network: Network,
        variants: Sequence[Variant],
        draws: int,
        healthy: Mapping[str, Values] | None = None,
    ) -> None:
        self._network = network
        self._variants = tuple(variants)
        self._of_parts = PartValues(network, variants, draws, healthy)
        self._noisy = frozenset(part.id for part in network.parts.values() if part.kind.noise is not None)
        self._values: dict[str, Values] = {}
        self._conditions = _numbers_by_part(condition.part for condition in network.conditions)
        self._inputs = _numbers_by_part(given.part for given in network.inputs)

    def probabilities(self, solution: Solution | Survey, query: SignQuery) -> Array:
        """Return the probability of each level on each variant at one look, shape (levels, variants)."""
        spec = self._network.parts[query.part].kind.signs[query.sign]
        chances = self.lasting(solution, query)
        by_chance = self.by_chance(solution, query)
        chances = chances * (1.0 - by_chance)
        if spec.chance_level:
            chances[sign_levels(spec).index(spec.chance_level)] += by_chance
        return chances

    def by_chance(self, solution: Solution | Survey, query: SignQuery) -> Array:
        """Return how likely a look happens on the chance level, each look by itself, shape (variants,).

        What is looked at unplugged stays as it is: there chance has made the part, not the moment.
        """
        spec, _ = self._sign(query)
        return np.zeros(len(self._variants)) if spec.unplugged else self._chance(solution, query)

    def _chance(self, solution: Solution | Survey, query: SignQuery) -> Array:
        spec, curves = self._sign(query)
        if spec.chance is None:
            return np.zeros(len(self._variants))
        measures = self._measures(solution.phase, query.part, spec)
        chance = np.clip(spec.chance(measures, curves), 0.0, 1.0)
        return np.where(solution.failed, 0.0, np.broadcast_to(chance, solution.failed.shape))

    def lasting(self, solution: Solution | Survey, query: SignQuery) -> Array:
        """Return the probability of each level that a variant goes on showing, shape (levels, variants)."""
        network = self._network
        spec, curves = self._sign(query)
        first = self._measures(solution.phase, query.part, spec)
        rests = solution.other is solution.phase
        measures = [first] if rests else [first, self._measures(solution.other, query.part, spec)]
        cuts = [cut(first, curves) for cut in spec.cuts]
        each = [_soft_levels(spec, spec.of(m, curves), cuts, len(self._variants)) for m in measures]
        soft = each[0], each[-1]
        chances = np.zeros((len(sign_levels(spec)), len(self._variants)))
        chances[: len(spec.levels)] = 0.5 * (soft[0] + soft[1])
        _add_restless(network, solution, query, spec, soft, chances)
        if spec.unplugged and spec.chance_level:
            chance = self._chance(solution, query)
            chances *= 1.0 - chance
            chances[sign_levels(spec).index(spec.chance_level)] += chance
        chances[:, solution.failed] = 1.0 / len(chances)
        return chances

    def _sign(self, query: SignQuery) -> tuple[SignSpec, Mapping[str, Curve]]:
        kind = self._network.parts[query.part].kind
        return kind.signs[query.sign], kind.curves

    def _measures(self, phase: SteadyState, part: str, spec: SignSpec) -> Mapping[str, Array]:
        """Return the named quantities a sign of `part` may be made of, each of shape (variants,)."""
        names = _names_in(spec)
        measures = self._own_measures(phase, part, names)
        if NOISE in names:
            measures[NOISE] = self.noise(phase)
        return measures

    def noise(self, phase: SteadyState) -> Array:
        """Return the noise that all parts of the boat make together, shape (variants,)."""
        noise = np.zeros(len(self._variants))
        for other in self._network.parts.values():
            made = other.kind.noise
            if made is not None:
                noise = noise + made(self._own_measures(phase, other.id, made.names), other.kind.curves)
        return noise

    def _own_measures(self, phase: SteadyState, part: str, names: Collection[str]) -> dict[str, Array]:
        network = self._network
        if part not in self._values:
            # What makes noise is wanted again and again, of the others the last.
            self._values = {other: values for other, values in self._values.items() if other in self._noisy}
            self._values[part] = self._of_parts.of(part)
        measures: dict[str, Array] = dict(self._values[part])
        for number in network.elements_of(part):
            element = network.elements[number]
            if f"{element.name}.amps" in names:
                measures[f"{element.name}.amps"] = phase.amps_of(number)
            if f"{element.name}.speed" in names:
                measures[f"{element.name}.speed"] = phase.speed_of(number)
            if f"{element.name}.volts" in names:
                ends = (phase.volts_of(node) for node in element.nodes[:2])
                measures[f"{element.name}.volts"] = next(ends) - next(ends)
        for number in self._conditions.get(part, ()):
            name = network.conditions[number].name
            if name in names:
                measures[name] = phase.holds(number).astype(np.float64)
        for number in self._inputs.get(part, ()):
            given = network.inputs[number]
            if f"{given.spec.name}.travel" in names:
                measures[f"{given.spec.name}.travel"] = phase.travel_of(number)
        return measures


def _names_in(spec: SignSpec) -> frozenset[str]:
    """Return what a sign is made of."""
    formulas = (spec.of, *spec.cuts, *([spec.chance] if spec.chance is not None else []))
    return frozenset().union(*(formula.names for formula in formulas))


def _numbers_by_part(parts: Iterable[str]) -> Mapping[str, Sequence[int]]:
    """Return at which numbers each part comes, given the part at each."""
    found: dict[str, list[int]] = {}
    for number, part in enumerate(parts):
        found.setdefault(part, []).append(number)
    return found


def _soft_levels(spec: SignSpec, quantity: Array, cuts: Sequence[Array], size: int) -> Array:
    """Return the probability of each cut level; `blur` is the relative softness of a cut (two sigma)."""
    largest = max((float(np.abs(c).max()) for c in cuts), default=1.0)
    above = [np.ones(size)]
    for cut in cuts:
        softness = 0.5 * spec.blur * np.maximum(np.abs(cut), 0.1 * largest)
        above.append(np.broadcast_to(normal_cdf((quantity - cut) / np.maximum(softness, 1e-9)), (size,)))
    above.append(np.zeros(size))
    return np.maximum(-np.diff(np.stack(above), axis=0), 0.0)


def _add_restless(
    network: Network,
    solution: Solution | Survey,
    query: SignQuery,
    spec: SignSpec,
    soft: Sequence[Array],
    chances: Array,
) -> None:
    if not spec.restless_level:
        return
    restless = soft[0].argmax(axis=0) != soft[1].argmax(axis=0)
    for number, condition in enumerate(network.conditions):
        if condition.part == query.part and condition.name in spec.restless:
            restless |= solution.restless[number]
    chances[:, restless] = 0.0
    chances[sign_levels(spec).index(spec.restless_level), restless] = 1.0
