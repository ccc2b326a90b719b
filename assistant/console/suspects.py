"""What is still in question: always in sight, because people drop suspects too early."""

from collections.abc import Iterator, Sequence
from typing import Final

from rich.text import Text

from assistant.console.page import Page, columns, cut

__all__ = ["percent", "suspect_lines"]

_BAR: Final = 10
_PERCENT: Final = 5
_ROUNDED_AWAY: Final = 0.015


def percent(share: float) -> str:
    """Return a probability in words that never claim certainty.

    >>> percent(0.998), percent(0.42), percent(0.001)
    ('>99 %', '42 %', '<1 %')
    """
    if share > 0.99:
        return ">99 %"
    return "<1 %" if share < 0.01 else f"{share * 100:.0f} %"


def suspect_lines(suspects: Sequence[tuple[str, float]], page: Page, *, rows: int = 6) -> Iterator[Text]:
    """Yield the suspects, likeliest first, and what the others amount to; nothing when there are none.

    Parameters
    ----------
    suspects
        Label and probability of each, likeliest first.
    page
        Where to draw them.
    rows
        Lines there are for them; at least 2 are used.
    """
    if not suspects:
        return
    places = _by_place(suspects)
    named = places[: max(rows - 1, 1)]
    others = _others(places, len(named))
    if page.plain:
        said = [f"{label} {percent(share)}" for label, share in named] + [others] * bool(others)
        yield from page.wrap(f"Still suspected: {'; '.join(said)}.")
        return
    head = f"  suspects{f', {others} together' if others else ''}"
    yield Text(cut(head, page.width), "heading")
    bar = min(_BAR, page.width // 6)
    for label, share in named:
        cells = (
            (percent(share), -_PERCENT - 2),
            (" ", 1),
            (page.glyphs.bar * max(round(share * bar), 1), bar + 1),
            (page.words(label), page.width - _PERCENT - bar - 4),
        )
        yield Text(columns(cells))


def _by_place(suspects: Sequence[tuple[str, float]]) -> list[tuple[str, float]]:
    """Return each place once, with all that may be wrong with it, likeliest first."""
    shares: dict[str, float] = {}
    for label, share in suspects:
        shares[label] = shares.get(label, 0.0) + share
    return sorted(shares.items(), key=lambda place: -place[1])


def _others(places: Sequence[tuple[str, float]], named: int) -> str:
    """Return what is in question besides those named: counted, unless the list itself is not the whole."""
    missing = 1.0 - sum(share for _, share in places)
    rest = sum(share for _, share in places[named:])
    if missing > _ROUNDED_AWAY:
        return f"all others {percent(rest + missing)}"
    count = len(places) - named
    return f"{count} {'other' if count == 1 else 'others'} {percent(rest)}" if count else ""
