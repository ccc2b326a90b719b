"""The learner's side of the water: how the boat is set, where the meter's lead sits, and what carelessness does.

Nothing is forbidden here that a real boat would not forbid.  Ohms on a live circuit and the current jack across
something stiff cost the meter its fuse; hands among running pumps are told, once each time.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from assistant.catalogue import Action
from assistant.circuit import BoatState, Measurement, MeterFunction, MeterProfile, Solver, is_unplugged
from assistant.drill.hiding import Complaint, Hidden
from assistant.drill.judging import Shake
from assistant.drill.reference import trouble_shows
from assistant.drill.virtual import VirtualBoat
from assistant.wiring import TRANSMITTER, Boat, Point, Setting, SettingSort, settings_of

METER_FUSE_S = 300.0
"""What a new fuse for the meter costs (common practice, no source)."""

METER_FUSE_A = 10.0
"""What the fuse of a cheap meter's current jack carries (common practice, no source)."""

CLEAR_S = 5.0
WAIT_S = 20.0

OHMS, VOLTS, SERIES, HELD, MEND, FUSE = (
    "unplugged-for-ohms",
    "meter-on-volts",
    "meter-in-series",
    "held-boat",
    "mend-unplugged",
    "same-fuse-rating",
)
"""The cautions that a drill watches over."""

_LIVE_V = 1.0
_LIVE_ACTIONS = frozenset({Action.SET, Action.CHARGE})
_MOST_WAITS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Ignored:
    """A caution that was ignored: its id, what came of it, and the seconds that costs; costly when something broke."""

    caution: str
    what: str
    seconds: float = 0.0
    costly: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Display:
    """What the meter showed.

    Attributes
    ----------
    value : volts or ohms; None when it showed nothing that can be reckoned with.
    other : the second value between which it jumps, when it does.
    troubled : whether the trouble showed meanwhile; None where that cannot be seen.
    lacking : whether the meter has no such function.
    """

    value: float | None
    other: float | None = None
    troubled: bool | None = None
    lacking: bool = False


