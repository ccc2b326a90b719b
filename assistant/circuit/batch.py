"""Many variants of one boat as rows of arrays: healthy or with faults, each with a draw of the tolerances.

The values of a part are worked out once for each tolerance draw and handed to all rows; only the rows in which the
part itself is at fault are worked out anew.  Draw 0 is the nominal boat.  Further draws are a Latin hypercube over the
tolerances, ordered by an integer hash, so that they are the same on every machine.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from assistant.catalogue import SEVERITY, FaultSpec, Kind, values_in_order
from assistant.circuit.network import Element, Network, is_moved
from assistant.errors import CircuitError
from assistant.wiring import Part

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rows = NDArray[np.intp]
Values = Mapping[str, Array]


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """A fault mode at a part, with its severity (in the unit of the mode) where it has one."""

    part: str
    mode: str
    severity: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Variant:
    """One boat to be solved: its faults (none = healthy) and the number of its tolerance draw."""

    faults: tuple[Fault, ...] = ()
    draw: int = 0


@dataclass(frozen=True, slots=True)
class Batch:
    """Numbers of all rows.

    `values[part]` holds a part's values and, as ``severity``, how bad its fault is (1 where it has none).
    `parameters[element][name]` has shape (rows,), for elements that depend on stick travel they are left to
    `values`; `present` is (elements, rows), `forced` (conditions, rows) with -1 never, 1 always; `on`, `off` are
    (conditions, rows).
    """

    network: Network
    size: int
    parameters: tuple[Mapping[str, Array], ...]
    values: Mapping[str, Values]
    present: Flags
    forced: NDArray[np.int8]
    on: Array
    off: Array


def healthy_values(network: Network, draws: int) -> Mapping[str, Values]:
    """Return the healthy values of every part, each of shape (1 + draws,)."""
    return {part.id: values_by_draw(part, draws) for part in network.parts.values()}


def make_batch(
    network: Network,
    variants: Sequence[Variant],
    *,
    draws: int,
    healthy: Mapping[str, Values] | None = None,
) -> Batch:
    """Return the numbers of `variants`; `draws` is how many tolerance draws exist besides the nominal one.

    Parameters
    ----------
    healthy : the healthy values of every part, where they are known already.

    Raises
    ------
    CircuitError
        For a fault at a part that the boat does not have, or of a mode that the part does not know.
    """
    draw = np.array([v.draw for v in variants], dtype=np.intp)
    spots = _spots(variants)
    _refuse_unknown(network, spots)
    sound = healthy or healthy_values(network, draws)
    values = {
        p.id: _values_of_rows(p, draw, draws, spots.get(p.id, ()), sound[p.id])
        for p in network.parts.values()
    }
    present, forced = _presence(network, len(variants), spots)
    return Batch(
        network=network,
        size=len(variants),
        parameters=tuple(_parameters(e, network, values[e.part]) for e in network.elements),
        values=values,
        present=present,
        forced=forced,
        on=_thresholds(network, values, len(variants), upper=True),
        off=_thresholds(network, values, len(variants), upper=False),
    )


_Spot = tuple[tuple[str, ...], Rows, Array]


def _spots(variants: Sequence[Variant]) -> dict[str, tuple[_Spot, ...]]:
    """Return, by part, the fault modes at it, the rows that have them and the severities there."""
    found: dict[str, dict[tuple[str, ...], tuple[list[int], list[list[float]]]]] = {}
    for row, variant in enumerate(variants):
        by_part: dict[str, list[Fault]] = {}
        for fault in variant.faults:
            by_part.setdefault(fault.part, []).append(fault)
        for part, faults in by_part.items():
            modes = tuple(f.mode for f in faults)
            rows, severities = found.setdefault(part, {}).setdefault(modes, ([], []))
            rows.append(row)
            severities.append([f.severity for f in faults])
    return {
        part: tuple(
            (modes, np.array(rows, dtype=np.intp), np.array(sev).T) for modes, (rows, sev) in groups.items()
        )
        for part, groups in found.items()
    }


def _refuse_unknown(network: Network, spots: Mapping[str, tuple[_Spot, ...]]) -> None:
    for part, groups in spots.items():
        if part not in network.parts:
            raise CircuitError(value=part, reason="the boat has no such part to be at fault", places=(part,))
        known = network.parts[part].kind.faults
        for mode in (mode for modes, *_ in groups for mode in modes):
            if mode not in known:
                raise CircuitError(value=mode, reason=f"{part} has no such fault", places=(part,))


def _values_of_rows(part: Part, draw: Rows, draws: int, spots: Sequence[_Spot], healthy: Values) -> Values:
    rows = {name: column[draw] for name, column in healthy.items()}
    rows[SEVERITY] = np.ones(len(draw))
    deviates = _deviates(part, draws) if spots else {}
    for modes, where, severities in spots:
        rows[SEVERITY][where] = severities[0]
        overrides: dict[str, Array] = {}
        for mode, severity in zip(modes, severities, strict=True):
            spec = part.kind.faults[mode]
            env = {name: column[where] for name, column in rows.items()} | overrides | {SEVERITY: severity}
            for name, formula in spec.values.items():
                overrides[name] = np.broadcast_to(formula(env, part.kind.curves), where.shape)
        if overrides:
            there = {name: d[draw[where]] for name, d in deviates.items()}
            changed = evaluate_values(part.kind, part.given, there, overrides, len(where))
            for name in healthy:
                rows[name][where] = changed[name]
    return rows


class PartValues:
    """The values of single parts on some variants, each worked out when it is asked for.

    `healthy` are the healthy values of every part, where they are known already.
    """

    def __init__(
        self,
        network: Network,
        variants: Sequence[Variant],
        draws: int,
        healthy: Mapping[str, Values] | None = None,
    ) -> None:
        self._parts = network.parts
        self._draws = draws
        self._healthy = healthy
        self._draw = np.array([v.draw for v in variants], dtype=np.intp)
        self._spots = _spots(variants)

    def of(self, part: str) -> Values:
        """Return the values of a part on each variant, shape (variants,), with its fault's ``severity``."""
        owner = self._parts[part]
        healthy = values_by_draw(owner, self._draws) if self._healthy is None else self._healthy[part]
        return _values_of_rows(owner, self._draw, self._draws, self._spots.get(part, ()), healthy)


