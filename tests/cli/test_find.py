import json
import os
import re
import signal
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

from assistant.circuit import Fault
from assistant.console import prompt_words
from assistant.dialogue import Conclude, Ending
from assistant.records import CaseStore
from tests.cli.person import Person
from tests.cli.program import PROGRAM, run
from tests.console.screen import ROOT, Seated

SYMPTOM = "pumps-not-running"
BLOWN = Fault(part="fuse", mode="open")


def person() -> Person:
    return Person("dabchick", SYMPTOM, BLOWN)


def find(cases: Path, *more: str) -> list[str]:
    return [
        "find",
        "dabchick",
        "--symptom",
        SYMPTOM,
        "--cases",
        str(cases),
        "--now",
        "2025-06-14T09:30:00+02:00",
        *more,
    ]


@cache
def whole_case() -> tuple[str, ...]:
    """Return all the answers of a case in which the fuse is found, mended and proved mended."""
    someone = person()
    answers: list[str] = []
    while someone.ask is not None:
        answers.append(someone.answer())
    end = someone.session.events[-1]
    assert isinstance(end, Conclude)
    assert end.ending is Ending.MENDED
    assert [repair.place for repair in end.done] == ["fuse"]
    return tuple(answers)


@pytest.mark.parametrize(("columns", "rows"), [(40, 20), (80, 24)])
def test_a_whole_case_at_a_real_terminal(columns: int, rows: int, tmp_path: Path) -> None:
    someone = person()
    with Seated([*PROGRAM, *find(tmp_path)], columns=columns, rows=rows) as seat:
        number = 1
        while (ask := someone.ask) is not None:
            seat.prompted(prompt_words(ask).strip())
            seat.asks(number)
            if ask.measurement is not None:
                top = next(n for n, line in enumerate(seat.lines) if line.startswith(f"── {number} "))
                screen = "\n".join(seat.lines[top:])
                assert all(f"\n{word}" in screen for word in ("red ", "black ", "meter ", "expect "))
                assert "suspects" in screen
            seat.answers(someone.answer())
            number += 1
        assert seat.ends() == 0
        seat.sees("it is proved")
        seat.sees("Kept as dabchick-2025-06-14-1.")
    recorded = CaseStore(tmp_path).read("dabchick-2025-06-14-1")
    assert tuple(entry["answer"] for entry in recorded.entries) == whole_case()
    assert recorded.closing is not None
    assert (recorded.closing.outcome, recorded.closing.text) == ("mended", "replace fuse")


def test_a_whole_case_through_a_pipe(tmp_path: Path) -> None:
    done = run(find(tmp_path), "\n".join([*whole_case(), ""]))
    assert (done.returncode, done.stderr) == (0, "")
    assert "it is proved" in " ".join(done.stdout.split())
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert "\x1b" not in done.stdout


def test_a_whole_case_on_a_dumb_terminal(tmp_path: Path) -> None:
    someone = person()
    with Seated([*PROGRAM, *find(tmp_path)], columns=40, rows=20, term="dumb") as seat:
        while (ask := someone.ask) is not None:
            seat.prompted(prompt_words(ask).strip())
            seat.answers(someone.answer())
        assert seat.ends() == 0
        assert b"\x1b" not in seat.raw


def test_a_whole_case_by_the_line_protocol(tmp_path: Path) -> None:
    lines = [json.dumps({"answer": answer}) for answer in ["nonsense", *whole_case()]]
    done = run(find(tmp_path, "--lines"), "\n".join(["{", *lines, ""]))
    events = [json.loads(line) for line in done.stdout.splitlines()]
    assert done.returncode == 0
    assert {event["event"] for event in events} == {"ask", "show", "warn", "conclude"}
    assert [repair["place"] for repair in events[-1]["done"]] == ["fuse"]
    readings = [event for event in events if event.get("reading")]
    assert readings
    assert all(
        {"red", "black", "function"} <= event["reading"].keys() and event["band"] for event in readings
    )


def test_the_word_lesson_tells_the_idea_with_numbers(tmp_path: Path) -> None:
    words = [word for answer in whole_case() for word in ("lesson", answer)]
    lines = [json.dumps({"answer": word}) for word in words]
    done = run(find(tmp_path, "--lines"), "\n".join([*lines, ""]))
    events = [json.loads(line) for line in done.stdout.splitlines()]
    offered = {event["lesson"] for event in events if event["event"] == "ask"}
    told = [event["text"] for event in events if event["id"].endswith(".lesson")]
    assert "volt-drop" in offered
    assert any(re.search(r"\nExample: .*\d V", text) for text in told)
    assert not any("{" in text for text in told)


def test_what_calls_for_stopping_at_once_is_first_on_the_list(tmp_path: Path) -> None:
    done = run(["find", "dabchick", "--lines", "--cases", str(tmp_path)], "", folder=tmp_path)
    asked = next(json.loads(line) for line in done.stdout.splitlines() if '"ask"' in line)
    assert asked["id"] == "symptom"
    assert [option["key"] for option in asked["options"]].index("something-hot") == 0


