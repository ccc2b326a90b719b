import pytest
from rich.cells import cell_len

from assistant.console.suspects import suspect_lines
from tests.console.samples import SUSPECTS, page

OTHERS = (3, 0.08)


def lines(
    suspects: tuple[tuple[str, float], ...],
    rows: int = 4,
    *,
    others: tuple[int, float] = OTHERS,
    width: int = 40,
    **look: bool,
) -> list[str]:
    return [line.plain for line in suspect_lines(suspects, page(width, **look), others=others, rows=rows)]


def test_the_likeliest_have_a_bar_and_a_percentage_and_the_others_are_counted() -> None:
    drawn = lines(SUSPECTS)
    assert drawn[0] == "  suspects (7 more: 19 %)"
    assert drawn[1] == "   55 % ━━━   fuse"
    assert len(drawn) == 4


def test_nothing_is_said_of_others_where_there_are_none() -> None:
    assert lines(SUSPECTS[:2], others=(0, 0.0))[0] == "  suspects"
    assert lines(SUSPECTS[:2], others=(0, 0.0), plain=True) == ["Still suspected: fuse 55 %; switch 20 %."]
    assert lines(SUSPECTS[:2], plain=True)[-1].endswith("3 more: 8 %.")


@pytest.mark.parametrize("rows", range(1, 12))
def test_it_keeps_to_its_rows_and_accounts_for_everything(rows: int) -> None:
    drawn = lines(SUSPECTS, rows)
    assert len(drawn) <= max(rows, 2)
    shares = [int(line.split("%")[0].split()[-1]) for line in drawn if "%" in line]
    assert sum(shares) == pytest.approx(100, abs=3)


def test_both_ends_of_a_lead_are_told_however_narrow_the_page() -> None:
    name = "lead from starboard drive + to starboard fuse out"
    for width in (20, 30, 40):
        drawn = lines(((name, 0.9),), width=width)
        assert max(map(cell_len, drawn)) <= width
        assert drawn[-1].endswith("out")
        assert all(word in " ".join(drawn) for word in ("starboard", "drive", "fuse", "out"))


def test_certainty_is_never_claimed() -> None:
    assert lines((("fuse", 1.0),))[1].startswith("  >99 %")


def test_nobody_is_suspected() -> None:
    assert lines(()) == []
