"""From solved circuits to what a person sees, hears and feels.

A sign is cut out of a computed quantity of its part.  Near a cut people disagree, so levels are soft; while something
alternates for ever, the restless level shows; and where direct current alone cannot tell (a servo that twitches from
noise), the kind's chance says how often it does.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import NOISE, Curve, SignSpec
from assistant.circuit import Network, Phase, Solution, Variant
from assistant.circuit.batch import Values, values_of
from assistant.diagnosis.model import SignQuery
from assistant.diagnosis.normal import normal_cdf

Array = NDArray[np.float64]


def sign_levels(spec: SignSpec) -> tuple[str, ...]:
    """Return the levels of a sign: the cut ones in order, then the restless and the chance level if it has them."""
    extra = dict.fromkeys(level for level in (spec.restless_level, spec.chance_level) if level)
    return (*spec.levels, *(level for level in extra if level not in spec.levels))


class SignModel:
    """The signs of a boat's variants in whatever state they were solved.

    Values of parts do not depend on the boat state; they are worked out once a part.
    """

    def __init__(self, network: Network, variants: Sequence[Variant], draws: int) -> None:
        self._network = network
        self._variants = tuple(variants)
        self._draws = draws
        self._values: dict[str, Values] = {}

    def probabilities(self, solution: Solution, query: SignQuery) -> Array:
        """Return the probability of each level on each variant at one look, shape (levels, variants)."""
        spec = self._network.parts[query.part].kind.signs[query.sign]
        chances = self.lasting(solution, query)
        by_chance = self.by_chance(solution, query)
        chances = chances * (1.0 - by_chance)
        if spec.chance_level:
            chances[sign_levels(spec).index(spec.chance_level)] += by_chance
        return chances

    def by_chance(self, solution: Solution, query: SignQuery) -> Array:
        """Return how likely a look happens on the chance level, each look by itself, shape (variants,).

        What is looked at unplugged stays as it is: there chance has made the part, not the moment.
        """
        spec, _ = self._sign(query)
        return np.zeros(len(self._variants)) if spec.unplugged else self._chance(solution, query)

    def _chance(self, solution: Solution, query: SignQuery) -> Array:
        spec, curves = self._sign(query)
        if spec.chance is None:
            return np.zeros(len(self._variants))
        measures = self._measures(solution.phase, query.part, spec)
        chance = np.clip(spec.chance(measures, curves), 0.0, 1.0)
        return np.where(solution.failed, 0.0, np.broadcast_to(chance, solution.failed.shape))

    def lasting(self, solution: Solution, query: SignQuery) -> Array:
        """Return the probability of each level that a variant goes on showing, shape (levels, variants)."""
        network = self._network
        spec, curves = self._sign(query)
        measures = [self._measures(phase, query.part, spec) for phase in (solution.phase, solution.other)]
        cuts = [cut(measures[0], curves) for cut in spec.cuts]
        soft = [_soft_levels(spec, spec.of(m, curves), cuts, len(self._variants)) for m in measures]
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

    def _measures(self, phase: Phase, part: str, spec: SignSpec) -> Mapping[str, Array]:
        """Return the named quantities a sign of `part` may be made of, each of shape (variants,)."""
        measures = self._own_measures(phase, part)
        formulas = (spec.of, *spec.cuts, *([spec.chance] if spec.chance is not None else []))
        if any(NOISE in formula.names for formula in formulas):
            measures[NOISE] = self._noise(phase)
        return measures

    def _noise(self, phase: Phase) -> Array:
        noise = np.zeros(len(self._variants))
        for other in self._network.parts.values():
            if other.kind.noise is not None:
                noise = noise + other.kind.noise(self._own_measures(phase, other.id), other.kind.curves)
        return noise

    def _own_measures(self, phase: Phase, part: str) -> dict[str, Array]:
        network = self._network
        if part not in self._values:
            self._values[part] = values_of(network, part, self._variants, draws=self._draws)
        measures: dict[str, Array] = dict(self._values[part])
        for number in network.elements_of(part):
            element = network.elements[number]
            measures[f"{element.name}.amps"] = phase.amps[number]
            measures[f"{element.name}.speed"] = phase.speed[number]
            measures[f"{element.name}.volts"] = phase.volts[element.nodes[0]] - phase.volts[element.nodes[1]]
        for number, condition in enumerate(network.conditions):
            if condition.part == part:
                measures[condition.name] = phase.conditions[number].astype(np.float64)
        for number, given in enumerate(network.inputs):
            if given.part == part:
                measures[f"{given.spec.name}.travel"] = phase.travel[number]
        return measures


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
    solution: Solution,
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