def test_boat_and_symptom_can_be_chosen_by_the_line_protocol(tmp_path: Path) -> None:
    answers = [
        '{"answer": "dabchick"}',
        '{"answer": "what?"}',
        f'{{"answer": "{SYMPTOM}"}}',
        '{"answer": "save"}',
        "",
    ]
    done = run(["find", "--lines", "--cases", str(tmp_path)], "\n".join(answers), folder=tmp_path)
    asked = [json.loads(line)["id"] for line in done.stdout.splitlines() if '"ask"' in line]
    assert done.returncode == 0
    assert asked[:3] == ["boat", "symptom", "symptom"]
    assert asked[3].startswith("n00.")


def test_killed_in_the_middle_resume_goes_on_where_it_stopped(tmp_path: Path) -> None:
    answers, someone = whole_case(), person()
    with Seated([*PROGRAM, *find(tmp_path)], columns=80, rows=24) as seat:
        for _ in range(6):
            assert someone.ask is not None
            seat.prompted(prompt_words(someone.ask).strip())
            seat.answers(someone.answer())
        assert someone.ask is not None
        seat.prompted(prompt_words(someone.ask).strip())
        seat.types("half an answ")
        seat.child.kill(signal.SIGKILL)
        seat.until(lambda: not seat.child.isalive())
    done = run(["resume", "--cases", str(tmp_path)], "\n".join([*answers[6:], ""]))
    assert (done.returncode, done.stderr) == (0, "")
    assert "Question 7:" in done.stdout
    assert "Question 6:" not in done.stdout
    flat = " ".join(done.stdout.split())
    assert "Dabchick: Pumps or motors do not run." in flat
    assert (
        "The boat has to stand as you left it: transmitter: on; pack plug: plugged in; switch lever: on;"
        in flat
    )
    recorded = CaseStore(tmp_path).read("dabchick-2025-06-14-1")
    assert tuple(entry["answer"] for entry in recorded.entries) == answers


def test_killed_after_any_answer_nothing_taken_is_lost(tmp_path: Path) -> None:
    answers = whole_case()[:-1]
    name = "dabchick-2025-06-14-1"
    program = [sys.executable, *PROGRAM, *find(tmp_path, "--lines")]
    for turn in range(0, len(answers), 5):
        talk = subprocess.Popen(program, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT)
        assert talk.stdin is not None
        assert talk.stdout is not None
        # What came before is told anew by the resumed program up to its question.
        while json.loads(talk.stdout.readline())["event"] != "ask":
            pass
        for answer in answers[turn : turn + 5]:
            talk.stdin.write(json.dumps({"answer": answer}) + "\n")
            talk.stdin.flush()
            while json.loads(talk.stdout.readline())["event"] != "ask":
                pass
        os.kill(talk.pid, signal.SIGKILL)
        talk.wait()
        talk.stdin.close()
        talk.stdout.close()
        kept = tuple(entry["answer"] for entry in CaseStore(tmp_path).read(name).entries)
        assert kept == answers[: turn + 5]
        program = [sys.executable, *PROGRAM, "resume", name, "--lines", "--cases", str(tmp_path)]


def test_ctrl_d_saves_and_says_how_to_go_on(tmp_path: Path) -> None:
    with Seated([*PROGRAM, *find(tmp_path)], columns=80, rows=24) as seat:
        seat.prompted("1 yes, 2 no >")
        seat.types("y\x04")
        assert seat.ends() == 0
        seat.sees("To go on: leadline resume dabchick-2025-06-14-1 --cases")


def test_input_that_ends_in_the_middle_is_said_and_nothing_is_lost(tmp_path: Path) -> None:
    done = run(find(tmp_path), "yes\nye")
    assert done.returncode == 2
    assert "leadline resume dabchick-2025-06-14-1" in done.stderr
    assert [entry["answer"] for entry in CaseStore(tmp_path).read("dabchick-2025-06-14-1").entries] == [
        "yes",
        "ye",
    ]


def test_no_word_asks_what_is_wrong_from_the_boats_it_finds(tmp_path: Path) -> None:
    (tmp_path / "teal.yaml").write_text(
        (ROOT / "cases" / "dabchick.yaml").read_text().replace("Dabchick", "Teal")
    )
    done = run(["--cases", "kept"], "teal\npumps-not-running\nyes\n", folder=tmp_path)
    assert "Which boat?" in done.stdout
    assert "1  Teal (Enter)" in done.stdout
    assert "Dabchick: example" in done.stdout
    assert "What is wrong?" in done.stdout
    assert (
        CaseStore(tmp_path / "kept").read("teal-" + done.stderr.split("teal-")[1].split()[0]).header.boat
        == "Teal"
    )


