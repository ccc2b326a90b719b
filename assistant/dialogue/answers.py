"""What a person types, understood by what was asked.

Words that are understood at any time come first; then the text is read as the ask wants it.  Spelling is
forgiven where nothing else can be meant: case, apostrophes and spaces, the start of an option's text, some of
its words with a slip in one, its number.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum

from assistant.circuit import MeterFunction
from assistant.dialogue.events import Ask, Option, Want
from assistant.errors import AnswerError, QuantityError
from assistant.quantities import Quantity, Unit, parse_quantity

MAX_TEXT = 400

UNIT_OF = {
    MeterFunction.DC_VOLTS: Unit.VOLT,
    MeterFunction.OHMS: Unit.OHM,
    MeterFunction.CONTINUITY: Unit.OHM,
    MeterFunction.DIODE_TEST: Unit.VOLT,
    MeterFunction.DC_AMPS: Unit.AMP,
    MeterFunction.AC_MILLIVOLTS: Unit.VOLT,
    MeterFunction.DUTY: Unit.RATIO,
    MeterFunction.FREQUENCY: Unit.HERTZ,
    MeterFunction.LAMP: Unit.RATIO,
}
_LIMITS = {
    MeterFunction.DC_VOLTS: (-1000.0, 1000.0),
    MeterFunction.OHMS: (0.0, 1e9),
    MeterFunction.CONTINUITY: (0.0, 1e9),
    MeterFunction.DIODE_TEST: (0.0, 10.0),
    MeterFunction.DC_AMPS: (-100.0, 100.0),
    MeterFunction.AC_MILLIVOLTS: (0.0, 1000.0),
    MeterFunction.DUTY: (0.0, 1.0),
    MeterFunction.FREQUENCY: (0.0, 1e8),
    MeterFunction.LAMP: (0.0, 2.0),
}
_MILLI_FROM = {
    MeterFunction.DIODE_TEST: 10.0,
    MeterFunction.DC_AMPS: 25.0,
    MeterFunction.AC_MILLIVOLTS: 0.0,
}
"""A bare number from this on is in thousandths, in which displays count there: no meter carries so many amps."""

NO_PULSES = frozenset(
    {"none", "nothing", "no signal", "no pulses", "blank", "dashes", "-", "--", "---", "----"}
)
"""What people say of a display that counts no pulses."""

_RANGED = {MeterFunction.DC_VOLTS: "DC volts", MeterFunction.AC_MILLIVOLTS: "AC volts"}
_ENDLESS = frozenset({MeterFunction.OHMS, MeterFunction.CONTINUITY, MeterFunction.DIODE_TEST})
"""Functions on which OL is an answer."""

_ALIKE = 0.8
_SLIP_FROM = 4
"""How alike two words must be, and how long one, to be taken for one word with a slip in it."""


class Word(StrEnum):
    """Words understood at any time; their values are what is typed."""

    WHY = "why"
    HOW = "how"
    BACK = "back"
    SAVE = "save"
    NOTE = "note"
    LESSON = "lesson"
    TOLD = "told"


class Unable(StrEnum):
    """Ways to leave a question open."""

    SKIP = "skip"
    CANT_REACH = "can't reach"
    CANT_REACH_RED = "can't reach red"
    CANT_REACH_BLACK = "can't reach black"
    DONT_KNOW = "don't know"
    COMES_AND_GOES = "comes and goes"


@dataclass(frozen=True, slots=True, kw_only=True)
class Aside:
    """A word of a person that answers nothing, with what follows it."""

    word: Word
    rest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The key of an option, ``yes`` and ``no`` for a confirmation."""

    key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """Free words."""

    text: str


Given = Chosen | Quantity | Said | Unable

