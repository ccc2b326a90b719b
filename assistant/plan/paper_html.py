"""A sheet as one HTML file: no script, nothing from outside, for a phone and for A4 or Letter paper."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import escape
from typing import Final

from assistant.plan.paper import Row, Rung, Sheet, Stretch, Tree

# A value keeps its unit on the line, a terminal its part.
_COVER: Final = "\N{NO-BREAK SPACE}*"
_TOGETHER: Final = re.compile(r"(?<=\d) (?=m?V\b)| (?=[-+](?:[\s,.:;)]|$))")
_STYLE: Final = """
* { box-sizing: border-box; }
body { margin: 0 auto; padding: .7rem; max-width: 75rem; background: #fff; color: #111;
  font: 15px/1.35 Helvetica, Arial, sans-serif; }
h1 { font-size: 1.3rem; margin: 0 0 .3rem; }
h2 { font-size: 1.05rem; margin: 1rem 0 .3rem; border-bottom: 2px solid #111; }
p, ul, ol { margin: .3rem 0; }
ul, ol { padding-left: 1.4rem; }
.cautions { list-style: none; padding: 0; }
.cautions li { border-left: 5px solid #111; background: #fff6cf; padding: .15rem .5rem; margin: .15rem 0; }
.states { list-style: none; padding: 0; display: flex; flex-wrap: wrap; gap: .1rem 1.2rem; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: .15rem .35rem; border: 1px solid #888; }
thead th { background: #e8e8e8; }
td.n, thead th.n { text-align: right; white-space: nowrap; }
td.same { color: #777; text-align: center; }
.other { font-size: .85em; min-width: 15rem; }
.out { font-weight: bold; border: 2px solid #111; padding: 0 .15em; }
.rung { break-inside: avoid; border-left: 3px solid #111; padding: 0 0 0 .5rem; margin: .5rem 0; }
.rung p { margin: 0; }
.state { font-style: italic; }
.rung ul { margin: .1rem 0; padding-left: 1.1rem; }
.go { font-weight: bold; }
/* On a phone a row is a block: the point, then each state with its letter, then what else may be read. */
@media screen and (max-width: 34rem) {
  thead { display: none; }
  table, tbody, tr, tbody th, .other { display: block; }
  tr { border-bottom: 1px solid #888; padding: .3rem 0; }
  th, td { border: 0; padding: 0 .9rem 0 0; }
  tbody td { display: inline-block; }
  td[data-state]::before { content: attr(data-state) " "; font-weight: bold; color: #111; }
  .other { min-width: 0; }
}
@page { margin: 10mm; }
@media print {
  body { padding: 0; max-width: none; font-size: 7.8pt; line-height: 1.2; }
  h1 { font-size: 13pt; } h2 { font-size: 10pt; margin: 2mm 0 .6mm; break-after: avoid; }
  p, ul, ol { margin: .5mm 0; }
  .cautions li { padding: .2mm 1.5mm; margin: .3mm 0; }
  .cautions li, thead th { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  th, td { padding: .2mm 1mm; }
  .other { min-width: 0; }
  tr { break-inside: avoid; }
  .scroll { overflow: visible; }
  .tree { columns: 2; column-gap: 5mm; column-rule: .3mm solid #999; }
  .rung { margin: 0 0 1.4mm; padding-left: 1.5mm; border-left-width: .7mm; break-inside: auto; }
  .rung p { break-inside: avoid; break-after: avoid; } .rung li { break-inside: avoid; }
}
"""


def html(sheet: Sheet) -> str:
    """Return a sheet as a whole HTML document."""
    title = _title(sheet)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
        f"<title>{_safe(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        + "\n".join(_body(sheet, title))
        + "\n</body>\n</html>\n"
    )


def _title(sheet: Sheet) -> str:
    return f"{sheet.boat}: {sheet.tree.title if sheet.tree else 'readings to expect'}"


def _safe(text: str) -> str:
    shown = "".join(character for character in text if character.isprintable())
    return _TOGETHER.sub("\u00a0", escape(shown))


def _body(sheet: Sheet, title: str) -> Iterator[str]:
    yield f"<h1>{_safe(title)}</h1>"
    yield '<ul class="cautions">'
    yield from (f"<li><strong>!</strong> {_safe(caution)}</li>" for caution in sheet.cautions)
    yield "</ul>"
    if sheet.supposed:
        yield (
            f"<p><strong>Supposed:</strong> {_safe(sheet.supposed)}. What it shows stands below the healthy"
            ' reading, <span class="out">framed</span> where it is out.</p>'
        )
    if sheet.columns:
        yield (
            f"<p>Volts, black probe on <strong>{_safe(sheet.black)}</strong>. * is behind a cover."
            " = reads as in the state to its left.</p>"
        )
        yield '<ul class="states">'
        yield from (f"<li><strong>{c.letter}</strong> {_safe(c.words)}</li>" for c in sheet.columns)
        yield "</ul>"
    for stretch in sheet.stretches:
        yield from _table(sheet, stretch)
    if sheet.tree is not None:
        yield from _tree(sheet.tree)


def _table(sheet: Sheet, stretch: Stretch) -> Iterator[str]:
    yield f'<h2>{_safe(stretch.title)}</h2>\n<div class="scroll"><table><thead><tr><th>point</th>'
    yield from (f'<th class="n">{column.letter}</th>' for column in sheet.columns)
    yield "<th>what another reading means</th></tr></thead><tbody>"
    for row in stretch.rows:
        yield f"<tr><th>{_safe(row.label)}{_COVER if row.cover else ''}</th>{''.join(_cells(sheet, row))}"
        yield f'<td class="other">{"<br>".join(map(_safe, row.otherwise))}</td></tr>'
    yield "</tbody></table></div>"


def _cells(sheet: Sheet, row: Row) -> Iterator[str]:
    for number, (column, reading) in enumerate(zip(sheet.columns, row.readings, strict=True)):
        if number and not row.supposed and reading == row.readings[number - 1]:
            yield f'<td class="same" data-state="{column.letter}">=</td>'
            continue
        below = ""
        if row.supposed:
            value, out = row.supposed[number]
            frame = ' class="out"' if out else ""
            below = f"<br><span{frame}>{_safe(value)}</span>"
        yield f'<td class="n" data-state="{column.letter}">{_safe(reading)}{below}</td>'


def _tree(tree: Tree) -> Iterator[str]:
    yield "<h2>First</h2>\n<ol>"
    yield from (f"<li>{_safe(check)}</li>" for check in tree.first)
    yield '</ol>\n<h2>Then from step 1, going where the answer sends you</h2>\n<div class="tree">'
    for rung in tree.rungs:
        yield from _rung(rung)
    yield "</div>"


def _rung(rung: Rung) -> Iterator[str]:
    yield (
        f'<div class="rung"><p><strong>{rung.number}.</strong> '
        f'<span class="state">{_safe(rung.state)}.</span> {_safe(rung.text)}</p><ul>'
    )
    for way in rung.ways:
        onward = f'<span class="go">→ {way.step}</span>' if way.step else _safe(way.ends)
        yield f"<li>{_safe(way.answer)}: {onward}</li>"
    yield "</ul></div>"
