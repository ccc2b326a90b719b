"""The lines of a recorded case, and how damage to them is found.

A case is a text file of JSON lines: first the header, then one line an answer, a closing line whenever the
hunt came to an end, and a line for each remark made beside the dialogue. Every line carries a check: a digest
of its own content and of the check before it. So a line that was changed, lost, doubled or moved is found and
named, while a last line without its line end is what a program that died in the middle of writing leaves
behind: that answer was never acknowledged, and it is dropped.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final, NoReturn

from assistant.diagnosis import AtHand
from assistant.errors import CaseError

__all__ = [
    "SCHEMA",
    "Closing",
    "Contents",
    "Header",
    "Line",
    "Remark",
    "RemarkKind",
    "encode",
    "read_contents",
]

SCHEMA: Final = 1
"""Version of the form described here; a file of a later one is refused."""

_CHECK_DIGITS: Final = 16
_HEADER_TEXTS: Final = ("engine", "knowledge", "boat", "file", "wiring", "symptom", "started")


class _Kind(StrEnum):
    """What a line is."""

    CASE = "case"
    ANSWER = "answer"
    CLOSED = "closed"
    REMARK = "remark"


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What a case was begun with; enough to go on with it on another machine.

    Attributes
    ----------
    engine : version of the program that began it.
    knowledge : digest of the knowledge it was begun with.
    boat : name of the boat.
    file : name of the file of the wiring description, for messages about it.
    wiring : the text of that description.
    symptom : id of the symptom.
    started : date and time with offset (ISO 8601).
    meter : functions of the meter at hand; empty without a meter.
    profile : the description of that meter; empty for a cheap one.
    seed : what fixes chance in this run; absent where nothing is left to chance.
    past : repairs of earlier cases that the hunt reckoned with, as ``action place``, each with its count.
    at_hand : what there was to try with; None: nothing was tried.
    """

    engine: str
    knowledge: str
    boat: str
    file: str
    wiring: str
    symptom: str
    started: str
    meter: tuple[str, ...] = ()
    seed: int | None = None
    past: tuple[tuple[str, int], ...] = ()
    at_hand: tuple[str, ...] | None = None
    profile: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Closing:
    """How the hunt ended, for lists of cases; the verdict itself follows from the answers.

    Attributes
    ----------
    outcome : the ending.
    text : the repairs in words.
    at : date and time.
    done, left : repairs made and repairs still to make, as ``action place``.
    """

    outcome: str
    text: str
    at: str
    done: tuple[str, ...] = ()
    left: tuple[str, ...] = ()


