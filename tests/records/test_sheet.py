import json
from dataclasses import replace

import pytest

from assistant.records import (
    Remark,
    RemarkKind,
    cells_of,
    replay,
    sections_of,
    sheet_json,
    sheet_markdown,
    sheet_of,
)
from tests.records.examples import (
    AT,
    DABCHICK,
    GREBE,
    STORE,
    again,
    answers_until,
    dabchick_case,
    dabchick_setup,
    dabchick_sheet,
    sheet,
)

NOTED = [*answers_until("repair"), "bench"]


def remark(kind: RemarkKind, text: str, place: str = "") -> Remark:
    return Remark(kind=kind, text=text, place=place, at=AT)


def test_a_mended_case_says_what_was_made_and_asks_nothing_more() -> None:
    found = sheet(DABCHICK)
    assert found.headline == "Mended and proved: replace fuse."
    assert (found.steps, found.proof, found.bring, found.unknown) == ((), (), (), ())
    assert found.done == ("replace fuse",)
    assert "(mended)" in found.suspects[0].says


def test_every_reading_and_sign_is_in_the_table_in_order() -> None:
    found, case = sheet(DABCHICK), again(DABCHICK)
    assert len(found.rows) == len(case.evidence)
    assert [row.number for row in found.rows] == list(range(1, len(found.rows) + 1))
    supply = next(row for row in found.rows if row.red == "drive +")
    assert (supply.at, supply.state, supply.black, supply.band) == ("09:30", "running", "drive -", "none")
    assert supply.expect.endswith(" V")
    assert "in question; most: " in supply.effect
    assert found.rows[-1].effect == "after the repair"


def test_a_noted_case_tells_the_bench_what_to_do() -> None:
    found = dabchick_sheet(NOTED)
    assert found.headline.startswith("To mend: fuse: fuse blown")
    assert found.bring[0] == "fuse: blade fuse, rated current 15 A"
    assert found.steps[0].text.startswith("Unplug pack")
    mend = next(step for step in found.steps if step.text.startswith("Fuse: "))
    assert any("Same fuse rating" in text for text in mend.cautions)
    assert any("Unplug every pack" in text for text in found.steps[0].cautions)
    proof = [step.text for step in found.proof]
    assert "A healthy boat: " in proof[0]
    assert "must be gone" in proof[-1]
    assert any("propellers" in text for text in found.proof[0].cautions)


def test_a_joint_takes_what_its_kind_and_gauge_need() -> None:
    found = sheet(GREBE)
    assert "plug at port drive -" in found.headline
    assert found.bring[0] == "plug contacts for 14 AWG, both halves"
    assert found.suspects[0].ends == ("minus.x", "port-drive.-")


def test_an_unfinished_case_says_where_it_stopped() -> None:
    found = dabchick_sheet(answers_until("supply"))
    assert found.headline == "The hunt is not finished."
    assert any("red probe on drive +" in text for text in found.unknown)
    assert "Nothing was measured; all this rests on what was seen and heard." in found.unknown
    assert found.steps == ()


def test_a_stopped_case_accuses_nothing() -> None:
    found = dabchick_sheet(["no"])
    assert found.headline.startswith("Stopped for safety")
    assert (found.suspects, found.rows, found.steps) == ((), (), ())


def test_a_temporary_repair_is_to_be_undone_with_its_hazard() -> None:
    bridged = remark(RemarkKind.TEMPORARY, "holder bridged with a wire", "fuse")
    found = dabchick_sheet(NOTED, [bridged])
    assert [(one.place, one.undone) for one in found.undo] == [("fuse", "")]
    assert "No fuse protects the wire" in found.undo[0].hazard
    assert any(step.text.startswith("Undo the temporary repair at fuse") for step in found.steps)
    assert sections_of(found)[0].title == "Undo at the bench"
    undone = dabchick_sheet(NOTED, [bridged, remark(RemarkKind.UNDONE, "new holder", "fuse")])
    assert undone.undo[0].undone == AT
    assert not any(step.text.startswith("Undo") for step in undone.steps)


