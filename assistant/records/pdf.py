"""The repair sheet as PDF, for which two packages are needed that the program does without otherwise."""

import io
from collections.abc import Iterator
from html import escape
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import Any, Final

from assistant.errors import CaseError
from assistant.records.outline import HEADS, Section, cells_of, facts_of, sections_of
from assistant.records.sheet import Sheet
from assistant.records.words import harmless

__all__ = ["PAGES", "sheet_pdf"]

PAGES: Final = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}
"""Sizes of paper in points."""

_MARGIN: Final = 34.0
_REGULAR: Final = "Vera"
_BOLD: Final = "VeraBd"
# Signs that the font brought along lacks.
_SPELLED: Final = {"Ω": "ohm", "→": "to", "−": "-", "×": "x", "≤": "at most", "≥": "at least"}
_WIDTHS: Final = (0.15, 0.25, 0.14, 0.15, 0.31)
_PICTURE: Final = 0.45
_GAP: Final = 10.0


def sheet_pdf(sheet: Sheet, paper: str = "a4") -> bytes:
    """Return a sheet as a PDF document.

    Parameters
    ----------
    sheet
        The sheet.
    paper
        Key of `PAGES`.

    Raises
    ------
    CaseError
        If the packages for it are not installed.
    """
    platypus, styles = _need("reportlab.platypus"), _need("reportlab.lib.styles")
    drawing = _need("svglib.svglib").svg2rlg(io.BytesIO(_plain(sheet.picture).encode()))
    _fonts()
    width, height = (side - 2 * _MARGIN for side in PAGES[paper])
    scale = min(_PICTURE * width / drawing.width, (height - 2 * _MARGIN) / drawing.height)
    drawing.width, drawing.height = drawing.width * scale, drawing.height * scale
    drawing.scale(scale, scale)
    writer = _Writer(platypus=platypus, styles=styles, width=(1.0 - _PICTURE) * width - _GAP)
    story = [
        *writer.head(sheet),
        *(flow for section in sections_of(sheet) for flow in writer.section(section)),
        platypus.NextPageTemplate("board"),
        platypus.PageBreak(),
        writer.heading("Wiring"),
        drawing,
        platypus.FrameBreak(),
        platypus.NextPageTemplate("text"),
        *writer.table(sheet),
    ]
    target = io.BytesIO()
    document = platypus.BaseDocTemplate(
        target, pagesize=PAGES[paper], title=_plain(f"{sheet.boat}: {sheet.symptom}"), invariant=1
    )
    document.addPageTemplates(_templates(platypus, width, height))
    document.build(story)
    return target.getvalue()


def _templates(platypus: ModuleType, width: float, height: float) -> list[Any]:
    """Return the page of text, and the one with the picture beside the readings."""
    left = _PICTURE * width

    def frame(x: float, wide: float) -> Any:
        pads = dict.fromkeys(("leftPadding", "rightPadding", "topPadding", "bottomPadding"), 0)
        return platypus.Frame(_MARGIN + x, _MARGIN, wide, height, **pads)

    board = [frame(0.0, left), frame(left + _GAP, width - left - _GAP)]
    return [
        platypus.PageTemplate(id="text", frames=[frame(0.0, width)]),
        platypus.PageTemplate(id="board", frames=board),
    ]


def _need(name: str) -> ModuleType:
    try:
        return import_module(name)
    except ImportError as error:
        raise CaseError(
            reason=f"for PDF the package {name.partition('.')[0]} is needed, and it is not installed",
            next_step="install leadline[pdf], or export as html, which a browser prints to PDF",
        ) from error


def _fonts() -> None:
    """Register the two fonts that come with the package, once."""
    metrics, fonts = _need("reportlab.pdfbase.pdfmetrics"), _need("reportlab.pdfbase.ttfonts")
    folder = Path(_need("reportlab").__file__ or "").parent / "fonts"
    for name in (_REGULAR, _BOLD):
        if name not in metrics.getRegisteredFontNames():
            metrics.registerFont(fonts.TTFont(name, str(folder / f"{name}.ttf")))


def _plain(text: str) -> str:
    for sign, words in _SPELLED.items():
        text = text.replace(sign, words)
    return text


class _Writer:
    """Makes the pieces of the page."""

    def __init__(self, *, platypus: ModuleType, styles: ModuleType, width: float) -> None:
        self._platypus = platypus
        style = styles.ParagraphStyle("line", fontName=_REGULAR, fontSize=8.5, leading=11, spaceAfter=2)
        self._style = style
        self._width = width
        self._head = styles.ParagraphStyle("head", parent=style, fontName=_BOLD, fontSize=13, leading=16)
        self._title = styles.ParagraphStyle(
            "title", parent=style, fontName=_BOLD, fontSize=10, leading=13, spaceBefore=6, keepWithNext=1
        )
        self._verdict = styles.ParagraphStyle(
            "verdict",
            parent=style,
            fontName=_BOLD,
            fontSize=10,
            leading=13,
            borderWidth=1.5,
            borderPadding=5,
            borderColor="black",
            spaceBefore=8,
            spaceAfter=10,
        )
        self._loud = styles.ParagraphStyle(
            "loud", parent=style, fontName=_BOLD, leftIndent=14, backColor="#fff6cf"
        )
        self._item = styles.ParagraphStyle("item", parent=style, leftIndent=14, bulletIndent=2)
        self._cell = styles.ParagraphStyle("cell", parent=style, fontSize=6.5, leading=8, spaceAfter=0)

    def head(self, sheet: Sheet) -> Iterator[Any]:
        yield self._words(f"{sheet.boat}: {sheet.symptom}", self._head)
        yield self._words(" · ".join(facts_of(sheet)), self._style)
        yield from (self._words(f"Note: {text}", self._loud) for text in sheet.warnings)
        yield self._words(sheet.headline, self._verdict)
        yield self._words(sheet.sureness, self._style)

    def heading(self, text: str) -> Any:
        return self._words(text, self._title)

    def section(self, section: Section) -> Iterator[Any]:
        yield self.heading(section.title)
        for number, line in enumerate(section.lines, start=1):
            for text in line.cautions:
                yield self._words(f"! {text}", self._loud)
            bullet = f"{number}." if section.ordered else "•"
            style = self._loud if section.loud else self._item
            yield self._platypus.Paragraph(_markup(line.text), style, bulletText=bullet)

    def table(self, sheet: Sheet) -> Iterator[Any]:
        if not sheet.rows:
            return
        yield self.heading("Readings and signs")
        cells = [HEADS, *(cells_of(row) for row in sheet.rows)]
        rows = [[self._words(text, self._cell) for text in row] for row in cells]
        table = self._platypus.Table(rows, colWidths=[share * self._width for share in _WIDTHS], repeatRows=1)
        lines = [("GRID", (0, 0), (-1, -1), 0.5, "grey"), ("VALIGN", (0, 0), (-1, -1), "TOP")]
        pads = [(f"{side}PADDING", (0, 0), (-1, -1), 2) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")]
        table.setStyle(self._platypus.TableStyle([*lines, *pads]))
        yield table

    def _words(self, text: str, style: Any) -> Any:
        return self._platypus.Paragraph(_markup(text), style)


def _markup(text: str) -> str:
    return escape(_plain(harmless(text)), quote=False)
