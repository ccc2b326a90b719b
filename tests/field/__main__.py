"""Play troubles that really happened: ``python -m tests.field [REPORT ...]``."""

import sys
from collections.abc import Iterable
from statistics import mean

from assistant.cli.workbench import open_workbench
from tests.field.play import Row, play
from tests.field.report import reports

_HEAD = ("report", "symptom", "rank", "prob.", "asked", "cause", "wrong alone", "confirmed")
_LINE = "{:8}{:22}{:>5}{:>8}{:>7}  {:12}{:22}{}"


def line(row: Row) -> str:
    """Return a row of the table."""
    rank = str(row.rank) if row.rank else "-"
    confirmed = "yes" if row.report.confirmed else "no"
    wrong = ", ".join(row.wrong) or "-"
    chance = f"{row.probability:.1%}"
    return _LINE.format(
        row.report.name, row.report.symptom[:21], rank, chance, row.questions, row.result(), wrong, confirmed
    )


def totals(rows: Iterable[Row]) -> Iterable[str]:
    """Yield the totals of a table, first those whose cause the repair confirmed."""
    every = list(rows)
    for words, some in (("cause confirmed", [r for r in every if r.report.confirmed]), ("all", every)):
        if not some:
            continue
        found, alone = sum(r.found for r in some), sum(r.alone for r in some)
        wrong = sum(bool(r.wrong) for r in some)
        asked = mean(r.questions for r in some)
        ill = [r for r in some if r.report.causes]
        first, third = (sum(0 < r.rank <= most for r in ill) for most in (1, 3))
        yield f"{words}, after what was told: cause first in {first} of {len(ill)}, among three in {third}"
        yield (
            f"{words}: {len(some)}, cause named alone {alone}, alone or among three {found} "
            f"({100 * found / len(some):.0f} %), wrong part named alone {wrong}, questions on the mean {asked:.1f}"
        )


def main(names: list[str]) -> None:
    """Print the table."""
    bench = open_workbench()
    print(_LINE.format(*_HEAD))
    rows = []
    for report in reports(names):
        rows.append(play(bench, report))
        print(line(rows[-1]), flush=True)
    print()
    for text in totals(rows):
        print(text)
    for row in rows:
        if not row.found or row.wrong:
            print(
                f"{row.report.name}: {row.ending}, named {', '.join(row.named) or 'nothing'}. {row.report.note}"
            )


main(sys.argv[1:])
