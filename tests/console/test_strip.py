from dataclasses import replace

import pytest
from rich.cells import cell_len

from assistant.console.strip import strip_lines
from tests.console.samples import NAMES, READING, STRIP, page


def lines(width: int, rows: int = 99, **look: bool) -> list[str]:
    return [
        line.plain for line in strip_lines(STRIP, page(width, **look), probes=READING.measurement, rows=rows)
    ]


def test_it_hangs_on_a_narrow_page_from_pack_to_device() -> None:
    drawn = lines(40)
    assert [name for name, line in zip(NAMES, drawn[1:], strict=True) if name not in line] == []
    assert drawn[1] == "  ╥ pack +       7.8 V   7.9 V   1 %"
    assert drawn[6] == "R ╫ drive +      7.8 V           6 %"
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
    assert "read 20 mV none" in " ".join(lines(80, plain=True))


@pytest.mark.parametrize("rows", range(3, 12))
def test_short_of_rows_it_keeps_ends_probes_and_readings_and_adds_up_hidden_doubt(rows: int) -> None:
    drawn = lines(40, rows)
    assert len(drawn) <= max(rows, 4)
    assert "pack +" in drawn[1]
    assert "pump -" in drawn[-1]
    if rows >= 8:
        assert any(line.startswith("R ╫ drive +") for line in drawn)
        assert any("!20 mV" in line for line in drawn)
    shares = [int(line.split("%")[0].split()[-1]) for line in drawn if "%" in line and "<" not in line]
    assert sum(shares) == pytest.approx(92, abs=2)


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
    assert {cell_len(line[: line.index("7.8 V")]) for line in hanging[1:]} == {17}


def test_no_path_no_strip() -> None:
    assert list(strip_lines((), page(80))) == []
