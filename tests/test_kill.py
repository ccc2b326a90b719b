import json
from pathlib import Path

import pytest

from assistant.records import CaseStore
from tests import kill as campaign
from tests.kill import NAME, kill


def test_killed_at_random_moments_nothing_acknowledged_is_lost(tmp_path: Path) -> None:
    tally = kill(6, 7, tmp_path)
    assert (tally.kills, tally.lost) == (6, 0)
    assert tally.acknowledged > 0


def test_a_lost_answer_would_be_noticed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def forgetful(folder: Path) -> list[str]:
        return [str(entry["answer"]) for entry in CaseStore(folder).read(NAME).entries][:-1]

    monkeypatch.setattr(campaign, "_kept", forgetful)
    monkeypatch.setattr(campaign, "_WHILE_STARTING", 0.0)
    assert kill(3, 7, tmp_path).lost > 0
    assert json.loads((tmp_path / "1" / f"{NAME}.case.jsonl").read_text().splitlines()[0])
