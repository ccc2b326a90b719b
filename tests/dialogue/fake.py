"""A small diagnosis that stands in for the real one: few stories, exact arithmetic, no circuit."""

# ruff: noqa: ARG002 - a stand-in takes the arguments of what it stands for

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assistant.catalogue import Action
from assistant.circuit import BoatState, Measurement, MeterFunction, ready_state
from assistant.circuit.expectation import Band
from assistant.diagnosis import (
    NOTHING_LATELY,
    AtHand,
    Barred,
    Evidence,
    Lately,
    ModeAt,
    Outcome,
    ReadingSeen,
    RepairId,
    SignQuery,
    SignSeen,
    Step,
    StepKind,
    Suspect,
    Unrest,
    Unsteady,
    Verdict,
    Wiggled,
)
from assistant.wiring import Boat, Point, described_parts

FULL_V = 7.5
SURE = 0.95
STANDING = 0.03
FALSE_SHARE = 0.02
COMPLAINTS = frozenset({"turning", "jitter", "click"})
GOOD_LEVELS = frozenset({"runs", "quiet", "clicks"})
FEED = ("pack", "main-fuse", "fuse", "switch", "port-fuse", "drive", "port-drive", "pump", "port-pump")
UNKNOWN = "unknown"
HEALTHY = "healthy"


class Weights(dict[str, float]):
    """The weight of every story, and what it rests on."""

    def __init__(self, weights: Mapping[str, float], evidence: Sequence[Evidence]) -> None:
        super().__init__(weights)
        self.evidence = tuple(evidence)


@dataclass(frozen=True, kw_only=True)
class Story:
    """What may be wrong: the parts in feed order up to and with `dead_from` are dead."""

    name: str
    repair: RepairId
    mode: ModeAt
    dead_from: str
    follow_ups: tuple[RepairId, ...] = ()


def stories_of(boat: Boat) -> tuple[Story, ...]:
    """One story a part of the boat that has faults."""
    return tuple(
        Story(
            name=part,
            repair=RepairId(place=part, action=next(iter(faults.values())).action),
            mode=ModeAt(part=part, mode=next(iter(faults))),
            dead_from=part,
        )
        for part in described_parts(boat)
        if (faults := boat.parts[part].kind.faults)
    )