@dataclass(slots=True)
class Rig:
    """A boat, a meter and a pair of hands.

    Attributes
    ----------
    state : how the boat is set.
    complaint : the sign that is looked after at present.
    ignored : cautions ignored since they were last taken.
    """

    solver: Solver
    hidden: Hidden
    complaint: Complaint
    state: BoatState
    meter: MeterProfile
    ignored: list[Ignored] = field(default_factory=list)
    boat: VirtualBoat = field(init=False)
    _in_amps: bool = False
    _clear: bool = False
    _told: bool = False

    def __post_init__(self) -> None:
        self.boat = self.hidden.boat(self.solver, self.meter)

    @property
    def described(self) -> Boat:
        """Return the boat as described."""
        return self.solver.network.boat

    def take_ignored(self) -> tuple[Ignored, ...]:
        """Return the cautions ignored since this was last asked."""
        found = tuple(self.ignored)
        self.ignored.clear()
        return found

    def clear(self) -> None:
        """Hold the boat and look that nothing is near pumps and propellers."""
        self._clear, self._told = True, False

    def set(self, changes: Mapping[str, float]) -> None:
        """Set some of the boat; what may start a motor wants the boat clear."""
        settings = {setting.id: setting for setting in settings_of(self.described)}
        for name, value in changes.items():
            if _may_start(settings[name], value):
                self._hands()
        self.state = self.state.with_(changes)

    def _hands(self) -> None:
        """Note, once until it is seen to, that motors may run with something in their way."""
        if not self._clear and not self._told:
            self._told = True
            self.ignored.append(
                Ignored(
                    caution=HELD,
                    what="Motors may run, and nobody has seen to it that the boat is held and clear.",
                )
            )

    def hands_in(self) -> None:
        """Put hands into the boat as it stands."""
        controls = [s for s in settings_of(self.described) if s.sort is SettingSort.CONTROL]
        if any(self.state.get(s.id) != s.rest for s in controls) and not is_unplugged(
            self.described, self.state
        ):
            self._hands()

    def taken_out(self) -> None:
        """Pull, turn or touch something that is safe only with every pack unplugged."""
        if not is_unplugged(self.described, self.state):
            what = "That means pulling or turning something, and a pack is plugged in."
            self.ignored.append(Ignored(caution=MEND, what=what))

    def volts_hole(self) -> None:
        """Put the red lead into the volts hole."""
        self._in_amps = False

    def read(self, function: MeterFunction, red: Point, black: Point) -> Display:
        """Read the meter; a function that it lacks shows nothing."""
        if function not in self.boat.meter.functions:
            return Display(value=None, lacking=True)
        self.hands_in()
        if self._in_amps and not function.is_dead and not function.is_inserted:
            amps = self._through(red, black)
            self.ignored.append(
                Ignored(
                    caution=VOLTS,
                    what=f"The red lead still sits in the amps hole: {_amps_words(amps)}.",
                    seconds=METER_FUSE_S if amps > METER_FUSE_A else 0.0,
                    costly=amps > METER_FUSE_A,
                )
            )
            self._in_amps = False
            return Display(value=None)
        if function.is_inserted:
            return self._in_series(Measurement(function=function, red=red, black=black, state=self.state))
        if function.is_dead and not is_unplugged(self.described, self.state):
            self._live_ohms(red, black)
            return Display(value=None)
        return self._display(Measurement(function=function, red=red, black=black, state=self.state))

    def _in_series(self, measurement: Measurement) -> Display:
        """Read the current with the meter in the place of what was opened; the red lead stays in the amps hole."""
        self._in_amps = True
        amps = abs(self.boat.amps_in_series(measurement, self.boat.meter.currents[-1].ohm))
        if amps <= self.boat.meter.currents[-1].fuse_a:
            return self._display(measurement)
        self.ignored.append(
            Ignored(
                caution=SERIES,
                what=f"{_amps_words(amps)}.",
                seconds=METER_FUSE_S,
                costly=True,
            )
        )
        return Display(value=None)

    def _display(self, measurement: Measurement) -> Display:
        troubled = self.troubled()
        if self.hidden.comes_and_goes and self.boat.is_bouncing:
            first, second = self.boat.read_bouncing(measurement)
            shown = Display(value=first, other=second if second != first else None, troubled=False)
        else:
            shown = Display(value=self.boat.read(measurement), troubled=troubled)
        self.boat.let_time_pass()
        return shown

    def _live_ohms(self, red: Point, black: Point) -> None:
        live = Measurement(function=MeterFunction.DC_VOLTS, red=red, black=black, state=self.state)
        volts = abs(self.boat.read(live))
        burns = volts > _LIVE_V
        what = (
            f"There are volts between these points: the fuse of the meter blows. A new one takes {METER_FUSE_S:.0f} s."
            if burns
            else "A pack is plugged in: what the meter shows on ohms means nothing."
        )
        self.ignored.append(
            Ignored(caution=OHMS, what=what, seconds=METER_FUSE_S if burns else 0.0, costly=burns)
        )

    def _through(self, red: Point, black: Point) -> float:
        return self.boat.amps_through_meter(red, black, self.state)

    def amps(self, red: Point, black: Point) -> float | None:
        """Put the current jack across two points; return what it carries, or None when its fuse blew."""
        self.hands_in()
        self._in_amps = True
        amps = self._through(red, black)
        burns = amps > METER_FUSE_A
        self.ignored.append(
            Ignored(
                caution=VOLTS,
                what=f"On amps the meter is a piece of wire between its probes: {_amps_words(amps)}.",
                seconds=METER_FUSE_S if burns else 0.0,
                costly=burns,
            )
        )
        return None if burns else amps

    def troubled(self) -> bool | None:
        """Tell whether the trouble shows at this moment; None where the boat is not set so that it could."""
        if not self.hidden.comes_and_goes:
            return True
        if self.state != self.complaint.query.state:
            return None
        return trouble_shows(self.boat, self.complaint, fickle=True)

    def wait(self) -> float:
        """Wait until the trouble shows where it can; return the seconds it took."""
        for turn in range(1, _MOST_WAITS + 1):
            self.boat.let_time_pass()
            if self.troubled() is not False:
                return turn * WAIT_S
        return _MOST_WAITS * WAIT_S

    def wiggle(self, place: str) -> tuple[Shake, bool | None]:
        """Move a place; return that as a check, and whether the trouble came or went (None: nobody could see)."""
        self.hands_in()
        before = self.troubled()
        moved = self.boat.shake(place)
        what = Shake(place=place, state=self.state)
        return what, None if before is None else moved and self.hidden.comes_and_goes

    def mend(self, place: str, action: Action) -> tuple[bool, bool]:
        """Do something to a place; return whether that cured a fault there, and whether it was what it needed.

        A part that failed because of another fails again at once while that other is not mended.
        """
        if action not in _LIVE_ACTIONS and not is_unplugged(self.described, self.state):
            self.ignored.append(
                Ignored(caution=MEND, what="A pack is plugged in while you work on the wiring.", costly=True)
            )
        self._clear = False
        wrong = [fault for fault in self.boat.faults if fault.part == place]
        if not wrong:
            return False, False
        if self._causes_left(place):
            self.ignored.append(
                Ignored(
                    caution=FUSE,
                    what="What made it fail is still there: it fails again as soon as it is fed.",
                    costly=True,
                )
            )
            return False, False
        modes = self.described.parts[place].kind.faults
        needed = {modes[fault.mode].action for fault in wrong}
        if action not in needed and action is not Action.REPLACE:
            return False, False
        self.boat.mend(place)
        return True, action in needed

    def _causes_left(self, place: str) -> bool:
        """Tell whether what failed at a place did so because of something that is not mended yet."""
        left = {fault.part for fault in self.boat.faults}
        return any(
            place in parts[1:] and parts[0] in left
            for parts in ([mode.part for mode in story.modes] for story in self.hidden.stories)
        )

    def still_wrong(self) -> tuple[Complaint, str] | None:
        """Try all that was complained of, moving wires as it runs; return what is still wrong, and how it shows."""
        every: Sequence[Complaint] = self.hidden.complaints
        for complaint in every:
            self.state = complaint.query.state
            for _ in range(_MOST_WAITS if self.hidden.comes_and_goes else 1):
                level = self.boat.look(complaint.query)
                if level != complaint.well:
                    return complaint, level
                self.boat.let_time_pass()
        return None


def _may_start(setting: Setting, value: float) -> bool:
    return setting.id != TRANSMITTER and value != setting.rest


def _amps_words(amps: float) -> str:
    if amps > METER_FUSE_A:
        return f"{amps:.0f} A flow, its fuse blows. A new one takes {METER_FUSE_S:.0f} s"
    return f"{amps:.2g} A flow through it that would not flow without it"
