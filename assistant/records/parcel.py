"""A case from elsewhere, looked at with distrust before anything of it is kept.

The check of each line shows damage, not intent: whoever writes a file can write its checks too. So every text is
held to what the program itself would have recorded, and nothing in the file chooses where it goes.
"""

import unicodedata
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from assistant.errors import CaseError
from assistant.records.journal import read_bytes
from assistant.records.lines import Contents, read_contents
from assistant.records.trouble import refusal
from assistant.records.words import harmless
from assistant.session import Entry

__all__ = ["Parcel", "open_parcel"]

_MOST_ENTRIES: Final = 5000
_LONGEST_ANSWER: Final = 10_000
_LONGEST_NAME: Final = 400
_LONGEST_WIRING: Final = 1024 * 1024
_KEPT_IN_WIRING: Final = "\t\n\r"
# Signs that turn the direction of writing, so that a text shows as another than it is.
_TURNING: Final = frozenset(map(chr, [*range(0x202A, 0x202F), *range(0x2066, 0x206A)]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Parcel:
    """A case that may be added: its complete lines, and what they hold."""

    data: bytes
    contents: Contents


def open_parcel(path: Path) -> Parcel:
    """Return the case in a file from elsewhere.

    Raises
    ------
    CaseError
        If it cannot be read, is no case, is damaged, far too big, or holds what no hunt records.
    """
    place = harmless(str(path))
    try:
        data = read_bytes(path)
    except OSError as error:
        raise refusal(error, path, other="name a file you may read") from error
    contents = read_contents(data, place)
    header = contents.header
    _short(place, 1, header.engine, header.knowledge, header.boat, header.file, header.symptom, *header.meter)
    _short(place, 1, *(repair for repair, _ in header.past))
    _time(place, 1, header.started)
    _wiring(place, header.wiring)
    if len(contents.entries) > _MOST_ENTRIES:
        _refuse(place, f"more than {_MOST_ENTRIES} answers")
    for number, record in enumerate(contents.entries, start=1):
        entry = Entry.of(record, number)
        if len(entry.answer) > _LONGEST_ANSWER or record.keys() != entry.as_dict().keys():
            _refuse(place, f"answer {number} is not what a hunt records")
        _printable(place, f"answer {number}", entry.answer)
        _short(place, number + 1, entry.ask, entry.digest)
        _time(place, number + 1, entry.at)
    for remark in contents.remarks:
        _printable(place, "a remark", remark.text)
        _short(place, 1, remark.place, remark.text[:_LONGEST_NAME])
        _time(place, 1, remark.at)
    if contents.closing is not None:
        closing = contents.closing
        _printable(place, "the closing", closing.text)
        _short(place, 1, closing.outcome, *closing.done, *closing.left)
        _time(place, 1, closing.at)
    return Parcel(data=data[: contents.size], contents=contents)


def _short(place: str, line: int, *texts: str) -> None:
    for text in texts:
        if len(text) > _LONGEST_NAME:
            _refuse(place, f"near line {line} a name of {len(text)} characters")
        _printable(place, f"near line {line} a name", text)


def _printable(place: str, what: str, text: str) -> None:
    if any(unicodedata.category(sign) in {"Cc", "Cs"} or sign in _TURNING for sign in text):
        _refuse(place, f"{what} holds control characters")


def _time(place: str, line: int, text: str) -> None:
    try:
        datetime.fromisoformat(text)
    except ValueError:
        _refuse(place, f"near line {line} something that is no date and time")


def _wiring(place: str, text: str) -> None:
    if len(text) > _LONGEST_WIRING:
        _refuse(place, "its wiring description is far too big")
    plain = "".join(character for character in text if character not in _KEPT_IN_WIRING)
    _printable(place, "its wiring description", plain)


def _refuse(place: str, reason: str) -> None:
    raise CaseError(
        place=place,
        reason=f"this is no case as leadline records one: {reason}",
        next_step="ask for the file anew; nothing was changed",
    )
