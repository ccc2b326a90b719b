"""Values in the order of their needs."""

import pytest

from assistant.catalogue import nominal_values, values_in_order
from assistant.errors import KnowledgeError
from tests.catalogue.test_load_catalogue import load


def test_values_come_after_what_they_need() -> None:
    order = values_in_order(load().values)
    assert sorted(order) == ["bridge_ohm", "stall_a", "suppressor", "winding_ohm"]
    assert order.index("stall_a") < order.index("winding_ohm")


def test_given_values_win_over_defaults() -> None:
    values = nominal_values(load(), {"stall_a": 36.0, "bridge_ohm": 0.02})
    assert values == pytest.approx(
        {"stall_a": 36.0, "bridge_ohm": 0.02, "winding_ohm": 0.1, "suppressor": 0.0}
    )


def test_missing_value_is_named() -> None:
    with pytest.raises(KnowledgeError, match="stall_a"):
        nominal_values(load(), {})
