"""What signs show on some cells is what they show on all, and none that could tell enough is left out."""

import numpy as np
import pytest

from assistant.circuit import BoatState
from assistant.diagnosis.candidates import looks
from assistant.diagnosis.choose import Field, sign_gain, sign_gains
from assistant.diagnosis.table import FaultTable
from tests.diagnosis.boats import SMEW, diagnosis_of, network_of, ready, unplugged


@pytest.fixture(scope="module")
def table() -> FaultTable:
    return diagnosis_of(SMEW).table


@pytest.mark.parametrize("state", [ready(SMEW), unplugged(SMEW)])
@pytest.mark.parametrize("least_bits", [0.0, 0.1, 0.6])
def test_signs_tell_of_some_cells_what_they_tell_of_all(
    table: FaultTable, state: BoatState, least_bits: float
) -> None:
    there = table.state(state)
    random = np.random.default_rng(1)
    queries = list(looks(network_of(SMEW).boat, state))
    for _ in range(12):
        size = int(random.integers(2, 12))
        cells = random.choice(len(table.cells.owner), size, replace=False)
        found = there.glimpses.telling(cells, least_bits)
        weights = random.random((size, table.cells.draws))
        field = Field(cells, weights / weights.sum(), np.arange(size), size)
        gains = dict(zip(found, sign_gains(field, list(found.values())), strict=True))
        for query in queries:
            if query in found:
                assert np.array_equal(found[query], there.levels(query)[:, cells])
            gain = sign_gain(table, field, query)
            assert gains.get(query, 0.0) == pytest.approx(gain, abs=1e-12) or gain < least_bits