def values_by_draw(part: Part, draws: int) -> Values:
    """Return the healthy values of a part, each of shape (1 + draws,)."""
    return evaluate_values(part.kind, part.given, _deviates(part, draws), {}, 1 + draws)


def evaluate_values(
    kind: Kind,
    given: Mapping[str, float],
    deviates: Mapping[str, Array],
    overrides: Mapping[str, Array],
    size: int,
) -> dict[str, Array]:
    """Return all values of a part: overridden, else given or by default and then moved within tolerance."""
    done: dict[str, Array] = {}
    for name in values_in_order(kind.values):
        spec = kind.values[name]
        if name in overrides:
            done[name] = np.array(overrides[name], dtype=np.float64)
            continue
        if name in given:
            centre = np.full(size, given[name])
        elif spec.default is None:
            raise AssertionError(f"{kind.name}: {name} has neither a value nor a default")
        else:
            centre = np.broadcast_to(spec.default(done, kind.curves), (size,))
        off = deviates[name]
        done[name] = centre * (1.0 + spec.tolerance * off) + spec.spread * off
        if spec.low is not None or spec.high is not None:
            done[name] = np.clip(done[name], spec.low, spec.high)
    return done


def _deviates(part: Part, draws: int) -> Mapping[str, Array]:
    """Return a deviate in -1 .. 1 for each value and draw; draw 0 is the nominal 0."""
    names = tuple(part.kind.values)
    keys = np.array([_hash_text(f"{part.id}/{name}") for name in names], dtype=np.uint64)
    return dict(zip(names, _hypercube(keys, draws), strict=True))


def _hypercube(keys: NDArray[np.uint64], draws: int) -> Array:
    if draws == 0:
        return np.zeros((len(keys), 1))
    number = np.arange(1, draws + 1, dtype=np.uint64)[None, :]
    shuffle = mixed(keys[:, None] * np.uint64(0x9E3779B97F4A7C15) + number)
    stratum = np.argsort(np.argsort(shuffle, axis=1), axis=1)
    inside = mixed(shuffle).astype(np.float64) / 2.0**64
    spread = 2.0 * (stratum + inside) / draws - 1.0
    return np.concatenate([np.zeros((len(keys), 1)), spread], axis=1)


def _hash_text(text: str) -> int:
    value = 0xCBF29CE484222325
    for byte in text.encode():
        value = ((value ^ byte) * 0x100000001B3) & 0xFFFFFFFFFFFFFFFF
    return value


def mixed(x: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Return well mixed integers (the finaliser of the splitmix64 generator, from memory)."""
    x = (x ^ (x >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    x = (x ^ (x >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return x ^ (x >> np.uint64(31))


def _parameters(element: Element, network: Network, values: Values) -> Mapping[str, Array]:
    if is_moved(element):
        return {}
    curves = network.parts[element.part].kind.curves
    return {name: formula(values, curves) for name, formula in element.parameters.items()}


def _presence(
    network: Network, size: int, spots: Mapping[str, Sequence[_Spot]]
) -> tuple[Flags, NDArray[np.int8]]:
    present = np.ones((len(network.elements), size), dtype=np.bool_)
    for i, element in enumerate(network.elements):
        if element.fault is not None:
            present[i] = False
        for modes, where, _ in spots.get(element.part, ()):
            if element.fault in modes:
                present[i, where] = True
            if element.opened_by & set(modes):
                present[i, where] = False
    forced = np.zeros((len(network.conditions), size), dtype=np.int8)
    for c, condition in enumerate(network.conditions):
        kind = network.parts[condition.part].kind
        for modes, where, _ in spots.get(condition.part, ()):
            for mode in modes:
                forced[c, where] += _force(kind.faults[mode], condition.name)
    return present, forced


def _force(fault: FaultSpec, condition: str) -> int:
    return (condition in fault.always) - (condition in fault.never)


def _thresholds(network: Network, values: Mapping[str, Values], size: int, *, upper: bool) -> Array:
    out = np.empty((len(network.conditions), size))
    for c, condition in enumerate(network.conditions):
        formula = condition.on if upper else condition.off
        out[c] = formula(values[condition.part], network.parts[condition.part].kind.curves)
    return out
