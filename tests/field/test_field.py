"""A few of the troubles that really happened; ``python -m tests.field`` plays them all."""

import pytest

from assistant.cli.workbench import Workbench, open_workbench
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


def test_a_report_stands_alone(bench: Workbench) -> None:
    """The row of a report is the same when others are played before it, and when they are not there."""
    first, second = reports(PLAYED[:2])
    alone = play(bench, second)
    play(bench, first)
    assert play(bench, second) == alone


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