class RemarkKind(StrEnum):
    """What is remarked beside the dialogue."""

    NOTE = "note"
    WHO = "who"
    METER = "meter"
    TEMPORARY = "temporary"
    UNDONE = "undone"
    MENDED = "mended"


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """Something added to a case beside its answers; it changes nothing of the dialogue.

    Attributes
    ----------
    kind : what it is about: a note, who measured, with which meter, a temporary repair, one undone at the
    bench, a repair made there.
    text : what was said.
    place : the part, wire or joint, by id; empty where it is about none.
    at : date and time with offset (ISO 8601).
    """

    kind: RemarkKind
    text: str
    place: str = ""
    at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line as written, and its check, which the next line builds on."""

    data: bytes
    check: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """A case as read.

    Attributes
    ----------
    header : what it was begun with.
    entries : what was recorded of each answer, in order.
    closing : how it ended, unless it was gone on with since.
    remarks : what was added beside the answers, in order.
    size : bytes of the complete lines; what follows them is a line that was being written.
    check : check of the last complete line.
    """

    header: Header
    entries: tuple[Mapping[str, object], ...]
    closing: Closing | None
    remarks: tuple[Remark, ...] = ()
    size: int
    check: str


def encode(content: Header | Closing | Remark | Mapping[str, object], check: str = "") -> Line:
    r"""Return the line for a header, an answer, a closing or a remark.

    Parameters
    ----------
    content
        What to record. For an answer any mapping of plain values.
    check
        Check of the line before; empty for the header.

    Raises
    ------
    ValueError
        If an answer holds a number that JSON does not know, or text that is no Unicode.
    TypeError
        If an answer holds a value that JSON does not know.

    Examples
    --------
    >>> encode({"n": 1, "answer": "yes"}).data[:35]
    b'{"line":"answer","n":1,"answer":"ye'
    """
    record = _record(content)
    own = _digest(record, check)
    return Line(data=_dump({**record, "check": own}).encode() + b"\n", check=own)


def read_contents(data: bytes, place: str) -> Contents:
    """Return what a recorded case holds.

    Parameters
    ----------
    data
        The bytes of the file.
    place
        The file, as a person knows it.

    Raises
    ------
    CaseError
        Naming the line, if one is damaged, missing or of a later form. A last line without its line end is
        left out instead.
    """
    *complete, rest = data.split(b"\n")
    if not complete:
        _refuse(
            place, 1, "the first line is cut off, so nothing was recorded" if rest else "the file is empty"
        )
    header: Header | None = None
    entries: list[Mapping[str, object]] = []
    closing: Closing | None = None
    remarks: list[Remark] = []
    check = ""
    for number, raw in enumerate(complete, start=1):
        record, check = _opened(raw, check, place, number)
        match record.pop("line", None):
            case _Kind.CASE if number == 1:
                header = _header(record, place)
            case _Kind.ANSWER if number > 1:
                entries.append(MappingProxyType(record))
                closing = None
            case _Kind.CLOSED if number > 1:
                closing = _closing(record, place, number)
            case _Kind.REMARK if number > 1:
                remarks.append(_remark(record, place, number))
            case _:
                _refuse(place, number, "it is not the line that belongs here")
    if header is None:
        _refuse(place, 1, "it is not the header of a case")
    return Contents(
        header=header,
        entries=tuple(entries),
        closing=closing,
        remarks=tuple(remarks),
        size=len(data) - len(rest),
        check=check,
    )


def _record(content: Header | Closing | Remark | Mapping[str, object]) -> dict[str, object]:
    if isinstance(content, Header):
        texts = {name: getattr(content, name) for name in _HEADER_TEXTS}
        return {
            "line": _Kind.CASE,
            "schema": SCHEMA,
            **texts,
            "meter": list(content.meter),
            "seed": content.seed,
            "past": dict(content.past),
            **({} if content.at_hand is None else {"at_hand": list(content.at_hand)}),
            **({"profile": content.profile} if content.profile else {}),
        }
    if isinstance(content, Closing):
        lists = {"done": list(content.done), "left": list(content.left)}
        words = {"outcome": content.outcome, "text": content.text, "at": content.at}
        return {"line": _Kind.CLOSED, **words, **lists}
    if isinstance(content, Remark):
        words = {"kind": str(content.kind), "text": content.text, "place": content.place, "at": content.at}
        return {"line": _Kind.REMARK, **words}
    if {"line", "check"} & content.keys():
        raise ValueError("an answer may not use the names 'line' and 'check'")
    return {"line": _Kind.ANSWER, **content}


def _dump(record: Mapping[str, object], *, ordered: bool = False) -> str:
    return json.dumps(record, ensure_ascii=False, allow_nan=False, sort_keys=ordered, separators=(",", ":"))


def _digest(record: Mapping[str, object], before: str) -> str:
    return hashlib.sha256((before + _dump(record, ordered=True)).encode()).hexdigest()[:_CHECK_DIGITS]


def _opened(raw: bytes, before: str, place: str, number: int) -> tuple[dict[str, object], str]:
    """Return the content of a line without its check, and the check."""
    try:
        record = json.loads(raw.decode(), object_pairs_hook=_unique, parse_constant=_no_constant)
        if not isinstance(record, dict):
            _refuse(place, number, "it is not an object of names and values")
        if number == 1:
            _known_form(record, place)
        check = record.pop("check", None)
        right = _digest(record, before)
    except (ValueError, RecursionError) as error:
        _refuse(place, number, "it cannot be read", error)
    if check != right:
        _refuse(place, number, "its check does not fit: it was changed, or a line before it is missing")
    return record, right


def _known_form(record: Mapping[str, object], place: str) -> None:
    # Before the check, which a later form may compute in another way.
    schema = record.get("schema")
    if record.get("line") == _Kind.CASE and schema != SCHEMA:
        raise CaseError(
            value=schema,
            place=f"{place}, line 1",
            reason=f"this program knows cases of form {SCHEMA} only",
            next_step="use the version of leadline that wrote it, or a later one",
        )


def _unique(pairs: list[tuple[str, object]]) -> dict[str, object]:
    record = dict(pairs)
    if len(record) < len(pairs):
        raise ValueError("a name stands twice")
    return record


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no value")


def _header(record: Mapping[str, object], place: str) -> Header:
    texts = [record.get(name) for name in _HEADER_TEXTS]
    seed, meter, profile = record.get("seed"), record.get("meter"), record.get("profile", "")
    if not isinstance(meter, list) or not all(isinstance(text, str) for text in [*texts, *meter]):
        _refuse(place, 1, "the header lacks a value")
    if not isinstance(profile, str):
        _refuse(place, 1, "the description of the meter is no text")
    if not (seed is None or isinstance(seed, int)):
        _refuse(place, 1, "the seed is no whole number")
    engine, knowledge, boat, file, wiring, symptom, started = map(str, texts)
    return Header(
        engine=engine,
        knowledge=knowledge,
        boat=boat,
        file=file,
        wiring=wiring,
        symptom=symptom,
        started=started,
        meter=tuple(map(str, meter)),
        seed=seed,
        past=_past(record, place),
        at_hand=_at_hand(record, place),
        profile=profile,
    )


def _at_hand(record: Mapping[str, object], place: str) -> tuple[str, ...] | None:
    things = record.get("at_hand")
    if things is None:
        return None
    if not isinstance(things, list) or not set(things) <= set(AtHand):
        _refuse(place, 1, "what was at hand is not known here")
    return tuple(map(str, things))


def _past(record: Mapping[str, object], place: str) -> tuple[tuple[str, int], ...]:
    past = record.get("past", {})
    if not isinstance(past, dict) or not all(type(count) is int and count > 0 for count in past.values()):
        _refuse(place, 1, "the earlier repairs are no counts")
    return tuple(past.items())


def _closing(record: Mapping[str, object], place: str, number: int) -> Closing:
    outcome, text, at = (record.get(name) for name in ("outcome", "text", "at"))
    if not (isinstance(outcome, str) and isinstance(text, str) and isinstance(at, str)):
        _refuse(place, number, "the closing lacks a value")
    done, left = (_texts(record.get(name, []), place, number) for name in ("done", "left"))
    return Closing(outcome=outcome, text=text, at=at, done=done, left=left)


def _texts(value: object, place: str, number: int) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(text, str) for text in value):
        _refuse(place, number, "the repairs are no list of words")
    return tuple(map(str, value))


def _remark(record: Mapping[str, object], place: str, number: int) -> Remark:
    kind, text, part, at = (record.get(name) for name in ("kind", "text", "place", "at"))
    known = kind if kind in set(RemarkKind) else None
    if not (
        isinstance(known, str) and isinstance(text, str) and isinstance(part, str) and isinstance(at, str)
    ):
        _refuse(place, number, "the remark lacks a value, or is of a kind not known here")
    return Remark(kind=RemarkKind(known), text=text, place=part, at=at)


def _refuse(place: str, number: int, reason: str, cause: Exception | None = None) -> NoReturn:
    raise CaseError(
        place=f"{place}, line {number}",
        reason=reason,
        next_step="restore the file from a copy, or begin a new case; nothing was changed",
    ) from cause
