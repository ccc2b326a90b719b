"""Reading the radio: controls, channels with their three-wire leads, mix and trim."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from assistant.catalogue import InputSpec, Kind
from assistant.documents import Mapping as Fields
from assistant.documents import (
    Mark,
    Node,
    Problems,
    Scalar,
    choice_of,
    entries_of,
    mapping_fields,
    quantity_of,
    suggestion,
    text_of,
    whole_of,
)
from assistant.errors import quote
from assistant.quantities import Unit, awg_mm2
from assistant.wiring.leads import Draft, Gauge
from assistant.wiring.load_parts import id_ok
from assistant.wiring.load_runs import Hop, hop_of
from assistant.wiring.model import Channel, Control, ControlKind, JointKind, Part, Point, Radio
from assistant.wiring.settings import TRANSMITTER

_RESTS = {ControlKind.STICK: 0.0, ControlKind.LEVER: -1.0, ControlKind.SWITCH: -1.0}
_MOST_CHANNELS = 18
_MOST_MIX = 1.5
_MOST_TRIM = 0.5
_PLUGS = (JointKind.PLUGGED, JointKind.PLUGGED)
# A servo lead as sold: three cores of 26 AWG, 30 cm (common practice, no source).
_SERVO_LEAD = Gauge(area_mm2=awg_mm2(26), length_m=0.3)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plugged:
    """A channel as written, before its mix is known."""

    number: int
    receiver: str
    device: str
    input: InputSpec
    mark: Mark
    drafts: tuple[Draft, ...]


def radio_of(
    node: Node | None, parts: dict[str, Part], unread: frozenset[str], limits: Kind, problems: Problems
) -> tuple[Radio, list[Draft], dict[int, Mark]]:
    """Return the radio, the leads of its channels and where each is described; parameters as for `runs_of`."""
    fields = (
        mapping_fields(node, ("controls", "channels", "mix", "trim"), (), problems)
        if node is not None
        else {}
    )
    controls = _controls(fields.get("controls"), problems)
    plugged, known_numbers = _channels(fields.get("channels"), parts, unread, limits, problems)
    mixes = _by_channel(fields.get("mix"), known_numbers, problems)
    trims = _by_channel(fields.get("trim"), known_numbers, problems)
    channels = {}
    for number, plug in plugged.items():
        if number not in mixes:
            what = f"nothing says what moves channel {number}"
            problems.add(
                plug.mark,
                "missing-mix",
                what,
                f'add it to the mix: "{number}: {{{_example(controls)}: 100 %}}"',
            )
        trim = quantity_of(trims.get(number), Unit.RATIO, problems, low=-_MOST_TRIM, high=_MOST_TRIM)
        channels[number] = Channel(
            number=number,
            receiver=plug.receiver,
            device=plug.device,
            input=plug.input.name,
            mix=MappingProxyType(_mix(mixes.get(number), controls, problems)),
            trim=trim.value if trim else 0.0,
        )
    drafts = [draft for plug in plugged.values() for draft in plug.drafts]
    radio = Radio(controls=MappingProxyType(controls), channels=MappingProxyType(channels))
    return radio, drafts, {number: plug.mark for number, plug in plugged.items()}


def _example(controls: dict[str, Control]) -> str:
    return next(iter(controls), "throttle")


def _controls(node: Node | None, problems: Problems) -> dict[str, Control]:
    found = {}
    for key, body in entries_of(node, problems):
        kind = choice_of(body, ControlKind, problems)
        if key.text == TRANSMITTER:
            problems.add(key.mark, "id", f"the control {quote(key.text)}", "give it another name")
        elif id_ok(key, "the control", problems):
            # A control of unknown kind is still one that channels may name.
            kind = kind or ControlKind.STICK
            found[key.text] = Control(id=key.text, kind=kind, rest=_RESTS[kind])
    return found


def _channels(
    node: Node | None, parts: dict[str, Part], unread: frozenset[str], limits: Kind, problems: Problems
) -> tuple[dict[int, _Plugged], set[int]]:
    """Return the channels that could be read, and the numbers of all that were written."""
    found: dict[int, _Plugged] = {}
    numbers: dict[int, Mark] = {}
    taken: dict[tuple[str, str], int] = {}
    for key, body in entries_of(node, problems):
        number = whole_of(key, problems, low=1, high=_MOST_CHANNELS)
        if number is None:
            continue
        if number in numbers:
            what = f"channel {number} again, first on line {numbers[number].line}"
            problems.add(key.mark, "duplicate-channel", what, "keep one of the two")
            continue
        numbers[number] = key.mark
        plug = _channel(number, key, body, parts, unread, limits, problems)
        if plug is None:
            continue
        socket = (plug.device, plug.input.name)
        if socket in taken:
            what = f"channels {taken[socket]} and {number} both go to {quote(plug.device)}"
            problems.add(key.mark, "duplicate-channel", what, "keep one of the two")
        taken[socket] = number
        found[number] = plug
    return found, set(numbers)


def _channel(
    number: int,
    key: Scalar,
    body: Node,
    parts: dict[str, Part],
    unread: frozenset[str],
    limits: Kind,
    problems: Problems,
) -> _Plugged | None:
    fields = (
        mapping_fields(body, ("lead", "cut", "receiver"), ("to",), problems)
        if isinstance(body, Fields)
        else {"to": body}
    )
    receiver = _receiver(fields.get("receiver"), key, parts, unread, problems)
    target = _input(fields.get("to"), parts, unread, problems)
    cut = choice_of(fields.get("cut"), ("+",), problems)
    hop = hop_of(fields.get("lead"), limits, problems)
    if receiver is None or target is None:
        return None
    device, spec = target
    return _Plugged(
        number=number,
        receiver=receiver,
        device=device,
        input=spec,
        mark=key.mark,
        drafts=_cores(number, receiver, device, spec, cut is not None, hop, key.mark),
    )


def _cores(
    number: int, receiver: str, device: str, spec: InputSpec, red_cut: bool, hop: Hop | None, mark: Mark
) -> tuple[Draft, ...]:
    pins = {"s": spec.signal, "+": None if red_cut else spec.positive, "-": spec.negative}
    return tuple(
        Draft(
            ends=(Point(part=receiver, terminal=f"{number}{pin}"), Point(part=device, terminal=terminal)),
            joints=_PLUGS,
            gauge=hop.gauge if hop else _SERVO_LEAD,
            cable=f"channel {number}",
            mark=mark,
        )
        for pin, terminal in pins.items()
        if terminal is not None
    )


def _receiver(
    node: Node | None, key: Scalar, parts: dict[str, Part], unread: frozenset[str], problems: Problems
) -> str | None:
    receivers = [name for name, part in parts.items() if part.kind.slots is not None]
    if node is not None:
        named = text_of(node, problems)
        return None if named in unread else choice_of(node, receivers, problems)
    if len(receivers) == 1:
        return receivers[0]
    if receivers:
        mend = f'add "receiver: …", one of: {", ".join(receivers)}'
        problems.add(key.mark, "receiver", f"channel {quote(key.text)} may belong to several receivers", mend)
    elif not unread:
        problems.add(key.mark, "receiver", "there is no receiver for the channels", "add one to the parts")
    return None


def _input(
    node: Node | None, parts: dict[str, Part], unread: frozenset[str], problems: Problems
) -> tuple[str, InputSpec] | None:
    text = text_of(node, problems)
    if node is None or text is None:
        return None
    words = text.split(maxsplit=1)
    device, named = words[0], words[1].strip() if len(words) == 2 else None
    if device in unread:
        return None
    able = [name for name, part in parts.items() if part.kind.inputs]
    if device not in parts:
        problems.add(node.mark, "unknown-part", f"unknown part {quote(device)}", suggestion(device, able))
        return None
    inputs = parts[device].kind.inputs
    if not inputs:
        what = f"{quote(device)} ({parts[device].kind.name}) has no signal input"
        problems.add(node.mark, "no-input", what, suggestion(device, able))
    elif named is None and len(inputs) > 1:
        mend = f"write one of: {', '.join(f'{device} {name}' for name in inputs)}"
        problems.add(node.mark, "input", f"{quote(device)} has several signal inputs", mend)
    elif named is not None and named not in inputs:
        what = f"{quote(device)} has no signal input {quote(named)}"
        problems.add(node.mark, "unknown-input", what, suggestion(named, inputs))
    else:
        return device, inputs[named] if named is not None else next(iter(inputs.values()))
    return None


def _by_channel(node: Node | None, numbers: set[int], problems: Problems) -> dict[int, Node]:
    found: dict[int, Node] = {}
    for key, body in entries_of(node, problems):
        number = whole_of(key, problems, low=1, high=_MOST_CHANNELS)
        if number is None:
            continue
        if number not in numbers:
            mend = f"use one of: {', '.join(map(str, sorted(numbers)))}" if numbers else "remove it"
            problems.add(key.mark, "unknown-channel", f"there is no channel {number}", mend)
        elif number in found:
            problems.add(key.mark, "duplicate-channel", f"channel {number} again", "keep one of the two")
        else:
            found[number] = body
    return found


def _mix(node: Node | None, controls: dict[str, Control], problems: Problems) -> dict[str, float]:
    found = {}
    if isinstance(node, Fields) and not node.items:
        problems.add(node.mark, "missing-mix", "an empty mix", f'write "{{{_example(controls)}: 100 %}}"')
    for key, body in entries_of(node, problems):
        share = quantity_of(body, Unit.RATIO, problems, low=-_MOST_MIX, high=_MOST_MIX)
        if key.text not in controls:
            what = f"unknown control {quote(key.text)}"
            problems.add(key.mark, "unknown-control", what, suggestion(key.text, controls))
        elif share is not None:
            found[key.text] = share.value
    return found
