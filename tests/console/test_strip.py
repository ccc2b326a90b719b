from dataclasses import replace

import pytest
from rich.cells import cell_len

from assistant.circuit.expectation import BandName
from assistant.console.strip import strip_lines
from assistant.dialogue import StripRead
from tests.console.samples import NAMES, READING, STRIP, page


def lines(width: int, rows: int = 99, **look: bool) -> list[str]:
    return [
        line.plain for line in strip_lines(STRIP, page(width, **look), probes=READING.measurement, rows=rows)
    ]


def test_it_hangs_on_a_narrow_page_from_pack_to_device() -> None:
    drawn = lines(40)
    assert [name for name, line in zip(NAMES, drawn[1:], strict=True) if name not in line] == []
    assert drawn[1] == "  ╥ pack +      7.8 V  7.9 V   1 %"
    assert drawn[6] == "R ╫ drive +     7.8 V          6 %"
    assert drawn[9].startswith("  ╨ pump -")


def test_it_lies_on_a_wide_page_with_the_doubt_between_its_marks() -> None:
    names, rope, expect, read = lines(120)
    assert [names.index(name) for name in NAMES] == sorted(names.index(name) for name in NAMES)
    assert names.index("fuse in") < rope.index("55 %") < names.index("fuse out")
    assert rope[names.index("drive +")] == "R"
    assert read[names.index("switch in") :].startswith("20 mV none")
    assert expect.count("7.8 V") == len(NAMES)


def test_a_reading_off_its_band_is_marked_without_colour() -> None:
    assert "!20 mV" in lines(40)[4]
    assert "20 mV none" in lines(60)[4]


def test_a_reading_across_a_piece_of_the_feed_stands_at_its_lower_end() -> None:
    across = StripRead(volts=7.5, standing=BandName.HIGH, here=True)
    strip = (*STRIP[:2], replace(STRIP[2], drop=across), *STRIP[3:])
    drawn = {width: [line.plain for line in strip_lines(strip, page(width))] for width in (40, 60)}
    assert "!|7.5 V" in drawn[40][3]
    assert "7.5 V high across" in drawn[60][3]
    spoken = " ".join(line.plain for line in strip_lines(strip, page(80, plain=True)))
    assert "read 7.5 V high across" in spoken
    assert "read 20 mV none" in " ".join(lines(80, plain=True))


@pytest.mark.parametrize("rows", range(3, 12))
def test_short_of_rows_it_keeps_ends_probes_and_readings_and_adds_up_hidden_doubt(rows: int) -> None:
    drawn = lines(40, rows)
    assert len(drawn) <= max(rows, 4)
    if rows < 6:
        assert any("fuse out" in line and "55 %" in line for line in drawn)
    else:
        assert "pack +" in drawn[1]
        assert "pump -" in drawn[-1]
    if rows >= 8:
        assert any(line.startswith("R ╫ drive +") for line in drawn)
        assert any("!20 mV" in line for line in drawn)
    shares = [int(line.split("%")[0].split()[-1]) for line in drawn if "%" in line and "<" not in line]
    assert sum(shares) == pytest.approx(92, abs=2)


def test_a_reading_with_the_boat_set_otherwise_stands_in_brackets() -> None:
    before = StripRead(volts=0.0, standing=BandName.NONE, here=False)
    strip = (*STRIP[:6], replace(STRIP[6], read=before), *STRIP[7:])
    drawn = {width: [line.plain for line in strip_lines(strip, page(width))] for width in (40, 60)}
    assert "(!0 V)" in drawn[40][7]
    assert "(0 V none)" in drawn[60][7]


def test_columns_that_hold_nothing_take_no_room() -> None:
    bare = tuple(replace(point, expected=None, read=None, drop=None) for point in STRIP)
    drawn = [line.plain for line in strip_lines(bare, page(40))]
    assert drawn[0].split() == ["feed", "doubt"]
    assert len(drawn[0]) < len(lines(40)[0])


@pytest.mark.parametrize("width", [30, 36, 40, 60, 80])
def test_no_name_is_cut_and_no_column_runs_into_another(width: int) -> None:
    name = "starboard searchlight converter"
    strip = tuple(replace(point, label=f"{name} {number}") for number, point in enumerate(STRIP))
    drawn = [line.plain for line in strip_lines(strip, page(width))]
    assert max(map(cell_len, drawn)) <= width
    columns = [drawn[0].find(heading) for heading in ("expect", "  read")]
    label = min(column for column in columns if column > 0) - 1
    words = " ".join(line[4:label] for line in drawn[1:]).split()
    assert words == " ".join(point.label for point in strip).split()


def test_a_doubt_about_the_pack_itself_has_its_place_before_the_first_mark() -> None:
    sick = (replace(STRIP[0], suspicion=0.9), *STRIP[1:4])
    names, rope, *_ = [line.plain for line in strip_lines(sick, page(120))]
    assert rope.index("90 %") < names.index("pack +")


def test_a_wide_script_keeps_its_columns() -> None:
    strip = tuple(replace(point, label="水鳥の電池") for point in STRIP[:3])
    for width in (40, 100):
        drawn = [line.plain for line in strip_lines(strip, page(width))]
        assert max(map(cell_len, drawn)) <= width
    hanging = [line.plain for line in strip_lines(strip, page(40))]
    assert {cell_len(line[: line.index("7.8 V")]) for line in hanging[1:]} == {16}


def test_no_path_no_strip() -> None:
    assert list(strip_lines((), page(80))) == []
