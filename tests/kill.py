"""Kill the real program at random moments, and see that nothing it acknowledged is lost: ``python -m tests.kill``.

Cases are answered through the line protocol. An answer counts as acknowledged once the program has put a
question after it. A random while after some answer was sent, or after the start, the program is killed in a
way it cannot notice; then the case is read, and the next program goes on with it.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import IO, Final

from assistant.records import CaseStore
from tests.cli.program import PROGRAM

ROOT: Final = Path(__file__).resolve().parents[1]
NAME: Final = "dabchick-2025-06-14-1"
WORDS: Final = (
    "yes",
    "yes",
    "yes",
    "2",
    "1",
    "don't know",
    "why",
    "note it rains",
    "7.6",
    "what?",
    "skip",
    "back",
)
_BEGIN: Final = ("find", "dabchick", "--symptom", "pumps-not-running", "--now", "2025-06-14T09:30:00+02:00")
_MOST_ANSWERS: Final = 14
_WHILE_STARTING: Final = 0.1
_STARTING_S: Final = 1.0
_ANSWERING_S: Final = 0.4


@dataclass(slots=True)
class Tally:
    """Programs killed, answers sent, acknowledged and found on the disk, and cases that had lost any."""

    kills: int = 0
    sent: int = 0
    acknowledged: int = 0
    kept: int = 0
    lost: int = 0


def kill(times: int, seed: int, folder: Path) -> Tally:
    """Kill so many programs, over as many cases as that takes, and return what became of the answers."""
    chance, tally, case = Random(seed), Tally(), 0
    while tally.kills < times:
        case += 1
        _one_case(chance, tally, folder / str(case), times)
    return tally


def _one_case(chance: Random, tally: Tally, folder: Path, times: int) -> None:
    """Go on with one case, program after program, until it is long enough or the kills are used up."""
    kept: Sequence[str] = ()
    while tally.kills < times and len(kept) < _MOST_ANSWERS and not _is_over(folder):
        there = (folder / f"{NAME}.case.jsonl").exists()
        words = ["resume", NAME] if there else [*_BEGIN, "--no-history"]
        sent, acknowledged = _until_killed(chance, words, folder)
        before, kept = kept, _kept(folder)
        tally.kills += 1
        tally.sent += len(sent)
        tally.acknowledged += acknowledged
        tally.kept += len(kept) - len(before)
        new = list(kept[len(before) :])
        whole = list(kept[: len(before)]) == list(before) and new == sent[: len(new)]
        tally.lost += not (whole and len(new) >= acknowledged)


def _kept(folder: Path) -> Sequence[str]:
    if not (folder / f"{NAME}.case.jsonl").exists():
        return ()
    return [str(entry["answer"]) for entry in CaseStore(folder).read(NAME).entries]


def _until_killed(chance: Random, words: Sequence[str], folder: Path) -> tuple[list[str], int]:
    """Send answers to a program and kill it; return what was sent and how much of it was acknowledged."""
    program = [sys.executable, *PROGRAM, *words, "--lines", "--cases", str(folder)]
    sent: list[str] = []
    with subprocess.Popen(
        program, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT
    ) as talk:
        assert talk.stdin is not None
        assert talk.stdout is not None
        asked = 0
        if chance.random() < _WHILE_STARTING:
            time.sleep(chance.uniform(0.0, _STARTING_S))
        else:
            heard = _heard(talk.stdout)
            asked = int(bool(heard))
            for _ in range(chance.randrange(1, 5) if heard == "ask" else 0):
                sent.append(chance.choice(WORDS))
                os.write(talk.stdin.fileno(), (json.dumps({"answer": sent[-1]}) + "\n").encode())
                if chance.random() < 0.5:
                    time.sleep(chance.uniform(0.0, _ANSWERING_S))
                    break
                heard = _heard(talk.stdout)
                asked += bool(heard)
                if heard != "ask":
                    break
        talk.kill()
        while _heard(talk.stdout):
            asked += 1
    return sent, max(asked - 1, 0)


def _heard(out: IO[str]) -> str:
    """Read up to the next question or the end of the hunt; return which, or nothing when no more was said."""
    for line in out:
        event = json.loads(line)["event"] if line.endswith("\n") else ""
        if event in {"ask", "conclude"}:
            return str(event)
    return ""


def _is_over(folder: Path) -> bool:
    there = (folder / f"{NAME}.case.jsonl").exists()
    return there and CaseStore(folder).read(NAME).closing is not None


def main() -> int:
    """Kill as often as asked, print what became of the answers, and return 1 if any acknowledged one is lost."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        tally = kill(arguments.times, arguments.seed, Path(folder))
    print(
        f"{tally.kills} programs killed; {tally.sent} answers sent, {tally.acknowledged} acknowledged, "
        f"{tally.kept} on the disk; cases that lost an acknowledged answer: {tally.lost}"
    )
    return 1 if tally.lost else 0


if __name__ == "__main__":
    sys.exit(main())
