"""Pins of sockets are terminals that a kind need not list."""

import pytest

from assistant.catalogue import Side, slot_of, terminal_of
from tests.wiring.kinds import small_catalogue


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("3+", (3, "+")),
        ("12s", (12, "s")),
        ("1-", (1, "-")),
        ("0s", None),
        ("s", None),
        ("3x", None),
        ("100s", None),
    ],
)
def test_slot_of(name: str, expected: tuple[int, str] | None) -> None:
    assert slot_of(name) == expected


def test_pins_exist_on_kinds_with_sockets_alone() -> None:
    kinds = small_catalogue().kinds
    pin = terminal_of(kinds["receiver"], "3+")
    assert pin is not None
    assert pin.side is Side.POSITIVE
    assert terminal_of(kinds["servo"], "3+") is None
    assert terminal_of(kinds["servo"], "s") is kinds["servo"].terminals["s"]
