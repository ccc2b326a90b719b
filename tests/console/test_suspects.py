import pytest

from assistant.console.suspects import suspect_lines
from tests.console.samples import SUSPECTS, page

WHOLE = (*SUSPECTS, ("pump", 0.08))


def lines(suspects: tuple[tuple[str, float], ...], rows: int = 4, **look: bool) -> list[str]:
    return [line.plain for line in suspect_lines(suspects, page(40, **look), rows=rows)]


def test_the_likeliest_have_a_bar_and_a_percentage_and_the_others_are_counted() -> None:
    drawn = lines(WHOLE)
    assert drawn[0] == "  suspects, 4 others 12 % together"
    assert drawn[1] == "   55 % ━━━    fuse"
    assert len(drawn) == 4


def test_a_place_with_two_troubles_is_named_once() -> None:
    assert lines(WHOLE)[3] == "   13 % ━      pump"


def test_a_list_that_is_not_the_whole_does_not_count_the_others() -> None:
    assert lines(SUSPECTS[:2])[0] == "  suspects, all others 25 % together"
    assert lines(SUSPECTS[:2], plain=True) == [
        "Still suspected: fuse 55 %; switch 20 %;",
        "all others 25 %.",
    ]


@pytest.mark.parametrize("rows", range(1, 10))
def test_it_keeps_to_its_rows_and_accounts_for_everything(rows: int) -> None:
    drawn = lines(WHOLE, rows)
    assert len(drawn) <= max(rows, 2)
    shares = [int(line.split("%")[0].split()[-1]) for line in drawn if "%" in line]
    assert sum(shares) == pytest.approx(100, abs=3)


def test_certainty_is_never_claimed() -> None:
    assert lines((("fuse", 1.0),))[1].startswith("  >99 %")


def test_nobody_is_suspected() -> None:
    assert lines(()) == []
