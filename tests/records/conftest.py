from pathlib import Path

import pytest

from assistant.records import Header


@pytest.fixture
def header() -> Header:
    return Header(
        engine="0.1",
        knowledge="ab" * 32,
        boat="Dabchick",
        file="dabchick.yaml",
        wiring="boat: Dabchick\nabout: café, 5 V ± 10 %, \u2028 and \x07\n",
        symptom="pumps-not-running",
        started="2025-06-14T09:30:00+02:00",
        meter=("DC volts", "ohms"),
        seed=7,
    )


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "one.case.jsonl"
