"""Changing a described boat: one value, part, lead or channel at a time, each in its place in the file."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from assistant.catalogue import Catalogue, Group, Kind, Reach
from assistant.cli.asking import Asker
from assistant.errors import AnswerError
from assistant.plan import Document, Form, Question, amending, read_document
from assistant.quantities import Unit, parse_quantity, show
from assistant.wiring import Boat, ControlKind, Point, described_parts, load_boat, point_label, spoken_value

__all__ = ["CHANGES", "Change", "Work", "open_work"]

_DONE: Final = "done"
_NEW: Final = "new"
_NOWHERE: Final = "nowhere"
_USUAL: Final = "usual"
_MOST_CHANNELS: Final = 18
_LEAD: Final = "Size, length, and what ends it (soldered, crimped, plug, screwed)?"
_THIN_LEAD: Final = "20 AWG 20 cm"
_IN_LEADS: Final = frozenset({Group.FUSE, Group.SWITCH, Group.RELAY, Group.PASSIVE, Group.JUNCTION})


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """A description that is being changed, and the boat it describes."""

    document: Document
    boat: Boat


Change = Callable[[Work, Asker], Work]


def open_work(document: Document, catalogue: Catalogue) -> Work:
    """Return a description with its boat.

    Raises
    ------
    WiringError
        If no boat comes out of it, with all problems.
    """
    return Work(document=document, boat=load_boat(document.text, document.file, catalogue))


def _changed(document: Document, asker: Asker) -> Work:
    return open_work(read_document(document.text, document.file), asker.catalogue)


def change_part(work: Work, asker: Asker) -> Work:
    """Ask for values of a part until there are no more to change."""
    part = _part(work, asker, "Which part?")
    while True:
        kind = work.boat.parts[part].kind
        said = amending.values_of(work.document, part)
        names = [*said, *(name for name in _short_names(kind) if name not in said)]
        names += ["reach"] if "reach" not in said else []
        choices = [(_DONE, "done")]
        choices += [(name, f"{name}: {said.get(name, _USUAL)}{_about(kind, name)}") for name in names]
        name = asker.ask(_choice("value", f"Which value of {_plain(part)}?", choices, usual=_DONE))
        if name == _DONE:
            return work
        question = _value_question(kind, name, said.get(name, _USUAL), asker.catalogue)
        value = asker.ask(question, takes_usual=True)
        if value == said.get(name, _USUAL):
            continue
        if name == "kind":
            work = _changed(_of_kind(work.document, part, value, asker), asker)
            continue
        dropped = value == _USUAL
        document = (
            amending.without_value(work.document, part, name)
            if dropped
            else amending.with_value(work.document, part, name, value)
        )
        work = _changed(document, asker)


def _of_kind(document: Document, part: str, name: str, asker: Asker) -> Document:
    """Return the description with a part of another kind: what that does not have is dropped, what it needs asked."""
    kind = asker.catalogue.kinds[name]
    said = amending.values_of(document, part)
    document = amending.with_value(document, part, "kind", name)
    for value in sorted(said.keys() - {"kind", "reach", *_short_names(kind), *kind.values}):
        document = amending.without_value(document, part, value)
    for value in (value for value in _needed(kind) if value not in said):
        answer = asker.ask(_value_question(kind, value, "", asker.catalogue))
        document = amending.with_value(document, part, value, answer)
    return document


def add_part(work: Work, asker: Asker) -> Work:
    """Ask for a part, its values and its leads."""
    part = asker.ask(Question(key="part name", text="What is the part called?", form=Form.TEXT))
    part = part.replace(" ", "-")
    kinds = [
        (name, f"{name}: {kind.about}")
        for name, kind in sorted(asker.catalogue.kinds.items())
        if kind.group not in {Group.WIRE, Group.JOINT}
    ]
    kind = asker.catalogue.kinds[asker.ask(_choice("kind", f"What is {_plain(part)}?", kinds))]
    values = {}
    for name in _needed(kind):
        values[name] = asker.ask(_value_question(kind, name, "", asker.catalogue))
    document = work.document
    wired: tuple[str, ...] = ()
    if kind.group in _IN_LEADS and kind.through and _is_into_lead(part, asker):
        # The lead first: the boat knows where it stands in the file as it was.
        document, wired = _into_lead(work, part, asker), kind.through
    document = amending.with_part(document, part, kind.name, values)
    return _changed(_with_own_leads(work, document, part, wired, asker), asker)


def _into_lead(work: Work, part: str, asker: Asker) -> Document:
    """Return the description with a part put into a lead that the person names."""
    lead = _lead(work, asker, f"Into which lead does {_plain(part)} go?")
    halves = _halves(amending.lead_written(work.document, work.boat, lead))
    start, end = (point_label(work.boat, point) for point in work.boat.leads[lead].ends)
    leads = (
        asker.ask(_lead_question(f"The lead from {start} to {_plain(part)}?", halves[0])),
        asker.ask(_lead_question(f"The lead from {_plain(part)} to {end}?", halves[1])),
    )
    return amending.with_part_in_lead(work.document, work.boat, lead, part, leads)


def _with_own_leads(
    work: Work, document: Document, part: str, wired: tuple[str, ...], asker: Asker
) -> Document:
    """Return the description with leads to the terminals of a new part that are not wired yet."""
    kind = asker.catalogue.kinds[amending.values_of(document, part)["kind"]]
    pins = {pin for one in kind.inputs.values() for pin in (one.signal, one.positive, one.negative)}
    for terminal in (name for name in kind.terminals if name not in pins and name not in wired):
        here = part if len(kind.terminals) == 1 and kind.slots is None else f"{part} {terminal}"
        while True:
            what = f"{_plain(here)} ({kind.terminals[terminal].about})"
            point = _point(work, asker, f"Where does a lead go from {what}?", nowhere=True)
            if point is None:
                break
            lead = asker.ask(_lead_question(f"The lead from {point_label(work.boat, point)}?", _THIN_LEAD))
            document = amending.with_lead(document, amending.spoken(work.boat, point), lead, here)
            if len(kind.terminals) > 1:
                break
    return document


def take_part_out(work: Work, asker: Asker) -> Work:
    """Ask which part goes; a lead that ran through it is joined past it."""
    part = _part(work, asker, "Which part is taken out?")
    return _changed(amending.without_part(work.document, work.boat, part), asker)


def change_lead(work: Work, asker: Asker) -> Work:
    """Ask for size, length, joints and ends of a lead."""
    lead = _lead(work, asker, "Which lead?")
    written = amending.lead_written(work.document, work.boat, lead)
    new = asker.ask(_lead_question(_LEAD, written))
    ends = work.boat.leads[lead].ends
    start = _point(work, asker, "Where does it start?", usual=ends[0])
    end = _point(work, asker, "Where does it end?", usual=ends[1])
    if (start, end) == ends:
        return _changed(amending.with_lead_as(work.document, work.boat, lead, new), asker)
    document = amending.without_lead(work.document, work.boat, lead)
    return _changed(_joined(work, document, start, new, end), asker)


def add_lead(work: Work, asker: Asker) -> Work:
    """Ask for a lead more."""
    start = _point(work, asker, "Where does it start?")
    end = _point(work, asker, "Where does it end?")
    lead = asker.ask(_lead_question(_LEAD, _THIN_LEAD))
    return _changed(_joined(work, work.document, start, lead, end), asker)


def _joined(work: Work, document: Document, start: Point | None, lead: str, end: Point | None) -> Document:
    if start is None or end is None:
        raise AnswerError(reason="a lead has two ends", next_step="name both")
    return amending.with_lead(
        document, amending.spoken(work.boat, start), lead, amending.spoken(work.boat, end)
    )


def take_lead_out(work: Work, asker: Asker) -> Work:
    """Ask which lead goes."""
    lead = _lead(work, asker, "Which lead is taken out?")
    return _changed(amending.without_lead(work.document, work.boat, lead), asker)


def change_channel(work: Work, asker: Asker) -> Work:
    """Ask what is plugged into a channel of the receiver, and what moves it."""
    boat = work.boat
    used = boat.radio.channels
    free = next((n for n in range(1, _MOST_CHANNELS + 1) if n not in used), 1)
    number = int(asker.ask(_whole("channel", "Which channel of the receiver?", free, _MOST_CHANNELS)))
    able = [(part, _plain(part)) for part in described_parts(boat) if boat.parts[part].kind.inputs]
    now = used[number].device if number in used else _NOWHERE
    choices = [*able, (_NOWHERE, "nothing")]
    device = asker.ask(_choice("device", f"What is plugged into channel {number}?", choices, usual=now))
    document = amending.without_channel(work.document, number) if number in used else work.document
    if device == _NOWHERE:
        return _changed(document, asker)
    inputs = list(boat.parts[device].kind.inputs)
    if len(inputs) > 1:
        device += " " + asker.ask(_choice("input", "Into which input?", [(name, name) for name in inputs]))
    cut = asker.ask(_yes_no("red wire", "Is the red wire taken out of its plug?"))
    document, mix = _mix(work, document, asker)
    return _changed(amending.with_channel(document, number, device, mix, cut=cut == "yes"), asker)


def _mix(work: Work, document: Document, asker: Asker) -> tuple[Document, Mapping[str, str]]:
    mix: dict[str, str] = {}
    known = [(name, name) for name in work.boat.radio.controls]
    while True:
        more = [(_DONE, "nothing more")] if mix else []
        rest = [choice for choice in known if choice[0] not in mix]
        choices = [*more, *rest, (_NEW, "another control of the transmitter")]
        name = asker.ask(_choice("control", "What moves it?", choices, usual=choices[0][0]))
        if name == _DONE:
            return document, mix
        if name == _NEW:
            name = asker.ask(Question(key="control name", text="What is the control called?", form=Form.TEXT))
            kinds = [(str(kind), str(kind)) for kind in ControlKind]
            kind = asker.ask(_choice("control kind", "What is it?", kinds, usual="switch"))
            document = amending.with_control(document, name, kind)
        mix[name] = asker.ask(
            Question(
                key="share",
                text=f"By how much does {name} move it? (-100 % for reversed)",
                form=Form.QUANTITY,
                units=(Unit.RATIO,),
                usual="100 %",
                low=-1.5,
                high=1.5,
            )
        )


def change_name(work: Work, asker: Asker) -> Work:
    """Ask for the name of the boat and what she does."""
    boat, document = work.boat, work.document
    asked = (("boat", "What is the boat called?", boat.name), ("about", "What does she do?", boat.about))
    for key, text, now in asked:
        said = asker.ask(Question(key=key, text=text, form=Form.TEXT, usual=now or "work boat"))
        if said != now:
            document = amending.with_text(document, key, said)
    return _changed(document, asker)


CHANGES: Final[Mapping[str, tuple[str, Change]]] = {
    "change part": ("change a part", change_part),
    "add part": ("add a part", add_part),
    "take part out": ("take a part out", take_part_out),
    "change lead": ("change a lead", change_lead),
    "add lead": ("add a lead", add_lead),
    "take lead out": ("take a lead out", take_lead_out),
    "channel": ("change a channel of the receiver", change_channel),
    "name": ("change name or purpose", change_name),
}
"""What can be changed: the words for it, and how."""


def _part(work: Work, asker: Asker, text: str) -> str:
    parts = [
        (part, f"{_plain(part)}: {work.boat.parts[part].kind.name}") for part in described_parts(work.boat)
    ]
    return asker.ask(_choice("part", text, parts))


def _lead(work: Work, asker: Asker, text: str) -> str:
    boat = work.boat
    choices = []
    for lead in boat.leads.values():
        if lead.cable is None:
            start, end = (point_label(boat, point) for point in lead.ends)
            choices.append(
                (lead.id, f"{start} to {end}: {amending.lead_written(work.document, boat, lead.id)}")
            )
    return asker.ask(_choice("lead", text, choices))


def _point(
    work: Work, asker: Asker, text: str, *, usual: Point | None = None, nowhere: bool = False
) -> Point | None:
    """Return the point that is meant: the part first, then which of its terminals."""
    boat = work.boat
    parts = [(part, _plain(part)) for part in described_parts(boat)]
    none = [(_NOWHERE, "nowhere (else)")] if nowhere else []
    chosen = usual.part if usual else _NOWHERE if nowhere else ""
    part = asker.ask(_choice("to part", text, [*none, *parts], usual=chosen))
    if part == _NOWHERE:
        return None
    terminals = [(name, f"{name}: {spec.about}") for name, spec in boat.parts[part].kind.terminals.items()]
    if len(terminals) == 1:
        return Point(part=part, terminal=terminals[0][0])
    at = usual.terminal if usual and usual.part == part else terminals[0][0]
    terminal = asker.ask(_choice("to terminal", f"Which terminal of {_plain(part)}?", terminals, usual=at))
    return Point(part=part, terminal=terminal)


def _is_into_lead(part: str, asker: Asker) -> bool:
    choices = [("into", "into a lead there is"), ("own", "to points there are, by leads of its own")]
    return asker.ask(_choice("place", f"Where does {_plain(part)} go?", choices, usual="into")) == "into"


def _halves(written: str) -> tuple[str, str]:
    """Return two leads that make up one: half as long, with what ended it at the outer ends."""
    gauge, length, joints = _lead_pieces(written)
    half = show(0.5 * length, Unit.METRE, 2)
    first, _, second = (joints or "soldered").partition("/")
    return f"{gauge} {half} {first}/soldered", f"{gauge} {half} soldered/{second or first}"


def _lead_pieces(written: str) -> tuple[str, float, str]:
    words = written.split()
    size = 2 if len(words) > 1 and "awg" in (words[0].casefold(), words[1].casefold()) else 1
    gauge, rest = " ".join(words[:size]), words[size:]
    length = rest[0] if rest[0][-1].isalpha() else " ".join(rest[:2])
    joints = rest[len(length.split()) :]
    return gauge, parse_quantity(length, Unit.METRE).value, " ".join(joints)


def _needed(kind: Kind) -> list[str]:
    """Return the short names of the values that have no usual one."""
    return list(dict.fromkeys(spoken_value(n) for n, spec in kind.values.items() if spec.default is None))


def _short_names(kind: Kind) -> list[str]:
    return list(dict.fromkeys(spoken_value(name) for name in kind.values))


def _about(kind: Kind, name: str) -> str:
    abouts = [spec.about for value, spec in kind.values.items() if spoken_value(value) == name]
    return f" ({abouts[0]})" if abouts else ""


def _value_question(kind: Kind, name: str, now: str, catalogue: Catalogue) -> Question:
    if name == "kind":
        kinds = [(n, n) for n, k in sorted(catalogue.kinds.items()) if k.group is kind.group]
        return _choice(name, "Which kind?", kinds, usual=now)
    if name == "reach":
        reaches = [(_USUAL, _USUAL), *((str(reach), str(reach)) for reach in Reach)]
        return _choice(name, "How does a probe reach it?", reaches, usual=now)
    specs = [spec for value, spec in kind.values.items() if spoken_value(value) == name]
    usual = now or " at ".join(spec.unit.example for spec in specs)
    about = _about(kind, name)
    if len(specs) == 1 and specs[0].choices:
        words = [(word, word) for word in (_USUAL, *specs[0].choices)]
        return _choice(name, f"{name}{about}?", words, usual=usual)
    return Question(key=name, text=f"{name}{about}?", form=Form.TEXT, usual=usual)


def _lead_question(text: str, usual: str) -> Question:
    why = 'Write it like "14 AWG 15 cm plug/soldered": size, length, what ends it here and there.'
    return Question(key="lead as written", text=text, form=Form.LEAD, usual=usual, why=why)


def _choice(key: str, text: str, choices: Sequence[tuple[str, str]], *, usual: str = "") -> Question:
    return Question(key=key, text=text, form=Form.CHOICE, choices=tuple(choices), usual=usual)


def _yes_no(key: str, text: str) -> Question:
    return _choice(key, text, (("no", "no"), ("yes", "yes")), usual="no")


def _whole(key: str, text: str, usual: int, most: int) -> Question:
    return Question(
        key=key, text=text, form=Form.QUANTITY, usual=str(usual), units=(Unit.COUNT,), low=1, high=most
    )


def _plain(part: str) -> str:
    return part.replace("-", " ")
