"""Numbers of examples, held against working by hand."""

import pytest

from assistant.lessons import Shelf, bench_of, work_out
from assistant.quantities import Unit
from tests.dialogue.boats import catalogue
from tests.lessons.own import boats
from tests.lessons.samples import changed, sample

# Ten nickel cells at 80 % of charge rest at 1.28 V each.
PACK_V = 12.8


def test_numbers_are_those_of_working_by_hand() -> None:
    worked = sample().worked
    results = work_out(worked, bench_of(worked, catalogue(), {}))
    assert results["all"].value == pytest.approx(PACK_V, abs=0.01)
    assert results["part"].value == pytest.approx(PACK_V * 1 / 4, abs=0.01)
    assert results["drift"].value == pytest.approx(PACK_V * 3 / 6, abs=0.01)
    assert results["flow"].value == pytest.approx(PACK_V / 4000, rel=1e-3)
    assert (results["flow"].unit, results["size"].value) == (Unit.AMP, 3000)
    assert results["path"].value == pytest.approx(4000, abs=10)
    assert results["broken"].text == "OL"
    assert results["smell"].level == "cool"
    assert (results["drift"].severity, results["part"].severity) == ("300 %", "")


def test_a_reading_has_no_more_digits_than_a_cheap_meter() -> None:
    worked = sample(
        changed("red: first 1, black: first 2, expect", "red: pack +, black: first 1, expect")
    ).worked
    result = work_out(worked, bench_of(worked, catalogue(), {}))["part"]
    assert round(result.value * 1e4, 6).is_integer()


def test_a_voltmeter_loads_what_it_reads() -> None:
    text = changed("body: 1 kohm", "body: 1 Mohm").replace("body: 3 kohm", "body: 1 Mohm")
    worked = sample(text).worked
    result = work_out(worked, bench_of(worked, catalogue(), {}))["part"]
    # Half the volts, seen through half a megohm by a meter of ten.
    assert result.value == pytest.approx(PACK_V / 2 * 10 / 10.5, abs=0.015)


def test_a_severity_left_out_is_the_middle_of_its_range() -> None:
    worked = sample(changed(", severity: 3", "")).worked
    result = work_out(worked, bench_of(worked, catalogue(), {}))["drift"]
    # 1.3 to 10 times, in equal ratios.
    assert result.severity == "361 %"


def test_the_shelf_tells_a_lesson_with_its_numbers() -> None:
    shelf = Shelf(
        {"sample": sample()},
        cautions={"held-boat": "Hold it."},
        catalogue=catalogue(),
        boats=boats(),
    )
    assert (list(shelf), len(shelf)) == (["sample"], 1)
    title, text, example, caution = shelf["sample"].splitlines()
    assert (title, caution) == ("Lesson: Sample.", "Caution: Hold it.")
    assert text.startswith("Two lamps")
    assert example.startswith("Example: 12.8 V, 3.2 V, 6.4 V (up to 300 %), 3.2 mA, 3 kΩ")
    assert "{" not in example
