"""Values of a part: in which order their formulas can be worked out, and their nominal numbers."""

from __future__ import annotations

from collections.abc import Mapping
from graphlib import CycleError, TopologicalSorter

import numpy as np

from assistant.catalogue.model import Kind, ValueSpec
from assistant.errors import KnowledgeError


def values_in_order(values: Mapping[str, ValueSpec]) -> tuple[str, ...]:
    """Return the names of `values` so that each comes after those its default needs.

    Raises
    ------
    KnowledgeError
        When defaults need each other in a circle; the message names it.
    """
    needs = {
        name: sorted(spec.default.names & values.keys()) if spec.default else ()
        for name, spec in values.items()
    }
    try:
        return tuple(TopologicalSorter(needs).static_order())
    except CycleError as error:
        circle = " needs ".join(reversed(error.args[1]))
        raise KnowledgeError(
            value=circle, reason="defaults need each other in a circle", next_step="give one of them a number"
        ) from error


def nominal_values(kind: Kind, given: Mapping[str, float]) -> dict[str, float]:
    """Return all values of a part of `kind` in SI units: those given, and the defaults of the rest.

    Raises
    ------
    KnowledgeError
        When a value without default is not given.
    """
    found: dict[str, float] = {}
    for name in values_in_order(kind.values):
        default = kind.values[name].default
        if name in given:
            found[name] = given[name]
        elif default is None:
            raise KnowledgeError(
                value=name, place=kind.name, reason="value has no default", next_step="give it"
            )
        else:
            with np.errstate(all="ignore"):
                found[name] = float(default(found, kind.curves))
    return found
