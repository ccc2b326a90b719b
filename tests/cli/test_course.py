"""`leadline drill --course` as people and programs start it."""

import json
from pathlib import Path

import pytest

from assistant.dialogue import load_knowledge
from assistant.drill import Drill, course_key, issue_for_course
from assistant.errors import CaseError
from assistant.lessons import Attempt
from assistant.records import ProgressStore, knowledge_files
from tests.cli.program import run
from tests.drill.player import Player, diagnosis

LESSON = "one-cheap-meter"
DRILL = load_knowledge(knowledge_files()).lessons[LESSON].drills[0]


class Noted(Drill):
    """A drill that notes what is typed."""

    typed: tuple[str, ...] = ()

    def answer(self, typed: str) -> None:
        self.typed = (*self.typed, typed)
        super().answer(typed)


def best_commands(attempt: int) -> list[str]:
    hidden = issue_for_course(diagnosis(), DRILL, course_key("Ida", LESSON, 1, attempt))
    drill = Noted(diagnosis(), hidden, feedback="none", cautions={})
    Player(drill, hidden).play_best()
    return list(drill.typed)


def take(folder: Path, commands: list[str]) -> list[dict[str, object]]:
    words = ["drill", "--course", "--learner", "Ida", "--feedback", "none", "--lines"]
    typed = "".join(json.dumps({"answer": one}) + "\n" for one in commands)
    done = run([*words, "--progress", str(folder)], typed)
    assert done.returncode == 2, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


def test_a_program_on_the_best_path_passes_the_first_lesson_over_two_starts(tmp_path: Path) -> None:
    first = take(tmp_path, best_commands(0))
    assert [event["passed"] for event in first if event["event"] == "conclude"] == [True]
    assert "passed 1 of 2 times in a row" in str([e for e in first if e["id"] == "course"][-1]["text"])
    second = take(tmp_path, best_commands(1))
    assert "passed 1 of 2 times in a row" in str(second[0]["text"])
    lessons = [event["lesson"] for event in second if event["id"] == "lesson"]
    assert lessons == [LESSON, "volt-drop"]
    assert [e["lessons_passed"] for e in second if e["id"] == "course"] == [0, 1]


def stored(folder: Path, learner: str, *, passed: bool = True) -> Path:
    store = ProgressStore(folder / "kept")
    with store.open(learner) as kept:
        for key in ("a", "b"):
            kept.add(tried(learner, key, passed=passed))
    return store.folder


def tried(learner: str, key: str, *, passed: bool) -> Attempt:
    return Attempt(
        learner=learner, lesson=LESSON, drill=1, key=key, passed=passed, seconds=3.0, best_seconds=2.0
    )


def test_a_torn_last_line_loses_nothing_else_and_is_gone_when_it_goes_on(tmp_path: Path) -> None:
    (file,) = stored(tmp_path, "Ida").iterdir()
    good = file.read_bytes()
    store = ProgressStore(file.parent)
    for cut in range(1, len(good) // 2):
        file.write_bytes(good[:-cut])
        assert [one.key for one in store.attempts("Ida")] == ["a"]
    with store.open("Ida") as kept:
        kept.add(tried("Ida", "c", passed=True))
    assert [one.key for one in store.attempts("Ida")] == ["a", "c"]


def test_one_program_at_a_time_goes_on_with_a_learner(tmp_path: Path) -> None:
    folder = stored(tmp_path, "Ida")
    with ProgressStore(folder).open("Ida"):
        done = run(["drill", "--course", "--learner", "ida", "--plain", "--progress", str(folder)])
        assert done.returncode == 2
        assert "another program" in done.stderr
        assert [one.key for one in ProgressStore(folder).attempts("Ida")] == ["a", "b"]


def test_the_overview_of_two_exported_files_obeys_no_name(tmp_path: Path) -> None:
    folder = stored(tmp_path, "Ida")
    stored(tmp_path, "B\x1b[2Jo", passed=False)
    exported = tmp_path / "ida.jsonl"
    words = ["drill", "--learner", "Ida", "--progress", str(folder), "--export", str(exported)]
    assert run(words).returncode == 0
    assert run(words).returncode == 2
    hostile = next(path for path in folder.iterdir() if path.name.startswith("b"))
    done = run(["drill", "--overview", str(exported), str(hostile)])
    assert done.returncode == 0, done.stderr
    assert "\x1b" not in done.stdout
    _, ida, other = done.stdout.splitlines()
    assert ida.split()[:4] == ["Ida", "1", "of", "14"]
    assert ida.split()[8:12] == ["1.5", "volt-drop,", "drill", "1"]
    assert "one-cheap-meter, drill 1" in other


def test_a_damaged_foreign_or_enormous_file_is_refused(tmp_path: Path) -> None:
    (file,) = stored(tmp_path, "Ida").iterdir()
    good = file.read_bytes()
    for bad, told in (
        (b"\xff\n", "line 3"),
        (b'{"what": 1}\n', "line 3"),
        (good.replace(b"Ida", b"Bo"), "line 3"),
        (b'{"half\n', "line 3"),
        (b"\n" * 5_000_000, "far too big"),
    ):
        file.write_bytes(good + bad)
        with pytest.raises(CaseError, match=told):
            ProgressStore(file.parent).attempts("Ida")
    file.write_bytes(good + b'{"half\n')
    done = run(["drill", "--course", "--learner", "Ida", "--plain", "--progress", str(file.parent)])
    assert done.returncode == 2
    assert "line 3" in done.stderr
