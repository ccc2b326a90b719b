"""A few of the troubles that really happened; ``python -m tests.field`` plays them all."""

from pathlib import Path

import pytest

from assistant.cli.workbench import Workbench, open_workbench
from assistant.records import knowledge_files
from assistant.wiring import load_boat
from tests.field.play import MOST_IN_A_GROUP, play
from tests.field.report import FOLDER, read, reports

PLAYED = ("fr01", "fr02", "fr07")


@pytest.fixture(scope="module")
def bench() -> Workbench:
    return open_workbench()


@pytest.mark.parametrize("name", PLAYED)
def test_the_cause_is_named_and_no_other_part_alone(bench: Workbench, name: str) -> None:
    (report,) = reports([name])
    row = play(bench, report)
    assert row.found, (row.ending, row.named)
    assert len(row.named) <= MOST_IN_A_GROUP
    assert row.wrong == ()


@pytest.mark.parametrize("left_out", PLAYED[:2])
def test_taking_a_report_out_changes_no_other_row(bench: Workbench, tmp_path: Path, left_out: str) -> None:
    """Played from a folder without it, by knowledge that never saw it, the others go as they go with it."""
    for file in FOLDER.glob("*.yaml"):
        if file.stem in PLAYED and file.stem != left_out:
            (tmp_path / file.name).write_text(file.read_text(encoding="utf-8"), encoding="utf-8")
    without = [play(open_workbench(), report) for report in reports(folder=tmp_path)]
    together = [play(bench, report) for report in reports(PLAYED)]
    assert without == [row for row in together if row.report.name != left_out]


def test_no_knowledge_names_a_report() -> None:
    """What the tool knows holds for every boat: no name of a report or of its boat is in it."""
    texts = "\n".join(knowledge_files().values())
    for report in reports():
        boat = next(line for line in report.wiring.splitlines() if line.startswith("boat: "))
        assert report.name not in texts
        assert report.title not in texts
        assert f"boat: {boat.removeprefix('boat: ')}" not in texts


def test_what_the_tool_cannot_have_been_told_does_not_help_it(bench: Workbench) -> None:
    """The true cause goes to the virtual boat and to the score, not to the diagnosis: told lines alone rank it."""
    (report,) = reports(["fr02"])
    text = (FOLDER / "fr02.yaml").read_text(encoding="utf-8")
    other = read(
        "fr02", text.replace("{place: fuse, mode: corroded, severity: 3}", "{place: pump, mode: open}")
    )
    right, wrong = play(bench, report), play(bench, other)
    assert right.rank == 1
    assert wrong.rank > 1
    assert wrong.probability < 0.05 < right.probability


def test_every_report_is_complete() -> None:
    for report in reports():
        assert report.note, report.name
        assert report.told or report.touched, report.name


def test_every_report_can_be_loaded_and_told(bench: Workbench) -> None:
    """Each wiring is sound, each cause is a fault that the place can have, each line told has its points and state."""
    for report in reports():
        boat = load_boat(report.wiring, report.name, bench.catalogue)
        assert report.symptom in bench.knowledge.symptoms, report.name
        assert all(cause.mode in boat.parts[cause.place].kind.faults for cause in report.causes), report.name
        assert all(line.startswith("told ") for line in report.lines(boat)), report.name
