"""`leadline drill` as people and programs start it."""

import json

from tests.cli.program import run

CODE = "1-3T-0000-P"


def test_a_drill_in_plain_lines_ends_with_a_debrief() -> None:
    done = run(["drill", "--code", CODE, "--plain"], "clear\nvolts fuse out\nend\n")
    assert done.returncode == 0, done.stderr
    assert f"Drill {CODE} on Dabchick" in done.stdout
    assert "Mark: " in done.stdout
    assert "Hidden was:" in done.stdout
    assert "Best path:" in done.stdout


def test_a_program_gets_all_it_needs_as_json() -> None:
    typed = "".join(json.dumps({"answer": one}) + "\n" for one in ("clear", "volts pack.+ pack.-", "end"))
    done = run(["drill", "--code", CODE, "--lines"], typed)
    events = [json.loads(line) for line in done.stdout.splitlines()]
    assert done.returncode == 0
    assert "pack.+" in events[0]["points"]
    reading = next(event for event in events if event["id"] == "reading")
    assert 5.0 < reading["value"] < 10.0
    assert next(event for event in events if event["id"] == "mark")["worth"]
    assert events[-1]["event"] == "conclude"
    assert events[-1]["passed"] is False


def test_the_meter_at_hand_is_the_one_that_is_named() -> None:
    typed = "clear\nduty pump + pump -\n"
    cheap = run(["drill", "--code", CODE, "--plain", "--feedback", "none"], typed)
    better = run(["drill", "--code", CODE, "--plain", "--feedback", "none", "--meter", "better-meter"], typed)
    assert "This meter does not read duty." in cheap.stdout
    assert "Duty pump + to pump -: 0 %." in better.stdout
    assert run(["drill", "--code", CODE, "--meter", "no-such-meter"]).returncode == 2


def test_a_slip_in_a_code_is_told() -> None:
    done = run(["drill", "--code", "1-3T-0000-Q", "--plain"])
    assert done.returncode == 2
    assert "slip" in done.stderr


def test_input_that_ends_early_leaves_with_a_code_of_its_own() -> None:
    assert run(["drill", "--code", CODE, "--lines"], "not json\n").returncode == 2
