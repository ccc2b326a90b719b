"""Every loader takes its seeds, and what it once stumbled over, without stumbling."""

from pathlib import Path

import pytest

from assistant.errors import CaseError
from tests.fuzz.targets import FOUND, TARGETS, Target

STUMBLES = [path for path in sorted(FOUND.glob("*/*")) if path.is_file()]


@pytest.mark.parametrize("path", STUMBLES, ids=lambda path: f"{path.parent.name}-{path.name[:18]}")
def test_what_was_stumbled_over_is_taken_or_refused(path: Path) -> None:
    TARGETS[path.parent.name].try_(path.read_bytes())


@pytest.mark.parametrize("name", TARGETS)
def test_the_seeds_lead_into_the_loader(name: str) -> None:
    """At least one of them is taken whole; a fuzzer that begins with refusals alone stays outside."""
    taken = 0
    for seed in TARGETS[name].seeds():
        try:
            TARGETS[name].feed(seed)
        except TARGETS[name].raises:
            continue
        taken += 1
    assert taken


@pytest.mark.parametrize("name", TARGETS)
@pytest.mark.parametrize("data", [b"", b"\x00", b"\xff\xfe", b"[" * 3000, b"{" * 3000, b"\n", b"- &a [*a]"])
def test_scraps_are_refused(name: str, data: bytes) -> None:
    TARGETS[name].try_(data)


def test_an_error_of_another_sort_comes_through() -> None:
    def stumble(data: bytes) -> None:
        raise IndexError(len(data))

    target = Target(feed=stumble, raises=CaseError, seeds=lambda: iter(()))
    with pytest.raises(IndexError):
        target.try_(b"x")
