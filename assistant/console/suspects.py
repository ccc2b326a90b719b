"""What is still in question: always in sight, because people drop suspects too early."""

from collections.abc import Iterator, Sequence
from typing import Final

from rich.text import Text

from assistant.console.page import Page
from assistant.dialogue.spans import percent

__all__ = ["suspect_lines"]

_BAR: Final = 10
_PERCENT: Final = 5
_SPOKEN: Final = 8


def suspect_lines(
    suspects: Sequence[tuple[str, float]], page: Page, *, others: tuple[int, float] = (0, 0.0), rows: int = 6
) -> Iterator[Text]:
    """Yield the suspects, likeliest first, and how many more there are; nothing when there are none.

    Parameters
    ----------
    suspects
        Label and probability of each place, likeliest first.
    page
        Where to draw them.
    others
        How many more places are in question, and their probability together.
    rows
        Lines there are for them; at least one suspect is named whatever it takes.
    """
    if not suspects:
        return
    if page.plain:
        yield from _spoken(suspects, others, page)
        return
    named: list[Text] = []
    shown = 0
    for label, share in suspects:
        lines = list(_named(label, share, page))
        if named and len(named) + len(lines) > rows - 1:
            break
        named += lines
        shown += 1
    more = _others(suspects, shown, others)
    yield from page.wrap(f"suspects{f' ({more})' if more else ''}", first="  ", style="heading")
    yield from named


def _named(label: str, share: float, page: Page) -> Iterator[Text]:
    """Yield a suspect behind its percentage and its bar; a long name goes on in the next line."""
    size = min(_BAR, page.width // 8)
    bar = page.glyphs.bar * max(round(share * size), 1)
    yield from page.wrap(label, first=f"{percent(share).rjust(_PERCENT + 2)} {bar:<{size}} ")


def _spoken(suspects: Sequence[tuple[str, float]], others: tuple[int, float], page: Page) -> Iterator[Text]:
    named = suspects[:_SPOKEN]
    said = [f"{label} {percent(share)}" for label, share in named]
    more = _others(suspects, len(named), others)
    yield from page.wrap(f"Still suspected: {'; '.join([*said, *([more] if more else [])])}.")


def _others(suspects: Sequence[tuple[str, float]], shown: int, others: tuple[int, float]) -> str:
    """Return how many places are in question besides those named, and what they amount to."""
    count = len(suspects) - shown + others[0]
    rest = sum(share for _, share in suspects[shown:]) + others[1]
    return f"{count} more: {percent(rest)}" if count else ""
