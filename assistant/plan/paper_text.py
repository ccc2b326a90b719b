"""A sheet as plain lines with their indents, for a terminal of any width, and as Markdown."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.plan.paper import Column, Row, Sheet, Tree

Line = tuple[str, str]
"""What stands before a paragraph, and the paragraph."""


def text_lines(sheet: Sheet) -> Iterator[Line]:
    """Yield the paragraphs of a sheet; states that read alike share one."""
    yield "", _title(sheet)
    for caution in sheet.cautions:
        yield "! ", caution
    if sheet.supposed:
        yield "", f"Supposed: {sheet.supposed}. What it shows stands after the arrow, with ! where it is out."
    if sheet.columns:
        yield "", ""
        yield "", f"Volts, black probe on {sheet.black}. * is behind a cover. States:"
    for column in sheet.columns:
        yield f"  {column.letter}  ", column.words
    for stretch in sheet.stretches:
        yield "", ""
        yield "", f"== {stretch.title}"
        for row in stretch.rows:
            yield "", f"{row.label}{' *' if row.cover else ''}"
            for letters, words in grouped(sheet.columns, row):
                yield f"  {letters}  ", words
            for other in row.otherwise:
                yield "    if ", other
    if sheet.tree is not None:
        yield from _tree_lines(sheet.tree)


def grouped(columns: tuple[Column, ...], row: Row) -> Iterator[tuple[str, str]]:
    """Yield the letters of the states that read alike, with the reading."""
    found: dict[str, list[str]] = {}
    for number, (column, reading) in enumerate(zip(columns, row.readings, strict=True)):
        words = reading
        if row.supposed:
            value, out = row.supposed[number]
            words = f"{reading} -> {'!' if out else ''}{value}"
        found.setdefault(words, []).append(column.letter)
    yield from ((" ".join(letters), words) for words, letters in found.items())


def _title(sheet: Sheet) -> str:
    return f"{sheet.boat}: {sheet.tree.title if sheet.tree else 'readings to expect'}"


def _tree_lines(tree: Tree) -> Iterator[Line]:
    yield "", ""
    for number, check in enumerate(tree.first):
        yield f"{'abcdefghij'[number % 10]}. ", check
    for rung in tree.rungs:
        yield "", ""
        yield f"{rung.number}. ", f"[{rung.state}] {rung.text}"
        for way in rung.ways:
            yield "   - ", f"{way.answer}: {f'go to {way.step}' if way.step else way.ends}"


def markdown(sheet: Sheet) -> str:
    """Return a sheet as Markdown."""
    return "\n".join(_markdown(sheet)) + "\n"


def _markdown(sheet: Sheet) -> Iterator[str]:
    yield f"# {_cell(_title(sheet))}"
    yield ""
    yield from (f"- **Caution:** {_cell(caution)}" for caution in sheet.cautions)
    if sheet.columns:
        yield ""
        yield f"Volts, black probe on {_cell(sheet.black)}. \\* is behind a cover."
        yield ""
        yield from (f"- **{column.letter}** {_cell(column.words)}" for column in sheet.columns)
    if sheet.supposed:
        yield ""
        yield f"Supposed: {_cell(sheet.supposed)}. Its readings stand after the arrow, bold where they are out."
    for stretch in sheet.stretches:
        yield ""
        yield f"## {_cell(stretch.title)}"
        yield ""
        yield f"| point | {' | '.join(c.letter for c in sheet.columns)} | if not |"
        yield f"| --- |{' --- |' * len(sheet.columns)} --- |"
        for row in stretch.rows:
            cells = [f"{row.label}{' *' if row.cover else ''}", *_readings(row), "; ".join(row.otherwise)]
            yield f"| {' | '.join(map(_cell, cells))} |"
    if sheet.tree is not None:
        yield ""
        yield from (f"{number}. {_cell(check)}" for number, check in enumerate(sheet.tree.first, start=1))
        for rung in sheet.tree.rungs:
            yield ""
            yield f"**{rung.number}.** *{_cell(rung.state)}*: {_cell(rung.text)}"
            yield ""
            for way in rung.ways:
                onward = f"**go to {way.step}**" if way.step else _cell(way.ends)
                yield f"- {_cell(way.answer)}: {onward}"


def _readings(row: Row) -> Iterator[str]:
    for number, reading in enumerate(row.readings):
        if not row.supposed:
            yield reading
            continue
        value, out = row.supposed[number]
        yield f"{reading} → {f'**{value}**' if out else value}"


def _cell(text: str) -> str:
    """Return text that no Markdown reader takes for anything but text, but for bold that is meant."""
    safe = text.replace("\\", "\\\\").replace("|", "\\|").replace("<", "&lt;")
    return safe if "**" in safe else safe.replace("*", "\\*").replace("_", "\\_")
