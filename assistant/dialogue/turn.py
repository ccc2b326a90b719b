"""One turn of the dialogue: events are gathered while the state moves on, until a question is put.

`present` is the only way to put a question.  It works out what has to be set first and which cautions are
due, and puts confirmations in front: that every pack is unplugged before ohms, and cautions that must be
agreed to.  No graph and no diagnosis can get round it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace

from assistant.catalogue import Group
from assistant.circuit import Measurement, MeterFunction, is_unplugged
from assistant.diagnosis.model import Suspect
from assistant.dialogue.events import Ask, Conclude, Ending, Event, RepairLeft, Show, Want, Warn
from assistant.dialogue.graph import Caution, Occasion
from assistant.dialogue.roles import in_group
from assistant.dialogue.state import Phase, Purpose, Setup, State, graph_of
from assistant.dialogue.states import changes_between, held, occasions_of, unplugged
from assistant.dialogue.strip import strip_of
from assistant.dialogue.words import listed, place_label
from assistant.wiring import Boat

_ENERGISING = frozenset({Occasion.PLUG_IN, Occasion.SWITCH_ON, Occasion.RUN})
_NAMED_BEFORE = frozenset({Purpose.CHOICE, Purpose.REPAIR})
_SHOWN_SUSPECTS = 8
_LEAST_SHOWN = 0.01
_LEAST_COUNTED = 0.001
_WHY_UNPLUG = (
    "The meter sends its own small current for this. With a pack plugged in the reading is nonsense, and the "
    "meter or a lead can burn."
)
_WHY_UNPLUG_LOOK = (
    "For this something is pulled out, turned or touched. With a pack plugged in a motor may start, or a tool may "
    "short the pack."
)
_WHY_UNPLUG_OPEN = (
    "For this something is opened and the meter put in its place. With a pack plugged in a loose end may short it, and "
    "the meter then carries whatever flows."
)
_HOW_UNPLUG = (
    "Pull the pack's plug by its body, not by its wires, and lay it where it cannot touch the other half."
)


@dataclass(slots=True)
class Turn:
    """What happens between an answer and the next question."""

    setup: Setup
    state: State
    events: list[Event] = field(default_factory=list)

    def name(self, words: str) -> str:
        """Return the id of an event: the number of answers before it makes it unique."""
        return f"n{len(self.state.answers):02d}.{words}"

    def show(self, name: str, text: str) -> None:
        """Say something."""
        self.events.append(Show(id=self.name(name), text=text))

    def warn(self, caution: Caution) -> None:
        """Give a caution."""
        self.events.append(Warn(id=self.name(f"caution.{caution.id}"), text=caution.text, caution=caution.id))
        self.state = replace(self.state, warned=self.state.warned | {caution.id})

    def conclude(
        self,
        name: str,
        text: str,
        ending: Ending,
        *,
        repairs: tuple[RepairLeft, ...] = (),
        use: str | None = None,
    ) -> None:
        """End the dialogue."""
        state = self.state
        end = Conclude(
            id=self.name(name),
            text=text,
            ending=ending,
            verdict=state.verdict,
            repairs=repairs,
            done=state.done,
            use=use,
        )
        self.events.append(end)
        self.state = replace(
            state, phase=Phase.DONE, pending=None, purpose=None, wanted=None, wanted_for=None
        )

    def present(self, ask: Ask, purpose: Purpose, told: frozenset[str] = frozenset()) -> None:
        """Put a question, or first the confirmation it needs.

        Parameters
        ----------
        ask : the question; its id is its name without the number.
        purpose : what the answer is for.
        told : cautions that were just agreed to and need not be given again.
        """
        ask = self._completed(ask, purpose)
        gate = self._gate(ask)
        if gate is not None:
            self._pend(gate[0], gate[1])
            self.state = replace(self.state, wanted=ask, wanted_for=purpose)
            return
        energising = bool(_ENERGISING & set(occasions_of(self.setup.boat, ask.changes)))
        for caution in self._cautions(ask):
            again = energising and _ENERGISING & set(caution.on) and caution.id not in told
            if again or caution.id not in self.state.warned:
                self.warn(caution)
        self._pend(ask, purpose)
        if ask.state is not None and not is_unplugged(self.setup.boat, ask.state):
            self.state = replace(self.state, unplugged=False)

    def _pend(self, ask: Ask, purpose: Purpose) -> None:
        named = ask.named(self.name(ask.id))
        self.events.append(named)
        self.state = replace(self.state, pending=named, purpose=purpose, wanted=None, wanted_for=None)

    def in_question(self) -> Mapping[str, float]:
        """Return the probability of each place in question, likeliest first; nothing while nothing is known."""
        shares: dict[str, float] = {}
        for one in self._suspects():
            shares[one.repair.place] = shares.get(one.repair.place, 0.0) + one.probability
        return dict(sorted(shares.items(), key=lambda place: -place[1]))

    def _suspects(self) -> Iterable[Suspect]:
        if self.state.verdict is not None:
            return [one for one in untried(self.state) if one.stands]
        if not self.state.evidence:
            return ()
        diagnosis = self.setup.diagnosis
        return diagnosis.verdict(diagnosis.belief(self.state.evidence, self.state.lately), None).suspects

    def _completed(self, ask: Ask, purpose: Purpose) -> Ask:
        """Return the ask with what has to be changed, cautions, suspects and the path under test."""
        boat, state = self.setup.boat, self.state
        if purpose is Purpose.ROLE:
            return ask
        changes = changes_between(boat, state.boat_state, ask.state) if ask.state is not None else ()
        looked_at = ask.query.part if ask.query else ""
        stays = held(boat, ask.state, changes, looked_at) if ask.state and _is_test(ask) else ()
        ask = replace(ask, changes=changes, held=stays)
        due = dict.fromkeys([*ask.cautions, *self._due(ask)])
        # The verdict just named what is left, with its chances; once is enough.
        shares = {} if purpose in _NAMED_BEFORE else self.in_question()
        graph = graph_of(self.setup, state.symptom)
        strip = strip_of(self.setup, state, graph, ask.state, shares) if _is_test(ask) and ask.state else ()
        named, others = _named(boat, shares)
        return replace(ask, cautions=tuple(due), suspects=named, others=others, strip=strip)

    def _due(self, ask: Ask) -> Iterator[str]:
        """Yield the cautions due by what is done, and those of the parts that are touched."""
        boat, cautions = self.setup.boat, self.setup.knowledge.cautions
        occasions = set(self._occasions(ask))
        for caution in cautions.values():
            if occasions & set(caution.on):
                yield caution.id
        touched = [p.part for p in (ask.measurement.red, ask.measurement.black)] if ask.measurement else []
        places = ask.manipulation.places if ask.manipulation else ()
        for part in (*touched, *places):
            if part in boat.parts:
                named = [cautions[name] for name in boat.parts[part].kind.cautions if name in cautions]
                yield from (caution.id for caution in named if not caution.on)

    def _occasions(self, ask: Ask) -> Iterator[Occasion]:
        yield from occasions_of(self.setup.boat, ask.changes)
        start = (c.id for c in self.setup.knowledge.cautions.values() if Occasion.START in c.on)
        if not self.state.warned.issuperset(start):
            yield Occasion.START
        if ask.measurement is not None:
            yield _occasion(ask.measurement.function)
        if ask.wiggle is not None and isinstance(ask.wiggle.watched, Measurement):
            yield _occasion(ask.wiggle.watched.function)
        if ask.manipulation is not None and ask.wiggle is None:
            yield Occasion.REPAIR
            groups = {
                self.setup.boat.parts[p].kind.group
                for p in ask.manipulation.places
                if p in self.setup.boat.parts
            }
            if Group.FUSE in groups:
                yield Occasion.REPLACE_FUSE
            if Group.PACK in groups:
                yield Occasion.REPLACE_PACK

    def _cautions(self, ask: Ask) -> list[Caution]:
        return [self.setup.knowledge.cautions[name] for name in ask.cautions]

    def _gate(self, ask: Ask) -> tuple[Ask, Purpose] | None:
        """Return the confirmation that has to come before `ask`, or None."""
        cautions = self._cautions(ask)
        dead = needs_unplugged(self.setup.boat, ask) or any(caution.unplugged for caution in cautions)
        if dead and not self.state.unplugged:
            return self._unplug_ask(ask), Purpose.UNPLUG
        for caution in cautions:
            if caution.confirm and not caution.unplugged and caution.id not in self.state.warned:
                return _caution_ask(caution), Purpose.CAUTION
        return None

    def _unplug_ask(self, ask: Ask) -> Ask:
        boat = self.setup.boat
        packs = listed(place_label(boat, pack) for pack in in_group(boat, Group.PACK)) or "every supply"
        wanted = unplugged(boat)
        return Ask(
            id="unplug",
            text=f"Unplug {packs} now. Is every pack unplugged and lying apart from the boat's leads?",
            want=Want.CONFIRM,
            state=wanted,
            changes=changes_between(boat, self.state.boat_state, wanted),
            why=_why_unplug(ask),
            how=_HOW_UNPLUG,
        )


def untried(state: State) -> tuple[Suspect, ...]:
    """Return the suspects of the verdict without what was mended to no avail, which is believed no more."""
    suspects = state.verdict.suspects if state.verdict is not None else ()
    left = [one for one in suspects if one.repair not in state.tried]
    rest = 1.0 - sum(one.probability for one in suspects if one.repair in state.tried)
    if rest <= 0:
        return tuple(left)
    return tuple(replace(one, probability=min(1.0, one.probability / rest)) for one in left)


def _named(
    boat: Boat, shares: Mapping[str, float]
) -> tuple[tuple[tuple[str, float], ...], tuple[int, float]]:
    """Return the places worth naming with their probabilities, and how many others there are with theirs."""
    named = [(place, share) for place, share in shares.items() if share >= _LEAST_SHOWN][:_SHOWN_SUSPECTS]
    rest = [share for share in list(shares.values())[len(named) :] if share >= _LEAST_COUNTED]
    return tuple((place_label(boat, place), share) for place, share in named), (len(rest), sum(rest))


_OWN_OCCASIONS = {
    MeterFunction.AC_MILLIVOLTS: Occasion.RIPPLE,
    MeterFunction.LAMP: Occasion.TEST_LAMP,
}


def _occasion(function: MeterFunction) -> Occasion:
    if function.is_inserted:
        return Occasion.AMPS
    if function.is_pulsed:
        return Occasion.PULSES
    if function in _OWN_OCCASIONS:
        return _OWN_OCCASIONS[function]
    return Occasion.OHMS if function.is_dead else Occasion.VOLTS


def needs_unplugged(boat: Boat, ask: Ask) -> bool:
    """Tell whether a question can only be answered, or only be made ready for, with every pack unplugged."""
    if ask.query is not None:
        sign = boat.parts[ask.query.part].kind.signs[ask.query.sign]
        return sign.unplugged or ask.query.after is not None
    function = None if ask.measurement is None else ask.measurement.function
    return function is not None and (function.is_dead or function.is_inserted)


def _why_unplug(ask: Ask) -> str:
    if ask.measurement is not None and ask.measurement.function.is_inserted:
        return _WHY_UNPLUG_OPEN
    return _WHY_UNPLUG if ask.query is None else _WHY_UNPLUG_LOOK


def _is_test(ask: Ask) -> bool:
    return ask.asked is not None


def _caution_ask(caution: Caution) -> Ask:
    return Ask(
        id=f"caution.{caution.id}",
        text=f"{caution.text} Seen to?",
        want=Want.CONFIRM,
        why=caution.why,
        how="Do it now, then answer yes. With no, this step is left out.",
        cautions=(caution.id,),
    )
