"""The question screen: everything that cold hands need to answer, on one small page.

From top to bottom: what is asked, what to set (what changes, and what still has to be held), where the
probes go, what to select and to expect, the feed strip, the suspects, the answers by number. Where rows are
short the strip and the list of suspects give way, never what has to be done.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from rich.cells import cell_len
from rich.text import Text

from assistant.circuit import MeterFunction
from assistant.console.page import Page
from assistant.console.strip import lies_across, strip_lines
from assistant.console.suspects import suspect_lines
from assistant.console.values import range_words
from assistant.dialogue import Ask, Want
from assistant.dialogue.answers import UNIT_OF
from assistant.dialogue.spans import expected_words
from assistant.wiring import Point

__all__ = ["hint_line", "option_lines", "prompt_words", "question_lines"]

_HEADING: Final = 8
_GUTTER: Final = 2
_LEAST_STRIP: Final = 4
_LEAST_MIDDLE: Final = 3
_SIDE_BY_SIDE_FROM: Final = 90
_BESIDE: Final = 7
_PROMPTS: Final = {
    MeterFunction.DC_VOLTS: "volts",
    MeterFunction.OHMS: "ohms, or OL",
    MeterFunction.CONTINUITY: "ohms, beep or no beep",
    MeterFunction.DIODE_TEST: "volts, or OL",
    MeterFunction.DC_AMPS: "amps",
    MeterFunction.AC_MILLIVOLTS: "millivolts",
    MeterFunction.DUTY: "%, or none",
    MeterFunction.FREQUENCY: "Hz, or none",
    MeterFunction.LAMP: "how bright",
}
_HINTS: Final = (
    "words: why, how, back, skip, can't reach, don't know, comes and goes, show, note ..., save, help",
    "words: why, how, back, don't know, comes and goes, help",
    "words: why, how, back, don't know, help",
    "words: why, how, back, help",
)


def question_lines(
    ask: Ask, page: Page, *, number: int, label: Callable[[Point], str], said: int = 0
) -> list[Text]:
    """Return the screen for a question, without the prompt itself.

    Parameters
    ----------
    ask
        The question.
    page
        Where to draw it; the prompt takes one of its rows.
    number
        Number of the question in the case, from 1.
    said
        Lines just printed above it, for which strip and suspects give way as far as they can.
    label
        What a person calls a point.
    """
    if page.plain:
        return list(_spoken(ask, page, number, label))
    top = [page.rule(str(number)), *page.wrap(_asked(ask, label), style="question")]
    options = list(option_lines(ask, page))
    free = page.rows - len(top) - len(options) - 1
    free = max(free - said, min(free, _LEAST_MIDDLE))
    middle = (
        _wide(ask, page, free, label) if page.width >= _SIDE_BY_SIDE_FROM else _narrow(ask, page, free, label)
    )
    hint = [hint_line(page)] if len(middle) < free else []
    return [*top, *middle, *options, *hint]


def _asked(ask: Ask, label: Callable[[Point], str]) -> str:
    """Return what is asked, without the sentence that names both probes: they have lines of their own."""
    if ask.measurement is None:
        return ask.text
    probes = (label(ask.measurement.red), label(ask.measurement.black))
    sentences = re.split(r"(?<=[.?!])\s+", ask.text)
    kept = [sentence for sentence in sentences if not all(probe in sentence for probe in probes)]
    return " ".join(kept) or ask.text


def _narrow(ask: Ask, page: Page, rows: int, label: Callable[[Point], str]) -> list[Text]:
    """Return details, strip and suspects one under the other."""
    details = _details(ask, page, label)
    free = rows - len(details)
    least_strip = _LEAST_STRIP if _tells(ask) else 0
    share = max(2, min(free - least_strip, max(3, free // 3)))
    suspects = list(suspect_lines(ask.suspects, page, others=ask.others, rows=share))
    return [*details, *_strip(ask, page, free - len(suspects)), *suspects]


def _wide(ask: Ask, page: Page, rows: int, label: Callable[[Point], str]) -> list[Text]:
    """Return the suspects beside the details, or beside details and strip where the strip hangs."""
    left = replace(page, width=(page.width - _GUTTER) // 2)
    right = replace(page, width=page.width - _GUTTER - left.width)
    details = _details(ask, left, label)
    lying = lies_across(ask.strip, page)
    if not lying:
        details += _strip(ask, left, rows - len(details))
    strip = list(_strip(ask, page, rows)) if lying else []
    if not details:
        free = max(rows - len(strip), 3)
        return [*strip, *suspect_lines(ask.suspects, page, others=ask.others, rows=free)]
    room = max(len(details), 3, min(rows - len(strip), _BESIDE))
    suspects = list(suspect_lines(ask.suspects, right, others=ask.others, rows=room))
    return [*_beside(details, suspects, left.width), *strip]


def option_lines(ask: Ask, page: Page) -> Iterator[Text]:
    """Yield the answers of a choice by number, with what Enter takes."""
    for number, option in enumerate(ask.options, start=1):
        likely = option.key == ask.default
        text = f"{option.text} (Enter)" if likely else option.text
        yield from page.wrap(text, first=f"{number:>2}  ", style="likely" if likely else "")


def hint_line(page: Page) -> Text:
    """Return the words that are understood at any time, as many as fit on a line."""
    return Text(next((hint for hint in _HINTS if len(hint) <= page.width), _HINTS[-1]), "hint")


def prompt_words(ask: Ask) -> str:
    """Return what stands before the cursor."""
    enter = f", Enter = {_default_words(ask)}" if ask.default is not None else ""
    match ask.want:
        case Want.CHOICE:
            return f"1-{len(ask.options)}{enter} > "
        case Want.CONFIRM:
            return f"1 yes, 2 no{enter} > "
        case Want.READING:
            return f"{_PROMPTS[ask.measurement.function]} > " if ask.measurement is not None else "reading > "
        case _:
            return "> "


def _default_words(ask: Ask) -> str:
    keys = [option.key for option in ask.options]
    return str(keys.index(ask.default) + 1) if ask.default in keys else str(ask.default)


def _details(ask: Ask, page: Page, label: Callable[[Point], str]) -> list[Text]:
    """Return what to do: settings to change, probes, range, what to expect."""
    rows = [("set", change.text, "") for change in ask.changes]
    rows += [("still", text, "") for text in ask.held]
    if ask.measurement is not None and ask.measurement.function is MeterFunction.LAMP:
        tips = (f"one tip on {label(ask.measurement.red)}", f"the other on {label(ask.measurement.black)}")
        rows += [("lamp", text, "") for text in (*tips, "12 V 5 W, fused; no meter")]
    elif ask.measurement is not None:
        rows += [
            ("red", label(ask.measurement.red), "red"),
            ("black", label(ask.measurement.black), "black"),
            ("meter", range_words(ask), ""),
        ]
        if ask.band is not None:
            rows += [("expect", expected_words(ask.band, UNIT_OF[ask.measurement.function]), "")]
    lines: list[Text] = []
    said = ""
    for heading, text, style in rows:
        first = ("" if heading == said else heading).ljust(_HEADING)
        said = heading
        wrapped = list(page.wrap(text, first=first, style=style))
        wrapped[0].stylize("heading", 0, _HEADING)
        lines += wrapped
    return lines


def _strip(ask: Ask, page: Page, rows: int) -> Iterator[Text]:
    return strip_lines(ask.strip if _tells(ask) else (), page, probes=ask.measurement, rows=rows)


def _tells(ask: Ask) -> bool:
    """Return whether the strip has anything on it but a healthy boat."""
    known = any(point.read or point.drop or point.suspicion for point in ask.strip)
    return bool(ask.strip) and (known or ask.measurement is not None)


def _beside(left: Sequence[Text], right: Sequence[Text], width: int) -> Iterator[Text]:
    for row in range(max(len(left), len(right))):
        line = left[row].copy() if row < len(left) else Text()
        if row < len(right):
            line.append(" " * (width + _GUTTER - cell_len(line.plain)))
            line.append_text(right[row])
        yield line


def _spoken(ask: Ask, page: Page, number: int, label: Callable[[Point], str]) -> Iterator[Text]:
    """Yield the question in sentences, for screen readers, pipes and terminals without a cursor."""
    yield Text()
    yield from page.wrap(f"Question {number}: {ask.text}")
    if ask.changes:
        yield from page.wrap(f"Set: {'; '.join(change.text for change in ask.changes)}.")
    if ask.held:
        yield from page.wrap(f"Still as before: {'; '.join(ask.held)}.")
    if ask.measurement is not None:
        if _asked(ask, label) == ask.text:
            red, black = label(ask.measurement.red), label(ask.measurement.black)
            yield from page.wrap(f"Red probe on {red}, black probe on {black}.")
        yield from page.wrap(f"Meter: {range_words(ask)}.")
        if ask.band is not None:
            expected = expected_words(ask.band, UNIT_OF[ask.measurement.function])
            yield from page.wrap(f"Expect {expected}.")
    yield from _strip(ask, page, 0)
    yield from suspect_lines(ask.suspects, page, others=ask.others)
    yield from option_lines(ask, page)
