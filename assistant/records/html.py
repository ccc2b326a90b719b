"""The repair sheet as one HTML file: no script, no outside file, readable on a phone and printed on A4 or Letter."""

import re
from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

from assistant.circuit.expectation import BandName
from assistant.records.outline import HEADS, Section, cells_of, facts_of, sections_of
from assistant.records.sheet import Row, Sheet
from assistant.records.words import harmless

__all__ = ["page_of", "sheet_html"]

_TOGETHER: Final = re.compile(r" (?=[-+](?:[\s,.:;)]|$))|(?<=\d) (?=(?:[mk]?[VΩA]|AWG|cm)\b)")
# The stretch of a phone comes first; wider screens and paper add to it.
_STYLE: Final = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: .7rem; max-width: 60rem; background: #fff; color: #111;
  font: 16px/1.4 Helvetica, Arial, sans-serif; overflow-wrap: break-word; }
h1 { font-size: 1.35rem; margin: 0 0 .2rem; }
h2 { font-size: 1.05rem; margin: 1.1rem 0 .3rem; border-bottom: 2px solid #111; }
p, ul, ol { margin: .3rem 0; }
ul, ol { padding-left: 1.4rem; }
li { margin: .2rem 0; }
.head { font-size: 1.1rem; font-weight: bold; border: 3px double #111; padding: .5rem; margin: .6rem 0; }
.warn, .caution { border-left: 5px solid #111; background: #fff6cf; padding: .3rem .5rem; margin: .3rem 0; }
.facts { color: #333; }
svg { display: block; width: 100%; height: auto; max-width: 30rem; margin: .3rem auto; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: left; vertical-align: top; padding: .2rem .35rem; border: 1px solid #777; }
.off { font-weight: bold; }
@media screen and (max-width: 44rem) {
  table, tbody, tr, td { display: block; border: 0; padding: 0; }
  thead { display: none; }
  tr { border: 1px solid #777; padding: .3rem .5rem; margin: .4rem 0; }
  td[data-label]:not(:empty)::before { content: attr(data-label) ": "; color: #555; }
}
.cells { font-size: .9rem; }
@page { margin: 11mm; }
@media print {
  body { padding: 0; max-width: none; font-size: 9pt; line-height: 1.25; }
  h1 { font-size: 14pt; } h2 { font-size: 10.5pt; margin: 2.4mm 0 .6mm; break-after: avoid; }
  p, ul, ol { margin: .6mm 0; }
  li { margin: .4mm 0; }
  .head { font-size: 11pt; padding: 1.2mm 2mm; }
  .warn, .caution { padding: .3mm 1.5mm; print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  tr, li, .warn, .caution, .picture { break-inside: avoid; }
  .board { display: grid; grid-template-columns: 45% 1fr; gap: 4mm; break-before: auto; }
  .cells { font-size: 7.5pt; line-height: 1.2; }
  svg { max-width: 100%; max-height: 236mm; print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
"""


def sheet_html(sheet: Sheet) -> str:
    """Return a sheet as a whole HTML document."""
    return page_of(f"{sheet.boat}: {sheet.symptom}", "\n".join(_body(sheet)))


def page_of(title: str, body: str) -> str:
    """Return a whole HTML document.

    Parameters
    ----------
    title
        Plain text.
    body
        HTML.
    """
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
        'img-src data:">\n'
        f"<title>{_safe(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n{body}\n</body>\n</html>\n"
    )


def _safe(text: str) -> str:
    """Return text as HTML; terminals and units stay on the line of what they belong to."""
    return _TOGETHER.sub("\u00a0", escape(harmless(text)))


def _body(sheet: Sheet) -> Iterator[str]:
    yield f"<h1>{_safe(sheet.boat)}: {_safe(sheet.symptom)}</h1>"
    yield f'<p class="facts">{_safe(" · ".join(facts_of(sheet)))}</p>'
    yield from (f'<p class="warn"><strong>Note:</strong> {_safe(text)}</p>' for text in sheet.warnings)
    yield f'<p class="head">{_safe(sheet.headline)}</p>\n<p>{_safe(sheet.sureness)}</p>'
    for section in sections_of(sheet):
        yield from _section(section)
    yield f'<div class="board"><div class="picture"><h2>Wiring</h2>\n{sheet.picture}</div>\n<div>'
    yield from _table(sheet.rows)
    yield "</div></div>"


def _section(section: Section) -> Iterator[str]:
    kind = "ol" if section.ordered else "ul"
    yield f"<h2>{_safe(section.title)}</h2>\n<{kind}>"
    for line in section.lines:
        cautions = "".join(
            f'<p class="caution"><strong>!</strong> {_safe(text)}</p>' for text in line.cautions
        )
        loud = ' class="warn"' if section.loud else ""
        yield f"<li{loud}>{cautions}{_safe(line.text)}</li>"
    yield f"</{kind}>"


def _table(rows: Sequence[Row]) -> Iterator[str]:
    if not rows:
        return
    heads = "".join(f'<th scope="col">{head}</th>' for head in HEADS)
    yield '<h2>Readings and signs</h2>\n<table class="cells"><thead>'
    yield f"<tr>{heads}</tr></thead>\n<tbody>"
    for row in rows:
        off = ' class="off"' if row.band not in {"", BandName.AS_EXPECTED} else ""
        cells = zip(HEADS, cells_of(row), strict=True)
        inner = "".join(f'<td data-label="{head}">{_safe(text)}</td>' for head, text in cells)
        yield f"<tr{off}>{inner}</tr>"
    yield "</tbody></table>"
