"""The repair sheet: everything that somebody needs who mends the boat weeks later and was not there.

It is computed from the replayed case and holds words only, so that every form of it (HTML, Markdown, JSON, PDF)
says the same.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from assistant.catalogue import Group
from assistant.circuit import BoatState
from assistant.circuit.expectation import BandName
from assistant.diagnosis import Evidence, Outcome, ReadingSeen, SignSeen
from assistant.dialogue import Ending, Phase, RepairLeft
from assistant.dialogue.spans import percent
from assistant.dialogue.trying import trial_words
from assistant.dialogue.wiggling import change_words
from assistant.dialogue.words import place_label, repair_left, says
from assistant.records.advice import Step, Undo, bring, proof_of, steps_of, undo_of
from assistant.records.lines import RemarkKind
from assistant.records.picture import Mark, Tag, draw
from assistant.records.replay import LEAST, Effect, Replay, Turn
from assistant.records.unknowns import unknowns_of
from assistant.records.words import expected_of, harmless, moment, reading_words, state_words
from assistant.wiring import Point, label_of, lead_of, point_label

__all__ = ["Row", "Sheet", "SuspectRow", "headline_of", "left_of", "sheet_of"]

_LETTERS: Final = "ABCDEFGH"
_DRAWN_SUSPECTS: Final = 5
_CLEARED_NAMED: Final = 3
_ENDED: Final = {
    Ending.HEALTHY: "Nothing wrong was found.",
    Ending.STOPPED: "Stopped for safety, or because it led nowhere; nothing was found.",
    Ending.ELSEWHERE: "It was another trouble; see the case after this one.",
}
_NO_PLACE: Final = {
    Outcome.HEALTHY: "As it was read, nothing is wrong that shows.",
    Outcome.UNCAUGHT: "It did not come while it was watched, so no place is named as bad.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectRow:
    """A place in question, or one that was mended.

    Attributes
    ----------
    letter : what it is called in the picture; empty where it is not drawn.
    ends : both ends of the lead, by id, where the place is a wire or joint; `lead` are the words for it.
    chance : its probability in words.
    """

    letter: str
    label: str
    place: str
    action: str
    says: str
    chance: str
    lead: str
    ends: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A reading or a sign, in words.

    Attributes
    ----------
    number : its number on the sheet, from 1.
    at : when.
    state : name of the boat state.
    what : function of the meter, or the sign.
    red, black : where the probes were; empty for a sign.
    shown : what was read or seen.
    expect : what a healthy boat shows; empty for a sign.
    band : how it stands to that.
    effect : what it did to the suspects.
    """

    number: int
    at: str
    state: str
    what: str
    red: str
    black: str
    shown: str
    expect: str
    band: str
    effect: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A repair sheet, in words.

    Attributes
    ----------
    case, boat, about, symptom, started, ended : what it is about, and when.
    who, meter : who measured with what, where that was said.
    headline, sureness : what is wrong, and how sure that is.
    suspects : places in question, likeliest first.
    done : repairs made.
    states : names of the boat states with what is set in each.
    rows : readings and signs in the order they were taken.
    bring : parts and tools.
    steps, proof : what to do, and what shows that it helped.
    unknown : what is not known.
    undo : temporary repairs.
    notes : remarks of the people, with their time where it is known.
    earlier : repairs of earlier cases that were reckoned with.
    warnings : what makes the sheet itself doubtful, such as other knowledge.
    picture : the wiring as an SVG element.
    """

    case: str
    boat: str
    about: str
    symptom: str
    started: str
    ended: str
    who: str
    meter: str
    headline: str
    sureness: str
    suspects: tuple[SuspectRow, ...]
    done: tuple[str, ...]
    states: tuple[tuple[str, str], ...]
    rows: tuple[Row, ...]
    bring: tuple[str, ...]
    steps: tuple[Step, ...]
    proof: tuple[Step, ...]
    unknown: tuple[str, ...]
    undo: tuple[Undo, ...]
    notes: tuple[str, ...]
    earlier: tuple[str, ...]
    warnings: tuple[str, ...]
    picture: str


def sheet_of(name: str, case: Replay, *, knowledge: str) -> Sheet:
    """Return the repair sheet of a case.

    Parameters
    ----------
    name
        Name of the case.
    case
        The case, replayed.
    knowledge
        Digest of the knowledge it was replayed with.
    """
    header, boat = case.contents.header, case.setup.boat
    left = left_of(case)
    undo = undo_of(boat, case.contents, [(turn.answer, turn.at) for turn in case.turns])
    rows = tuple(_rows(case))
    suspects = tuple(_suspect_rows(case, left))
    remarks = case.contents.remarks
    return Sheet(
        case=name,
        boat=harmless(boat.name),
        about=harmless(boat.about),
        symptom=case.setup.knowledge.symptoms[header.symptom].title,
        started=moment(header.started),
        ended=moment(case.contents.closing.at) if case.contents.closing else "",
        who=", ".join(harmless(one.text) for one in remarks if one.kind is RemarkKind.WHO),
        meter=_meter(case),
        headline=headline_of(case),
        sureness=_sureness(case, left),
        suspects=suspects,
        done=tuple(_done(case)),
        states=tuple((name, state_words(boat, state)) for name, state in case.states),
        rows=rows,
        bring=bring(boat, left),
        steps=steps_of(case, left, undo),
        proof=proof_of(case, left),
        unknown=unknowns_of(case, left),
        undo=undo,
        notes=tuple(_notes(case)),
        earlier=tuple(f"{harmless(repair)} (× {count})" for repair, count in header.past),
        warnings=tuple(_warnings(case, knowledge)),
        picture=draw(boat, _marks(suspects), tuple(_tags(case))),
    )


def left_of(case: Replay) -> tuple[RepairLeft, ...]:
    """Return the repairs still to make: as concluded, else what stands so far; none once it is mended."""
    mended = {one.place for one in case.contents.remarks if one.kind is RemarkKind.MENDED}
    if case.end is not None:
        every = case.end.repairs
    else:
        standing = [one for one in case.suspects if one.stands and one.repair not in case.done]
        standing = standing if case.state.verdict or case.trouble else []
        every = tuple(repair_left(case.setup.boat, one, standing) for one in standing)
    return tuple(one for one in every if one.repair.place not in mended)


def headline_of(case: Replay) -> str:
    """Return in a sentence what is wrong, or what was mended."""
    left = left_of(case)
    made = "; ".join(_done(case))
    if case.end is None:
        return f"Not finished; made so far: {made}." if made else "The hunt is not finished."
    if case.end.ending is Ending.MENDED:
        return f"Mended and proved: {made}."
    if case.end.ending in _ENDED:
        return _ENDED[case.end.ending]
    if not left or case.end.ending is Ending.UNKNOWN:
        return f"Mended, not proved in this case: {made}." if made and not left else "Not found."
    first = says(case.setup.boat, left[0])
    head = first if len(left) == 1 else f"one of {len(left)} places, likeliest {first}"
    return f"Made so far: {made}. If that was not it: {head}." if made else f"To mend: {head}."


def _sureness(case: Replay, left: Sequence[RepairLeft]) -> str:
    verdict = case.state.verdict
    if verdict is None:
        return "No verdict was reached."
    if case.end is not None and case.end.ending is Ending.MENDED:
        return "A reading or sign taken after the repair shows it, and the trouble itself is gone."
    match verdict.outcome:
        case Outcome.SOLE:
            return f"Sure to {percent(verdict.suspects[0].probability)}; more than one answer says so."
        case Outcome.GROUP if left:
            together = percent(sum(one.probability for one in left))
            return f"No reading at hand tells them apart; together they hold {together}."
    unknown = f"The chance that this program cannot reckon with it: {percent(verdict.unknown)}."
    return _NO_PLACE.get(verdict.outcome, unknown)


def _suspect_rows(case: Replay, left: Sequence[RepairLeft]) -> Iterator[SuspectRow]:
    """Yield what is left, then what was mended, drawn ones with a letter; a place is drawn once."""
    boat = case.setup.boat
    shown = list(left)
    named = {one.repair for one in shown}
    for suspect in case.suspects:
        mended = suspect.repair in case.done
        rest = case.end is None and suspect.probability >= LEAST
        if suspect.repair not in named and (mended or (rest and len(shown) < _DRAWN_SUSPECTS)):
            shown.append(repair_left(boat, suspect, ()))
            named.add(suspect.repair)
    letters: dict[str, str] = {}
    for one in shown:
        if len(letters) < _DRAWN_SUSPECTS:
            letters.setdefault(one.repair.place, _LETTERS[len(letters)])
        made = " (mended)" if one.repair in case.done else ""
        yield SuspectRow(
            letter=letters.get(one.repair.place, ""),
            label=one.label,
            place=one.repair.place,
            action=str(one.repair.action),
            says=f"{says(boat, one)}{made}",
            chance=percent(one.probability),
            lead=_lead_label(case, one),
            ends=one.ends or (),
        )


def _lead_label(case: Replay, left: RepairLeft) -> str:
    """Return the lead that a joint belongs to; empty where the label says it already."""
    lead = lead_of(case.setup.boat, left.repair.place) if "@" in left.repair.place else None
    return "" if lead is None else label_of(case.setup.boat, lead.id)


def _marks(suspects: Sequence[SuspectRow]) -> tuple[Mark, ...]:
    marks: dict[str, Mark] = {}
    for one in suspects:
        if one.letter:
            words = f"{one.says}, {one.chance}"
            marks.setdefault(one.letter, Mark(letter=one.letter, place=one.place, words=words))
    return tuple(marks.values())


def _done(case: Replay) -> Iterator[str]:
    boat = case.setup.boat
    for repair in case.done:
        yield f"{repair.action} {place_label(boat, repair.place)}"
    for one in case.contents.remarks:
        if one.kind is RemarkKind.MENDED:
            yield f"at the bench, {moment(one.at)}: {place_label(boat, one.place)}, {harmless(one.text)}"


def _rows(case: Replay) -> Iterator[Row]:
    number = 0
    for turn in case.turns:
        for piece in turn.evidence if turn.counts else ():
            number += 1
            yield _row(case, turn, piece, number)


def _row(case: Replay, turn: Turn, piece: Evidence, number: int) -> Row:
    boat = case.setup.boat
    # What proves a repair is told by the boat as it is then; suspects of another boat than before say nothing.
    effect = "after the repair" if turn.phase is Phase.PROOF else _effect_words(case, turn)
    if isinstance(piece, ReadingSeen):
        band = case.setup.diagnosis.band(piece.measurement)
        return Row(
            number=number,
            at=_time(case, turn.at),
            state=_state_name(case, piece.measurement.state),
            what=str(piece.measurement.function),
            red=point_label(boat, piece.measurement.red),
            black=point_label(boat, piece.measurement.black),
            shown=reading_words(piece),
            expect=expected_of(piece, band),
            band=str(band.name(piece.value)),
            effect=effect,
        )
    if isinstance(piece, SignSeen):
        words = case.setup.diagnosis.levels(piece.query)
        tried = "" if piece.query.after is None else f", {trial_words(boat, piece.query.after)}"
        what = f"{label_of(boat, piece.query.part)}: {piece.query.sign}{tried}"
        shown = " or ".join(words.get(level, level) for level in piece.levels)
    else:
        what, shown = change_words(boat, piece)
    return Row(
        number=number,
        at=_time(case, turn.at),
        state=_state_name(case, piece.asked.state),
        what=what,
        red="",
        black="",
        shown=shown,
        expect="",
        band="",
        effect=effect,
    )


def _time(case: Replay, at: str) -> str:
    """Return the time of an answer, with its day where that is another than the first."""
    shown = moment(at)
    day = moment(case.contents.header.started)[:10]
    return shown.removeprefix(f"{day} ")


def _state_name(case: Replay, state: BoatState) -> str:
    named = next((name for name, known in case.states if known == state), "")
    return named or state_words(case.setup.boat, state)


def _effect_words(case: Replay, turn: Turn) -> str:
    effect: Effect | None = turn.effect
    if effect is None:
        return ""
    boat = case.setup.boat
    words = f"{effect.before} → {effect.after} in question"
    if effect.leading is not None:
        place = place_label(boat, effect.leading.repair.place)
        words += f"; most: {place} {percent(effect.leading.probability)}"
    cleared = list(dict.fromkeys(place_label(boat, one.repair.place) for one in effect.cleared))
    if cleared:
        more = f" and {len(cleared) - _CLEARED_NAMED} more" if len(cleared) > _CLEARED_NAMED else ""
        words += f"; cleared: {', '.join(cleared[:_CLEARED_NAMED])}{more}"
    return words


def _tags(case: Replay) -> Iterator[Tag]:
    """Yield the readings for the picture, each at its red point."""
    pieces = (piece for turn in case.turns if turn.counts for piece in turn.evidence)
    for number, piece in enumerate(pieces, start=1):
        if isinstance(piece, ReadingSeen):
            name = case.setup.diagnosis.band(piece.measurement).name(piece.value)
            off = name is not BandName.AS_EXPECTED
            stands = str(name) if off else "ok"
            black = piece.measurement.black
            yield Tag(
                point=piece.measurement.red,
                black=None if _is_pack(case, black) else black,
                text=f"#{number} {reading_words(piece)} {stands}",
                off=off,
            )


def _is_pack(case: Replay, point: Point) -> bool:
    return point.part in case.setup.boat.parts and case.setup.boat.parts[point.part].kind.group is Group.PACK


def _meter(case: Replay) -> str:
    named = ", ".join(harmless(one.text) for one in case.contents.remarks if one.kind is RemarkKind.METER)
    functions = ", ".join(harmless(text) for text in case.contents.header.meter)
    return named or (f"a meter with {functions}" if functions else "no meter at hand")


def _notes(case: Replay) -> Iterator[str]:
    yield from (harmless(note) for note in case.notes)
    for one in case.contents.remarks:
        if one.kind is RemarkKind.NOTE:
            yield f"{moment(one.at)}: {harmless(one.text)}"


def _warnings(case: Replay, knowledge: str) -> Iterator[str]:
    if case.contents.header.knowledge != knowledge:
        fits = (
            "every answer still fits its question" if not case.trouble else "not every answer fits any more"
        )
        yield f"This case was recorded with other knowledge than this program has; {fits}."
    if case.trouble:
        yield f"Replayed only in part: {harmless(case.trouble)}. What comes after it is left out here."
