"""Understanding what a learner types at a virtual boat.

Points, parts, settings and places go by their id, by what a person calls them, or by a part of that which only one of
them has.  What cannot be understood is refused with the nearest right names.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence

from assistant.catalogue import Action, Look, Reach
from assistant.circuit import MeterFunction, gaps_of
from assistant.documents import nearest
from assistant.drill.commands import (
    FEEDBACK,
    Amps,
    Command,
    FeedbackWhen,
    Jack,
    LookAt,
    Name,
    Plain,
    Read,
    Repair,
    SetTo,
    Wiggle,
    Word,
)
from assistant.errors import AnswerError
from assistant.wiring import (
    Boat,
    Point,
    Setting,
    SettingSort,
    described_parts,
    label_of,
    point_label,
    points_of,
    reach_of,
    settings_of,
)

_BETWEEN = frozenset({"to", "and", "over", "from", "between", "across", "at", "the", "on", "against", ","})
_ON = frozenset({"on", "in", "plugged", "plug", "closed", "close", "1", "yes"})
_OFF = frozenset({"off", "out", "unplugged", "unplug", "open", "0", "no"})
_FORWARD = frozenset({"forward", "forwards", "fully forward", "ahead", "full", "right", "on"})
_BACK = frozenset({"back", "fully back", "astern", "backward", "reverse", "left", "off"})
_REST = frozenset({"rest", "centre", "center", "middle", "neutral", "let go", "zero", "0"})
_MOST_NAMED = 5
_FIRST_SEEN = frozenset({"lamp", "light", "turning", "moves", "screen"})
_FUNCTIONS: Mapping[str, MeterFunction] = {
    "volts": MeterFunction.DC_VOLTS,
    "volt": MeterFunction.DC_VOLTS,
    "v": MeterFunction.DC_VOLTS,
    "ohms": MeterFunction.OHMS,
    "ohm": MeterFunction.OHMS,
    "beep": MeterFunction.CONTINUITY,
    "continuity": MeterFunction.CONTINUITY,
    "diode": MeterFunction.DIODE_TEST,
    "ripple": MeterFunction.AC_MILLIVOLTS,
    "duty": MeterFunction.DUTY,
    "hertz": MeterFunction.FREQUENCY,
    "hz": MeterFunction.FREQUENCY,
}
_SENSES: Mapping[str, Look] = {
    "look": Look.SEE,
    "see": Look.SEE,
    "watch": Look.SEE,
    "listen": Look.HEAR,
    "hear": Look.HEAR,
    "feel": Look.FEEL,
    "touch": Look.FEEL,
    "smell": Look.SMELL,
}


class Reader:
    """Understands commands about one boat."""

    def __init__(self, boat: Boat) -> None:
        self._boat = boat
        self.points = tuple(p for p in points_of(boat) if reach_of(boat, p) is not Reach.SEALED)
        self.settings = settings_of(boat)
        self.places = tuple(boat.parts)
        self._point_names = _names(
            {str(p): (point_label(boat, p), str(p).replace(".", " ")) for p in self.points}
        )
        self._place_names = _names({p: (label_of(boat, p),) for p in self.places})
        self._part_names = _names({p: (label_of(boat, p),) for p in self.places if boat.parts[p].kind.signs})
        self._setting_names = _names({s.id: self._said(s) for s in self.settings})
        self._verbs: Mapping[str, Callable[[Sequence[str]], Command]] = {
            "set": self._set,
            "amps": self._amps,
            "jack": lambda _: Jack(),
            "wiggle": lambda words: Wiggle(place=self._place(words)),
            "name": lambda words: Name(place=self._place(words)),
            "repair": self._repair,
            "feedback": _feedback,
        }

    def read(self, typed: str) -> Command:
        """Return what was typed.

        Raises
        ------
        AnswerError
            If it is no command, or names something that is not there.
        """
        words = typed.replace(",", " , ").split()
        verb = words[0].casefold() if words else ""
        rest = words[1:]
        if verb == "measure" and rest:
            verb, rest = rest[0].casefold(), rest[1:]
        if verb in _FUNCTIONS:
            red, black = self._two_points(rest)
            return Read(function=_FUNCTIONS[verb], red=red, black=black)
        if verb in _SENSES:
            return self._look(_SENSES[verb], rest)
        if verb in self._verbs:
            return self._verbs[verb](rest)
        if verb in ("unplug", "plug"):
            return self._plug(verb, rest)
        if verb in {word.value for word in Word} and not rest:
            return Plain(word=Word(verb))
        known = [*_FUNCTIONS, *_SENSES, *self._verbs, *Word]
        close = nearest(verb, known)
        raise AnswerError(
            value=typed,
            reason="this is no command",
            next_step=f"did you mean {close[0]}?" if close else "type help for what can be done here",
        )

    def _plug(self, verb: str, words: Sequence[str]) -> Command:
        """Return the command that people mean by unplugging or plugging in; without a name it is the first pack."""
        named = [word for word in words if word.casefold() not in ("in", "the")]
        first = self._minus().part
        return self._set(
            [*(named or label_of(self._boat, first).split()), "unplugged" if verb == "unplug" else "in"]
        )

    def completions(self) -> tuple[str, ...]:
        """Return whole commands that can be completed to, the plain ones first."""
        labels = [point_label(self._boat, p) for p in self.points]
        places = [label_of(self._boat, p) for p in self.places]
        parts = [label_of(self._boat, p) for p in described_parts(self._boat)]
        return (
            *(word.value for word in Word),
            *(f"volts {label}" for label in labels),
            *(f"ohms {label}" for label in labels),
            *(f"look {part}" for part in parts),
            *(f"set {self._said(s)[0]}" for s in self.settings),
            *(f"{verb} {place}" for verb in ("name", "repair", "wiggle") for place in places),
        )

    def actions_at(self, place: str) -> tuple[Action, ...]:
        """Return what can be done at a place."""
        faults = self._boat.parts[place].kind.faults.values()
        return tuple(dict.fromkeys(fault.action for fault in faults))

    def signs_of(self, part: str, look: Look) -> tuple[str, ...]:
        """Return the signs of a part that a sense takes in."""
        return tuple(name for name, spec in self._boat.parts[part].kind.signs.items() if spec.look is look)

    def _said(self, setting: Setting) -> tuple[str, ...]:
        """Return what a person calls a setting."""
        if setting.sort is not SettingSort.PART:
            return (setting.id, setting.about)
        part = setting.id.rpartition(".")[0]
        return (label_of(self._boat, part), setting.about)

    def _set(self, words: Sequence[str]) -> Command:
        for cut in range(len(words) - 1, 0, -1):
            setting = self._try(self._setting_names, words[:cut])
            if setting is None:
                continue
            spec = next(s for s in self.settings if s.id == setting)
            return SetTo(setting=spec, value=_value(spec, " ".join(words[cut:])))
        self._one(self._setting_names, words[:1], "setting")
        raise AnswerError(
            value=" ".join(words), reason="to what?", next_step="say it so: set throttle forward"
        )

    def _two_points(self, words: Sequence[str]) -> tuple[Point, Point]:
        whole = self._try_point(words)
        if whole is not None:
            return self._point(whole), self._minus()
        for cut in range(1, len(words)):
            red, black = self._try_point(words[:cut]), self._try_point(words[cut:])
            if red is not None and black is not None:
                return self._point(red), self._point(black)
        plain = [word for word in words if word.casefold() not in _BETWEEN]
        for cut in range(len(plain), 0, -1):
            if self._try(self._point_names, plain[:cut]) is not None:
                self._one(self._point_names, plain[cut:], "point that a probe can reach")
        return self._point(self._one(self._point_names, plain, "point that a probe can reach")), self._minus()

    def _try_point(self, words: Sequence[str]) -> str | None:
        """Return the point that is named; words between two points stand around a name, and some within it."""
        trimmed = list(words)
        while trimmed and trimmed[0].casefold() in _BETWEEN:
            del trimmed[0]
        while trimmed and trimmed[-1].casefold() in _BETWEEN:
            del trimmed[-1]
        plain = [word for word in trimmed if word.casefold() not in _BETWEEN]
        return self._try(self._point_names, trimmed) or self._try(self._point_names, plain)

    def _point(self, name: str) -> Point:
        return next(point for point in self.points if str(point) == name)

    def _minus(self) -> Point:
        """Return the minus of the first pack, against which volts are read when nothing else is said."""
        parts = self._boat.parts
        return next(
            (
                p
                for p in self.points
                if p.part in parts and parts[p.part].kind.group == "pack" and p.terminal == "-"
            ),
            self.points[0],
        )

    def _amps(self, words: Sequence[str]) -> Command:
        if words and words[0].casefold() == "in":
            return self._series(words[1:])
        red, black = self._two_points(words)
        return Amps(red=red, black=black)

    def _series(self, words: Sequence[str]) -> Command:
        """Return the command to put the meter in the place of something."""
        gaps = {gap.place: gap for gap in gaps_of(self._boat)}
        place = self._place(words)
        if place not in gaps:
            named = "; ".join(label_of(self._boat, one) for one in list(gaps)[:_MOST_NAMED])
            raise AnswerError(
                value=" ".join(words),
                reason="that is not opened by hand",
                next_step=f"open one of these: {named}",
            )
        return Read(function=MeterFunction.DC_AMPS, red=gaps[place].red, black=gaps[place].black)

    def _look(self, look: Look, words: Sequence[str]) -> Command:
        plain = [word for word in words if word.casefold() not in _BETWEEN]
        for cut in range(len(plain), 0, -1):
            part = self._try(self._part_names, plain[:cut])
            if part is None:
                continue
            signs = self.signs_of(part, look)
            wanted = " ".join(plain[cut:]).casefold()
            found = [sign for sign in signs if sign.startswith(wanted)] if wanted else list(signs)
            if found:
                first = [sign for sign in found if sign in _FIRST_SEEN]
                return LookAt(part=part, sign=(first or found)[0])
            every = ", ".join(self._boat.parts[part].kind.signs) or "nothing"
            raise AnswerError(
                value=" ".join(words),
                reason=f"nothing to {look} there",
                next_step=f"it shows: {every}",
            )
        return LookAt(part=self._one(self._part_names, plain, "part"), sign="")

    def _place(self, words: Sequence[str]) -> str:
        return self._one(self._place_names, words, "place")

    def _repair(self, words: Sequence[str]) -> Command:
        actions = {action.value: action for action in Action}
        wanted = words[-1].casefold() if words else ""
        given = actions.get(wanted)
        place = self._place(words[:-1] if given and len(words) > 1 else words)
        possible = self.actions_at(place)
        if given is not None and len(words) > 1:
            if given not in possible:
                raise AnswerError(
                    value=wanted, reason="that does nothing here", next_step=f"use {' or '.join(possible)}"
                )
            return Repair(place=place, action=given)
        if len(possible) > 1:
            label = label_of(self._boat, place)
            raise AnswerError(
                value=" ".join(words),
                reason="more than one thing can be done there",
                next_step=f"say: repair {label} {' or '.join(possible)}",
            )
        return Repair(place=place, action=possible[0])

    @staticmethod
    def _try(names: Mapping[str, tuple[str, ...]], words: Sequence[str]) -> str | None:
        found = _find(names, " ".join(words))
        return found[0] if len(found) == 1 else None

    def _one(self, names: Mapping[str, tuple[str, ...]], words: Sequence[str], what: str) -> str:
        typed = " ".join(words)
        found = _find(names, typed)
        if len(found) == 1:
            return found[0]
        if found:
            said = "; ".join(names[one][0] for one in found[:_MOST_NAMED])
            more = f"; and {len(found) - _MOST_NAMED} more" if len(found) > _MOST_NAMED else ""
            raise AnswerError(value=typed, reason="more than one could be meant", next_step=f"{said}{more}")
        close = nearest(_plain(typed), [name for every in names.values() for name in every])
        mend = f"did you mean {close[0]}?" if close else "type boat for all names"
        raise AnswerError(value=typed, reason=f"there is no such {what}", next_step=mend)


def _names(said: Mapping[str, Sequence[str]]) -> Mapping[str, tuple[str, ...]]:
    """Return the names of each thing as written and in plain form, what a person calls it first."""
    return {one: (*names, *dict.fromkeys(_plain(name) for name in names), one) for one, names in said.items()}


def _find(names: Mapping[str, tuple[str, ...]], typed: str) -> list[str]:
    """Return what a name may mean: the only one just so, else those that begin with it, else those that hold it.

    Capitals count where names differ by nothing else, as drive A and drive a may.
    """
    written = typed.strip()
    exact, plain = written.casefold(), _plain(typed)
    if not exact:
        return []
    called = [one for one, every in names.items() if every[0] == written]
    if called:
        return called
    for fits in (
        lambda name: name == written,
        lambda name: name.casefold() in (exact, plain),
        lambda name: name.casefold().startswith(plain),
        lambda name: plain in name.casefold(),
    ):
        found = [one for one, every in names.items() if any(fits(name) for name in every)]
        if found:
            return found
    return []


def _plain(text: str) -> str:
    """Return a name without capitals and commas, and with a blank for a dash inside it.

    >>> _plain("Port-fuse  out"), _plain("pack -"), _plain("Channel 1 lead, red wire")
    ('port fuse out', 'pack -', 'channel 1 lead red wire')
    """
    return " ".join(re.sub(r"(?<=\w)-(?=\w)|,", " ", text.casefold()).split())


def _value(setting: Setting, typed: str) -> float:
    word = _plain(typed).removeprefix("to ").removeprefix("fully ")
    control = setting.sort is SettingSort.CONTROL
    share = re.fullmatch(r"([+-]?\d{1,3})\s*%", word)
    if control and not setting.steps:
        if word in _REST:
            return setting.rest
        if share:
            return max(min(int(share[1]) / 100.0, setting.high), setting.low)
        if word in _FORWARD | _BACK:
            return setting.high if word in _FORWARD else setting.low
        ends = " or ".join(end.removeprefix("fully ") for end in (setting.on_word, setting.off_word))
        raise AnswerError(value=typed, reason="how far?", next_step=f"say {ends}, centre, or 50 %")
    if word in _ON or word == setting.on_word:
        return setting.high
    if word in _OFF or word == setting.off_word:
        return setting.low
    raise AnswerError(
        value=typed, reason="to what?", next_step=f"say {setting.on_word} or {setting.off_word}"
    )


def _feedback(words: Sequence[str]) -> Command:
    typed = " ".join(words).casefold()
    if typed not in FEEDBACK:
        raise AnswerError(value=typed, reason="when?", next_step=f"say feedback {', '.join(FEEDBACK)}")
    return FeedbackWhen(when=typed)