def test_an_unfinished_case_is_offered_first(tmp_path: Path) -> None:
    run(find(tmp_path), "yes\n")
    done = run(["--cases", str(tmp_path)], "\n", folder=tmp_path)
    assert "1  go on with dabchick-2025-06-14-1: 1 answers so far (Enter)" in done.stdout
    assert "Question 2:" in done.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["find", "dabchik"], "no such boat; did you mean dabchick?"),
        (["find", "swan"], "no such boat; name a file, or one of"),
        (["find", "broken.yaml", "--symptom", SYMPTOM], "broken.yaml:3:"),
        (["find", "binary.yaml", "--symptom", SYMPTOM], "binary.yaml:2: these bytes are no UTF-8 text"),
        (["find", "."], "no such boat"),
        (
            ["find", "dabchick", "--symptom", "flies"],
            "no such symptom, or none of what it is about on this boat; use one of something-hot",
        ),
        (["find", "dabchick", "--symptom", "relay-clicking"], "none of what it is about on this boat"),
        (
            ["find", "dabchick", "--symptom", SYMPTOM, "--cases", "binary.yaml"],
            "name another folder with --cases",
        ),
        (["find", "dabchick", "--now", "tomorrow"], "write it as 2025-06-14T09:30:00+02:00"),
        (["find", "dabchick", "--seed", "x"], "invalid int value"),
        (["find", "dabchick"], "Left before anything was begun"),
        (["resume", "--cases", "none"], "there is no unfinished case; `leadline find` begins one"),
        (["resume", "x", "--cases", "none"], "there is no such case"),
        (["resume", "../x", "--cases", "."], "there is no such case"),
    ],
)
def test_trouble_is_told_with_its_place_and_the_next_step(
    words: list[str], said: str, tmp_path: Path
) -> None:
    (tmp_path / "broken.yaml").write_text("boat: Broken\nparts:\n  pack: {kind: nimh pak}\nruns: []\n")
    (tmp_path / "binary.yaml").write_bytes(b"boat: Binary\n\xff\xfe\x00")
    done = run(words, folder=tmp_path)
    assert done.returncode == 2
    assert said in " ".join(done.stderr.split())


def test_a_damaged_case_is_named_by_line_and_left_alone(tmp_path: Path) -> None:
    run(find(tmp_path), "yes\nyes\n")
    file = tmp_path / "dabchick-2025-06-14-1.case.jsonl"
    lines = file.read_bytes().splitlines(keepends=True)
    damaged = b"".join([lines[0], lines[1].replace(b"yes", b"no"), lines[2]])
    file.write_bytes(damaged)
    done = run(["resume", "dabchick", "--cases", str(tmp_path)])
    assert done.returncode == 2
    assert "case.jsonl, line 2: its check does not fit" in done.stderr
    assert file.read_bytes() == damaged
    listed = run(["resume", "--cases", str(tmp_path)])
    assert "Left out:" in listed.stdout
    assert "no unfinished case" in listed.stderr


def test_a_case_open_in_one_program_is_refused_in_another(tmp_path: Path) -> None:
    with Seated([*PROGRAM, *find(tmp_path)], columns=80, rows=24) as seat:
        seat.prompted("1 yes, 2 no >")
        done = run(["resume", "--cases", str(tmp_path)], "yes\n")
        assert done.returncode == 2
        assert "open in another program" in done.stderr
        seat.answers("yes")
        seat.sees("── 2 ")


def test_other_knowledge_is_said_when_it_still_fits(tmp_path: Path) -> None:
    run(find(tmp_path), "yes\n")
    store = CaseStore(tmp_path)
    old = store.read("dabchick-2025-06-14-1")
    older = CaseStore(tmp_path / "older")
    name, journal = older.begin(
        type(old.header)(
            **{field: getattr(old.header, field) for field in old.header.__dataclass_fields__}
            | {"knowledge": "0" * 64}
        )
    )
    with journal:
        for entry in old.entries:
            journal.append(entry)
    done = run(["resume", name, "--cases", str(older.folder)], "yes\n")
    assert "The knowledge has changed since this case was begun" in " ".join(done.stdout.split())
    assert "Question 2:" in done.stdout


def test_killed_between_the_last_answer_and_the_closing_resume_closes_the_case(tmp_path: Path) -> None:
    run(find(tmp_path), "no\n")
    name = "dabchick-2025-06-14-1"
    file = tmp_path / f"{name}.case.jsonl"
    lines = file.read_bytes().splitlines(keepends=True)
    assert CaseStore(tmp_path).read(name).closing is not None
    file.write_bytes(b"".join(lines[:-1]))
    assert CaseStore(tmp_path).read(name).closing is None
    assert run(["resume", name, "--cases", str(tmp_path)]).returncode == 0
    closing = CaseStore(tmp_path).read(name).closing
    assert closing is not None
    assert closing.outcome == "stopped"