def test_a_temporary_repair_can_be_noted_during_the_hunt() -> None:
    found = dabchick_sheet(["note Temporary: Switch bridged with a clip", *NOTED])
    assert [(one.place, one.text) for one in found.undo] == [("switch", "Switch bridged with a clip")]
    assert "cannot be switched off" in found.undo[0].hazard


def test_a_temporary_repair_hangs_on_even_when_the_boat_is_mended() -> None:
    found = dabchick_sheet(None, [remark(RemarkKind.TEMPORARY, "twisted together", "drive.A--pump.+@2")])
    assert any(step.text.startswith("Undo the temporary repair at ") for step in found.steps)
    assert "works loose" in found.undo[0].hazard


def test_remarks_say_who_measured_with_what_and_what_was_mended() -> None:
    found = dabchick_sheet(
        NOTED,
        [
            remark(RemarkKind.WHO, "the pond crew"),
            remark(RemarkKind.METER, "the yellow meter"),
            remark(RemarkKind.NOTE, "rain"),
            remark(RemarkKind.MENDED, "new fuse", "fuse"),
        ],
    )
    assert (found.who, found.meter) == ("the pond crew", "the yellow meter")
    assert found.notes == ("2025-06-20 18:00: rain",)
    assert found.headline.startswith(
        "Mended, not proved in this case: at the bench, 2025-06-20 18:00: fuse, new fuse."
    )
    assert "fuse" not in {one.place for one in found.suspects}


def test_what_was_mended_at_the_bench_is_no_longer_to_do() -> None:
    every = [remark(RemarkKind.MENDED, "new", place) for place in ("fuse", "pump")]
    found = dabchick_sheet(NOTED, every)
    assert found.headline.startswith("Mended, not proved in this case: at the bench, ")
    assert (found.steps, found.proof, found.bring) == ((), (), ())


def test_other_knowledge_is_said() -> None:
    case = again(DABCHICK)
    assert sheet(DABCHICK).warnings == ()
    (warning,) = sheet_of("x", case, knowledge="other").warnings
    assert "other knowledge" in warning
    assert "every answer still fits" in warning


def test_a_replay_in_part_is_said() -> None:
    contents = STORE.read(DABCHICK)
    entries = tuple(
        {**entry, "digest": "0" * 12} if n == 5 else entry for n, entry in enumerate(contents.entries)
    )
    case = replay(replace(contents, entries=entries), dabchick_setup())
    assert any("only in part: answer 6" in text for text in sheet_of("x", case, knowledge="").warnings)


def test_the_json_holds_every_field_and_the_picture() -> None:
    data = json.loads(sheet_json(sheet(GREBE)))
    assert data["form"] == 1
    assert data["headline"] == sheet(GREBE).headline
    assert len(data["rows"]) == len(sheet(GREBE).rows)
    assert data["picture"].startswith("<svg ")


@pytest.mark.parametrize("name", [DABCHICK, GREBE])
def test_the_markdown_holds_every_section_and_reading(name: str) -> None:
    text = sheet_markdown(sheet(name))
    for section in sections_of(sheet(name)):
        assert f"## {section.title}" in text
    table = [line for line in text.splitlines() if line.startswith("| ")]
    assert len(table) == 2 + len(sheet(name).rows)
    assert {line.count(" | ") for line in table} == {len(cells_of(sheet(name).rows[0])) - 1}


def test_markup_in_notes_stays_words_in_markdown() -> None:
    text = sheet_markdown(dabchick_sheet(["note <img src=x> | *now* `rm`", "no"]))
    assert r"\<img src=x\> \| \*now\* \`rm\`" in text


def test_notes_of_the_hunt_are_kept() -> None:
    case = replay(dabchick_case(["note sand in the pump", "no"]), dabchick_setup())
    assert sheet_of("x", case, knowledge="").notes == ("sand in the pump",)