_UNABLE = {
    "skip": Unable.SKIP,
    "pass": Unable.SKIP,
    "cant reach": Unable.CANT_REACH,
    "cannot reach": Unable.CANT_REACH,
    "can not reach": Unable.CANT_REACH,
    "no reach": Unable.CANT_REACH,
    "cant reach red": Unable.CANT_REACH_RED,
    "cannot reach red": Unable.CANT_REACH_RED,
    "cant reach black": Unable.CANT_REACH_BLACK,
    "cannot reach black": Unable.CANT_REACH_BLACK,
    "dont know": Unable.DONT_KNOW,
    "do not know": Unable.DONT_KNOW,
    "not sure": Unable.DONT_KNOW,
    "unsure": Unable.DONT_KNOW,
    "comes and goes": Unable.COMES_AND_GOES,
    "on and off": Unable.COMES_AND_GOES,
    "sometimes": Unable.COMES_AND_GOES,
    "jumps": Unable.COMES_AND_GOES,
    "it jumps": Unable.COMES_AND_GOES,
    "jumping": Unable.COMES_AND_GOES,
    "unsteady": Unable.COMES_AND_GOES,
    "it comes and goes": Unable.COMES_AND_GOES,
    "stops and goes": Unable.COMES_AND_GOES,
    "at times": Unable.COMES_AND_GOES,
    "now and then": Unable.COMES_AND_GOES,
    "intermittent": Unable.COMES_AND_GOES,
    "it changes": Unable.COMES_AND_GOES,
    "changes": Unable.COMES_AND_GOES,
    "it varies": Unable.COMES_AND_GOES,
}
_YES = frozenset({"yes", "y", "ok", "done", "1"})
_NO = frozenset({"no", "n", "2"})
_OVER = frozenset({"ol", "0l", "o.l", "0.l", "overload"})
BEEPS = {"beep": 0.0, "beeps": 0.0, "no beep": float("inf"), "silent": float("inf")}


_VOLUNTEERED = re.compile(
    r"[-+]?[0-9]+(?:[.,][0-9]+)?\s?(?:m?v(?:\s?ac)?|volts?|ohms?|kohms?|ω|m?a|amps?|k?hz|hertz)\b"
)
_TWO_FIGURES = re.compile(r"[0-9][^0-9.,]+[0-9]")
_NOTHING = frozenset({"nothing", "none", "nothing happens", "nothing at all"})
_NONE_OF_IT = re.compile(r"(it )?(is |stays )?(dark|silent|no|does not|nothing)\b")
"""How an answer begins that says that something does not show; people say nothing for it."""

_VAGUE = frozenset({"fine", "good", "ok", "okay", "normal", "full", "all right", "as it should be"})


def plain(text: str) -> str:
    """Return typed text in one spelling: lower case, single spaces, no apostrophes.

    >>> plain("  Can’t   REACH ")
    'cant reach'
    """
    normal = unicodedata.normalize("NFKC", text).casefold()
    return " ".join(re.sub(r"['’`´]", "", normal).split())


def aside_of(text: str) -> Aside | None:
    """Return the word understood at any time that `text` is, or None.

    >>> aside_of("Note  sand in the pump").rest
    'sand in the pump'
    """
    first, _, rest = text.strip().partition(" ")
    word = plain(first).rstrip("?.!:")
    if word in (Word.NOTE, Word.TOLD):
        return Aside(word=Word(word), rest=rest.strip())
    found = plain(text).rstrip("?.!")
    return Aside(word=Word(found), rest="") if found in set(Word) else None


def volunteers(text: str) -> bool:
    """Tell whether `text` is a reading with its unit, whatever was asked.

    >>> (
    ...     volunteers("12 V"),
    ...     volunteers("12"),
    ...     volunteers("12 volts at the fuse"),
    ...     volunteers("1,2 A"),
    ...     volunteers("50 Hz"),
    ... )
    (True, False, True, True, True)
    """
    return bool(_VOLUNTEERED.match(plain(text)))


def is_bare(text: str) -> bool:
    """Tell whether `text` is a number without a unit.

    >>> is_bare("0,6"), is_bare("0.6 V"), is_bare("")
    (True, False, False)
    """
    return bool(re.fullmatch(r"\s*[-+]?[0-9]+(?:[.,][0-9]+)?\s*", text))


def rounding_v(text: str) -> float:
    """Return half of the last digit of volts as typed; a plain 0 is what people type for 0.00, so it has none.

    >>> rounding_v("12 V"), round(rounding_v("11,1"), 3), rounding_v("1500 mV"), rounding_v("0 V")
    (0.5, 0.05, 0.0005, 0.0)
    """
    found = re.search(r"(?P<whole>[0-9]+)(?:[.,](?P<part>[0-9]+))?\s*(?P<milli>m?)", text)
    if found is None or (found["part"] is None and not int(found["whole"])):
        return 0.0
    return 0.5 * 10.0 ** -len(found["part"] or "") * (1e-3 if found["milli"] else 1.0)


def answer_of(text: str, ask: Ask) -> Given:
    """Return what `text` says in answer to `ask`.

    Raises
    ------
    AnswerError
        When it fits nothing that was asked.
    QuantityError
        When a reading cannot be understood.
    """
    if not text.strip() and ask.default is not None:
        text = ask.default
    if ask.want is Want.TEXT:
        return _said(text)
    spelled = plain(text)
    unable = _UNABLE.get(spelled)
    if unable is not None and (unable is not Unable.COMES_AND_GOES or ask.measurement or ask.query):
        return unable
    if not spelled:
        raise AnswerError(reason="nothing was typed", next_step=_hint(ask))
    if ask.want is Want.CONFIRM:
        return _confirmed(text, spelled)
    return _reading(text, spelled, ask) if ask.want is Want.READING else _chosen(text, spelled, ask)


