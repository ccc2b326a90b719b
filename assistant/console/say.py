"""What is said outside the question screen: cautions, texts, the conclusion, what was understood."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from rich.text import Text

from assistant.circuit.expectation import BandName
from assistant.console.page import Page
from assistant.dialogue import Conclude, Show, Unable, Warn
from assistant.dialogue.answers import Chosen, Given
from assistant.dialogue.spans import typical_words

__all__ = [
    "Seen",
    "Share",
    "event_lines",
    "help_lines",
    "seen_lines",
    "share_lines",
    "understood",
]

WORDS: Final = (
    ("why", "why this is asked"),
    ("how", "how to do it safely"),
    ("lesson", "the idea behind it"),
    ("back", "take an answer back"),
    ("skip", "leave it open"),
    ("can't reach", "no probe gets there"),
    ("don't know", "you cannot tell"),
    ("comes and goes", "it does not stay"),
    ("again", "the question again"),
    ("show", "wiring and readings"),
    ("note ...", "keep a remark"),
    ("told ...", "what you know"),
    ("save", "leave, go on later"),
)
"""The words that are understood at any time, each on one line of a narrow page."""

MORE: Final = "help more"
"""What is typed for the rest of the help."""

_MORE: Final = (
    "back: as often as wanted.",
    "can't reach: that point is not asked again. Also: can't reach red, can't reach black.",
    "show: the wiring, where the volts go, all readings so far. Also: show wiring, show volts, show readings.",
    "told: told pump still; told 6 V from fuse out to pack -; told 1.2 A at fuse; told touched fuse.",
    "Doubt beside a point: the fault may lie between the point before and this one.",
)
_DRAWN: Final = (
    "In the feed: R and B, where red and black go. ! not as expected. | read from a point above to this one."
    " ( ) read with the boat set otherwise."
)
_KEYS: Final = "F1 how, F2 why, F3 back, F4 show. Tab completes."


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A reading or sign so far, in words.

    Attributes
    ----------
    what : where or of what.
    shown : what was read or seen.
    expect : what a healthy boat shows.
    band : how it stands to that, for a reading.
    """

    what: str
    shown: str
    expect: str = ""
    band: BandName | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """A part of the pack's volts: where they drop, and how many there are."""

    what: str
    volts: float


def event_lines(event: Show | Warn | Conclude, page: Page) -> Iterator[Text]:
    """Yield the lines of anything said but a question."""
    match event:
        case Warn():
            prefix = "Caution: " if page.plain else "! "
            yield from page.wrap(event.text, first=prefix, rest="" if page.plain else "! ", style="caution")
        case Show():
            yield from page.paragraphs(event.text)
        case Conclude():
            yield from _conclusion(event, page)


def understood(given: Given, options: Sequence[tuple[str, str]]) -> str:
    """Return what an answer was taken for; nothing for readings, which the hunt compares, and for free words.

    Parameters
    ----------
    given
        The answer as read.
    options
        Key and text of each answer that was offered.
    """
    match given:
        case Chosen():
            return f"I take it: {dict(options).get(given.key, given.key)}."
        case Unable():
            return f"I take it: {given}."
        case _:
            return ""


def help_lines(page: Page, *, more: bool = False) -> Iterator[Text]:
    """Yield the words that are understood at any time, and as much of the rest as the page has rows for.

    Parameters
    ----------
    page
        Where to draw it.
    more
        Whether only the rest is wanted: examples, marks and keys.
    """
    rest = list(_more_help(page))
    if more:
        yield from rest
        return
    yield Text("Words, at any time:")
    for word, about in WORDS:
        yield from page.wrap(about, first=f"  {word:<15} ")
    if page.plain or len(WORDS) + len(rest) + 2 <= page.rows:
        yield from rest
    else:
        yield from page.wrap("examples, marks and keys", first=f"  {MORE:<15} ")


def _more_help(page: Page) -> Iterator[Text]:
    for text in (*_MORE, *(() if page.plain else (_DRAWN,))):
        yield from page.wrap(text)
    keys = "Ctrl-C drops what you are typing. Ctrl-D saves and leaves."
    yield from page.wrap(keys if page.plain else f"{keys} {_KEYS}")


def seen_lines(seen: Sequence[Seen], page: Page) -> Iterator[Text]:
    """Yield all readings and signs so far."""
    yield Text("So far:" if seen else "Nothing read or seen so far.", "heading")
    for number, one in enumerate(seen, start=1):
        off = one.band is not None and one.band is not BandName.AS_EXPECTED
        standing = f" ({one.band})" if one.band is not None else ""
        expect = f", expect {one.expect}" if one.expect else ""
        yield from page.wrap(
            f"{one.what}: {one.shown}{standing}{expect}", first=f"{number:>2}  ", style="off" if off else ""
        )


def share_lines(shares: Sequence[Share], page: Page) -> Iterator[Text]:
    """Yield where the volts go, a place a line, their sum last."""
    if not shares:
        yield from page.wrap(
            "Where the volts go: not known here before the part in question is.", style="heading"
        )
        return
    yield from page.wrap("Where the volts go in a healthy boat, from the pack and back:", style="heading")
    volts = [page.words(typical_words(share.volts)) for share in shares]
    room = max(map(len, volts))
    for share, text in zip(shares, volts, strict=True):
        yield from page.wrap(share.what, first=f"  {text:>{room}}  ")


def _conclusion(event: Conclude, page: Page) -> Iterator[Text]:
    yield Text() if page.plain else page.rule("verdict")
    yield from page.paragraphs(event.text, style="question")
