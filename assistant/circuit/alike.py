"""Variants that are alike in a part of the boat, so that one of them shows for all what is to be seen there.

Whatever is wrong elsewhere acts on a feed through the volts of the nodes where it meets the rest alone, and on the rest
through those where feeds meet.  So variants with nothing wrong in a part of the boat, the same conditions and travel
there and the same volts where it ends are the same boat, as far as that part goes: few are different among thousands.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from assistant.circuit.batch import Variant
from assistant.circuit.feeds import Division
from assistant.circuit.network import Network
from assistant.circuit.survey import Survey

Rows = NDArray[np.intp]

REST: Final = -1
"""The number, among those of feeds, of what belongs to none."""

_SAME_V = 1e-6
"""Volts nearer to each other than that are the same: so near are settled ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Alike:
    """Some variants of a survey that stand for all: `columns` are their numbers, `of` the place there of each one's."""

    columns: Rows
    of: Rows


class Likeness:
    """Which variants of a survey are alike in its feeds, and in the rest."""

    def __init__(
        self, network: Network, division: Division, survey: Survey, variants: Sequence[Variant]
    ) -> None:
        """Take the variants of the survey."""
        self._division = division
        self._survey = survey
        self._phases = [survey.phase] if survey.other is survey.phase else [survey.phase, survey.other]
        self._size = len(variants)
        self._draw = np.array([variant.draw for variant in variants])
        feed_of = division.feed_of_part
        self._conditions, self._inputs = (
            np.array([feed_of.get(part, REST) for part in parts], dtype=np.intp)
            for parts in ([c.part for c in network.conditions], [i.part for i in network.inputs])
        )
        self._wrong: dict[int, list[int]] = {}
        for row, variant in enumerate(variants):
            for number in {feed_of.get(fault.part, REST) for fault in variant.faults}:
                self._wrong.setdefault(number, []).append(row)

    @cached_property
    def _ends(self) -> tuple[NDArray[np.int64], Rows]:
        """Return the volts where feeds meet that are different, of each phase, and which of these each variant has."""
        volts = np.stack([np.where(self._survey.failed, 0.0, phase.inner_volts) for phase in self._phases])
        marks = np.rint(volts / _SAME_V).astype(np.int64).reshape(-1, self._size)
        different, which = np.unique(marks, axis=1, return_inverse=True)
        return different.reshape(len(self._phases), -1, different.shape[1]), which.reshape(-1)

    def within(self, numbers: Collection[int], besides: Sequence[NDArray[Any]] = ()) -> Alike:
        """Return variants that stand for all in some feeds, or in the rest; all with a fault there are among them.

        Parameters
        ----------
        besides : what else tells variants apart, shape (variants,) each.
        """
        at = np.isin(self._conditions, sorted(numbers))
        inputs = np.flatnonzero(np.isin(self._inputs, sorted(numbers))).tolist()
        codes = self._ends_of(numbers)
        for row in (
            self._draw,
            self._survey.failed,
            *self._survey.restless[at],
            *(row for phase in self._phases for row in phase.conditions[at]),
            *(phase.travel_of(number) for phase in self._phases for number in inputs),
            *besides,
        ):
            codes = _finer(codes, row)
        wrong = np.array(
            [row for number in sorted(numbers) for row in self._wrong.get(number, ())], dtype=np.intp
        )
        codes[wrong] = codes.max(initial=0) + 1 + np.arange(len(wrong))
        _, columns, of = np.unique(codes, return_index=True, return_inverse=True)
        return Alike(columns=columns, of=of.reshape(-1))

    def _ends_of(self, numbers: Collection[int]) -> Rows:
        """Return a number for each variant, the same for those with the same volts where some feeds end."""
        different, which = self._ends
        if len(numbers) == 1 and REST not in numbers:
            feed = self._division.feeds[min(numbers)]
            different = different[:, np.isin(self._division.inner_nodes, feed.meeting_nodes)]
            flat = different.reshape(-1, different.shape[2])
            which = np.unique(flat, axis=1, return_inverse=True)[1].reshape(-1)[which]
        return which.astype(np.intp)


def _finer(codes: Rows, row: NDArray[Any]) -> Rows:
    """Return numbers that are the same where they were and where the row is."""
    if (row == row[:1]).all():
        return codes
    values, place = np.unique(row, return_inverse=True)
    _, finer = np.unique(codes * len(values) + place.reshape(-1), return_inverse=True)
    return np.asarray(finer.reshape(-1), dtype=np.intp)