def _said(text: str) -> Given:
    if len(text) > MAX_TEXT:
        raise AnswerError(reason=f"longer than {MAX_TEXT} characters", next_step="say it in fewer words")
    return Said(text=text.strip())


def _confirmed(text: str, spelled: str) -> Given:
    if spelled in _YES:
        return Chosen(key="yes")
    if spelled in _NO:
        return Chosen(key="no")
    raise AnswerError(value=text, reason="neither yes nor no", next_step="type 1 for yes, 2 for no")


def _chosen(text: str, spelled: str, ask: Ask) -> Given:
    for option in ask.options:
        if spelled == plain(option.key) or spelled in option.says:
            return Chosen(key=option.key)
    if spelled.isascii() and spelled.isdigit():
        number = int(spelled) if len(spelled) < len(str(MAX_TEXT)) else 0
        if 1 <= number <= len(ask.options):
            return Chosen(key=ask.options[number - 1].key)
    absent = [option for option in ask.options if _NONE_OF_IT.match(plain(option.text))]
    if spelled in _NOTHING and len(absent) == 1:
        return Chosen(key=absent[0].key)
    starts = [
        option
        for option in ask.options
        if plain(option.text).startswith(spelled) or plain(option.key).startswith(spelled)
    ]
    fitting = starts or [option for option in ask.options if _has_words(option, spelled)]
    if len(fitting) == 1:
        return Chosen(key=fitting[0].key)
    reason = "fits more than one answer" if fitting else "none of the answers"
    raise AnswerError(value=text, reason=reason, next_step=_hint(ask))


def _has_words(option: Option, spelled: str) -> bool:
    """Tell whether an answer has every word that was typed; a slip in a longer word is forgiven."""
    words = re.findall(r"[\w-]+", plain(option.text))
    typed = re.findall(r"[\w-]+", spelled)
    return bool(typed) and all(word in words or bool(_close(word, words)) for word in typed)


def _close(word: str, words: list[str]) -> list[str]:
    return get_close_matches(word, words, n=1, cutoff=_ALIKE) if len(word) >= _SLIP_FROM else []


def _reading(text: str, spelled: str, ask: Ask) -> Given:
    function = ask.measurement.function if ask.measurement else MeterFunction.DC_VOLTS
    unit = UNIT_OF[function]
    if function is MeterFunction.CONTINUITY and spelled in BEEPS:
        return Quantity(value=BEEPS[spelled], unit=unit)
    if spelled in _VAGUE:
        step = "type the figure on the display, read at these two points with the boat set just so"
        raise AnswerError(
            value=text, reason="that is a judgement, and the figure may say something else", next_step=step
        )
    if function in _RANGED and spelled in _OVER:
        step = f"turn to the next larger {_RANGED[function]} range and read again"
        raise AnswerError(value=text, reason="OL on volts means that the range is too small", next_step=step)
    if function is MeterFunction.DC_AMPS and spelled in _OVER:
        step = "unplug, then the largest range with the red lead in its hole, and read again"
        raise AnswerError(value=text, reason="OL on amps means that the range is too small", next_step=step)
    if function.is_pulsed and (spelled in NO_PULSES or spelled in _OVER):
        return Quantity(value=0.0, unit=unit)
    if function is MeterFunction.DUTY and is_bare(text):
        text = f"{text} %"
    low, high = _LIMITS[function]
    if is_bare(text) and abs(_number(text)) >= _MILLI_FROM.get(function, math.inf):
        text = f"{text} m{unit}"
    overload = function in _ENDLESS
    try:
        return parse_quantity(text, unit, allow_overload=overload, low=low, high=high)
    except QuantityError:
        if not _TWO_FIGURES.search(spelled):
            raise
        step = "type the one that stays; where the display jumps, type: comes and goes"
        raise AnswerError(value=text, reason="that is more than one figure", next_step=step) from None


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _hint(ask: Ask) -> str:
    """Say what can be typed."""
    if ask.want is Want.READING:
        return "type what the meter shows, such as 11.1 V, or: can't reach, don't know, comes and goes"
    if ask.want is Want.CONFIRM:
        return "type 1 for yes, 2 for no"
    return f"type a number from 1 to {len(ask.options)}, or words of an answer"
