"""The line protocol: events as plain data, one JSON object a line, and answers back.

A program that has only its own model of the boat finds everything it needs in the fields: which points a
reading is taken between, how every switch, plug and stick is set, what is moved or mended.  Points are
written ``part.terminal``, states as settings by name, an open-circuit reading or limit as ``OL``.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from typing import TypeAlias

from assistant.circuit import BoatState, Measurement
from assistant.circuit.expectation import Band
from assistant.diagnosis import ModeAt, RepairId, SignQuery
from assistant.dialogue import (
    Ask,
    Conclude,
    Event,
    Manipulation,
    RepairLeft,
    Show,
    StripPoint,
    StripRead,
    Warn,
)
from assistant.dialogue.answers import UNIT_OF
from assistant.errors import AnswerError
from assistant.quantities import Unit

Json: TypeAlias = "str | int | float | bool | list[Json] | dict[str, Json] | None"

_MAX_LINE = 10_000


def encode(event: Event) -> dict[str, Json]:
    """Return an event as plain data, ready to be written as JSON."""
    match event:
        case Ask():
            return _ask(event)
        case Show():
            return {"event": "show", "id": event.id, "text": event.text}
        case Warn():
            return {"event": "warn", "id": event.id, "text": event.text, "caution": event.caution}
        case Conclude():
            return _conclude(event)


def decode(line: str) -> str:
    """Return the answer that a line ``{"answer": …}`` carries, as a person would type it.

    Raises
    ------
    AnswerError
        When the line is no such object.

    Examples
    --------
    >>> decode('{"answer": 11.1}')
    '11.1'
    """
    hint = 'send one object a line, such as {"answer": "11.1 V"}'
    if len(line) > _MAX_LINE:
        raise AnswerError(reason=f"a line of more than {_MAX_LINE} characters", next_step=hint)
    try:
        record = json.loads(line)
    except (ValueError, RecursionError) as error:
        raise AnswerError(value=line, reason="this is no JSON", next_step=hint) from error
    answer = record.get("answer") if isinstance(record, dict) else None
    if isinstance(answer, bool):
        return "yes" if answer else "no"
    if isinstance(answer, int | float):
        return "OL" if math.isinf(answer) and answer > 0 else repr(answer)
    if not isinstance(answer, str):
        raise AnswerError(value=line, reason="no answer in it", next_step=hint)
    return answer


def _ask(ask: Ask) -> dict[str, Json]:
    found: dict[str, Json] = {
        "event": "ask",
        "id": ask.id,
        "text": ask.text,
        "want": str(ask.want),
        "options": [{"key": option.key, "text": option.text} for option in ask.options],
        "default": ask.default,
        "why": ask.why,
        "how": ask.how,
        "lesson": ask.lesson or None,
        "cautions": list(ask.cautions),
        "state": None if ask.state is None else _state(ask.state),
        "changes": {change.setting: change.value for change in ask.changes},
        "suspects": [{"label": label, "probability": chance} for label, chance in ask.suspects],
        "others": {"count": ask.others[0], "probability": ask.others[1]},
        "strip": [_strip(point) for point in ask.strip],
    }
    if ask.measurement is not None:
        found["reading"] = _measurement(ask.measurement)
        found["band"] = None if ask.band is None else _band(ask.band, UNIT_OF[ask.measurement.function])
    if ask.query is not None:
        found["sign"] = _sign(ask.query)
    if ask.wiggle is not None:
        found["watch"] = _watched(ask.wiggle.watched)
    if ask.manipulation is not None:
        found["manipulation"] = _manipulation(ask.manipulation)
    return found


def _conclude(end: Conclude) -> dict[str, Json]:
    verdict: Json = None
    if end.verdict is not None:
        verdict = {
            "outcome": str(end.verdict.outcome),
            "healthy": end.verdict.healthy,
            "unknown": end.verdict.unknown,
        }
    return {
        "event": "conclude",
        "id": end.id,
        "text": end.text,
        "ending": str(end.ending),
        "verdict": verdict,
        "repairs": [_repair_left(left) for left in end.repairs],
        "done": [_repair(repair) for repair in end.done],
        "use": end.use,
    }


def _repair_left(left: RepairLeft) -> dict[str, Json]:
    modes = [_mode(mode) for mode in left.modes]
    return {
        **_repair(left.repair),
        "label": left.label,
        "ends": None if left.ends is None else list(left.ends),
        "mode": left.modes[0].mode if left.modes else None,
        "modes": list(modes),
        "probability": left.probability,
        "remedy": left.remedy,
        "cause_first": [_repair(repair) for repair in left.cause_first],
        "follow_ups": [_repair(repair) for repair in left.follow_ups],
        "check_seconds": left.check_seconds,
    }


def _repair(repair: RepairId) -> dict[str, Json]:
    return {"place": repair.place, "action": str(repair.action)}


def _mode(mode: ModeAt) -> dict[str, Json]:
    return {"part": mode.part, "mode": mode.mode}


def _measurement(measurement: Measurement) -> dict[str, Json]:
    return {
        "function": str(measurement.function),
        "red": str(measurement.red),
        "black": str(measurement.black),
        "unit": str(UNIT_OF[measurement.function]),
    }


def _sign(query: SignQuery) -> dict[str, Json]:
    return {"part": query.part, "sign": query.sign, "state": _state(query.state)}


def _watched(watched: Measurement | SignQuery) -> dict[str, Json]:
    """Return what is watched while a place is moved: a reading or a sign."""
    return _measurement(watched) if isinstance(watched, Measurement) else _sign(watched)


def _manipulation(manipulation: Manipulation) -> dict[str, Json]:
    ends = None if manipulation.ends is None else _texts(map(str, manipulation.ends))
    return {"kind": str(manipulation.kind), "places": _texts(manipulation.places), "ends": ends}


def _texts(texts: Iterable[str]) -> list[Json]:
    return list(texts)


def _state(state: BoatState) -> dict[str, Json]:
    settings: Mapping[str, float] = dict(state.pairs)
    return dict(settings)


def _band(band: Band, unit: Unit) -> dict[str, Json]:
    return {
        "typical": _number(band.typical),
        "low": _number(band.low),
        "high": _number(band.high),
        "unit": str(unit),
    }


def _strip(point: StripPoint) -> dict[str, Json]:
    return {
        "point": str(point.point),
        "label": point.label,
        "expected": None if point.expected is None else _band(point.expected, Unit.VOLT),
        "read": _read(point.read),
        "drop": _read(point.drop),
        "suspicion": point.suspicion,
    }


def _read(read: StripRead | None) -> Json:
    if read is None:
        return None
    return {"value": _number(read.volts), "standing": str(read.standing), "here": read.here}


def _number(value: float) -> Json:
    """Return a number that JSON can hold; endless is what a meter shows as OL."""
    return value if math.isfinite(value) else "OL"