@dataclass(kw_only=True)
class FakeDiagnosis:
    """Stories about a boat: a reading at a part is full volts unless the story lies before it.

    Attributes
    ----------
    order : parts from the pack on; a reading there tells whether the trouble lies up to it.
    two, second : how likely two faults at once are, and the second of them.
    live_ohms : whether it proposes an ohms reading in a live state first, which must never be asked.
    """

    boat: Boat
    stories: tuple[Story, ...] = ()
    order: tuple[str, ...] = FEED
    live_ohms: bool = False
    dead_ohms: bool = False
    has_proof: bool = True
    two: float = 0.0
    second: tuple[RepairId, float] | None = None

    def __post_init__(self) -> None:
        self.stories = self.stories or stories_of(self.boat)
        self.order = tuple(part for part in self.order if part in self.boat.parts)

    def belief(self, evidence: Sequence[Evidence], lately: Lately = NOTHING_LATELY) -> Weights:
        """Return the weight of every story."""
        weights = {story.name: 1.0 / len(self.stories) for story in self.stories}
        weights |= {HEALTHY: 0.05, UNKNOWN: 0.01}
        for piece in evidence:
            for name in weights:
                weights[name] *= self._likelihood(name, piece)
        total = sum(weights.values())
        return Weights({name: weight / total for name, weight in weights.items()}, evidence)

    def _likelihood(self, name: str, piece: Evidence) -> float:
        if isinstance(piece, SignSeen) and piece.query.sign not in COMPLAINTS:
            return 1.0
        if name == UNKNOWN or isinstance(piece, Unsteady | Wiggled):
            return 0.1
        if isinstance(piece, ReadingSeen):
            as_told = abs(piece.value - self._expected(name, piece.measurement)) < 0.3
        else:
            good = GOOD_LEVELS & set(piece.levels)
            as_told = bool(good) == (name == HEALTHY)
        return 1.0 - FALSE_SHARE if as_told else FALSE_SHARE

    def _expected(self, name: str, measurement: Measurement) -> float:
        if measurement.function is not MeterFunction.DC_VOLTS:
            return 0.0
        part = measurement.red.part
        if name not in self.order or part not in self.order:
            return FULL_V
        return 0.0 if self.order.index(name) <= self.order.index(part) else FULL_V

    def next_step(
        self,
        belief: Weights,
        *,
        state: BoatState,
        last: Measurement | None,
        refused: frozenset[Barred],
        states: Sequence[BoatState] | None = None,
        at_hand: frozenset[AtHand] | None = None,
    ) -> Step | None:
        """Return the next reading from the pack on that was not refused."""
        if max(belief.values()) >= SURE:
            return None
        had = {piece.asked for piece in belief.evidence}
        offered = (m for m in self._candidates() if refused.isdisjoint((m, m.red, m.black)) and m not in had)
        return next(map(self._read, offered), None)

    def _candidates(self) -> list[Measurement]:
        ready = ready_state(self.boat)
        unplugged = ready.with_({"pack.plugged": 0.0})
        found = [self._at(part, MeterFunction.DC_VOLTS, ready) for part in self.order]
        if self.dead_ohms:
            found.insert(0, self._at(self.order[1], MeterFunction.OHMS, unplugged))
        if self.live_ohms:
            found.insert(0, self._at(self.order[1], MeterFunction.OHMS, ready))
        return found

    def _at(self, part: str, function: MeterFunction, state: BoatState) -> Measurement:
        terminals = list(self.boat.parts[part].kind.terminals)
        return Measurement(
            function=function,
            red=Point(part=part, terminal=terminals[0]),
            black=Point(part="pack", terminal="-"),
            state=state,
        )

    def _read(self, measurement: Measurement) -> Step:
        return Step(
            kind=StepKind.READ,
            measurement=measurement,
            band=self.band(measurement),
            query=None,
            levels={},
            gain_bits=1.0,
            seconds=20.0,
        )

    def verdict(self, belief: Weights, step: Step | None) -> Verdict:
        """Return how the hunt stands."""
        suspects = [
            Suspect(
                repair=story.repair,
                probability=belief[story.name],
                modes=(story.mode,),
                follow_ups=story.follow_ups,
                stands=belief[story.name] >= STANDING,
            )
            for story in self.stories
        ]
        suspects.sort(key=lambda one: -one.probability)
        return Verdict(
            outcome=self._outcome(belief, suspects, step),
            suspects=tuple(suspects),
            healthy=belief[HEALTHY],
            unknown=belief[UNKNOWN],
            two=self.two,
            second=self.second,
        )

    def _outcome(self, belief: Weights, suspects: list[Suspect], step: Step | None) -> Outcome:
        if belief[UNKNOWN] >= 0.5:
            return Outcome.UNKNOWN
        if belief[HEALTHY] >= SURE:
            return Outcome.HEALTHY
        if suspects[0].probability >= SURE:
            return Outcome.SOLE
        return Outcome.GROUP if step is None else Outcome.OPEN

    def band(self, measurement: Measurement) -> Band:
        """Return full volts with some room, or no ohms."""
        if measurement.function is not MeterFunction.DC_VOLTS:
            return Band(typical=0.1, low=0.0, high=0.5)
        return Band(typical=FULL_V, low=FULL_V - 0.3, high=FULL_V + 0.3)

    def levels(self, query: SignQuery) -> Mapping[str, str]:
        """Return the levels of the sign as its kind names them."""
        spec = self.boat.parts[query.part].kind.signs[query.sign]
        names = dict.fromkeys([*spec.levels, spec.restless_level, spec.chance_level])
        return {name: spec.words.get(name, name) for name in names if name}

    def plausible(self, measurement: Measurement, value: float) -> bool:
        """Tell whether a reading is within what the pack can do."""
        return -1.0 <= value <= 2.0 * FULL_V or measurement.function is not MeterFunction.DC_VOLTS

    def proof(
        self,
        repair: RepairId,
        belief: Weights,
        *,
        state: BoatState,
        states: Sequence[BoatState] | None = None,
        refused: frozenset[Barred] = frozenset(),
    ) -> Step | None:
        """Return the volts at the last part of the feed."""
        last = self._at(self.order[-1], MeterFunction.DC_VOLTS, ready_state(self.boat))
        return self._read(last) if self.has_proof else None

    def explain(self, step: Step, belief: Weights) -> str:
        """Return a reason."""
        return "It halves the feed."

    def unrest(self, repair: RepairId, belief: Weights) -> Unrest | None:
        """Return that the relay lets go and pulls in when the relay is the trouble."""
        return Unrest(parts=("relay",), turn_s=0.015) if repair.place == "relay" else None


REPLACE_FUSE = RepairId(place="fuse", action=Action.REPLACE)
