"""Usual sizes for a boat that is being described, worked out from what is known and from the part kinds.

They are what the review of a plan would let pass: a fuse that carries the load and guards its lead, a lead that
loses little on its way, a drive that stands a stalled motor until the fuse opens, a cut-off that spares the cells.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from assistant.catalogue import Catalogue, Kind
from assistant.plan.packs import STOP_V
from assistant.quantities import Unit, awg_mm2, parse_quantity, show
from assistant.wiring import read_lead


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauges:
    """Sizes of the leads on the way from the packs to the motors, as they are written, and that way.

    Attributes
    ----------
    pack : between each pack and where they join.
    main : from there to the branches.
    branch : to a drive.
    motor : from the drive to the motor.
    way_m : from pack to drive, one way.
    """

    pack: str
    main: str
    branch: str
    motor: str
    way_m: float


Answers = Mapping[str, str]
"""Answers by key: the key of a choice, or a text that was checked."""

PACKS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "nimh": "nimh pack",
        "lithium": "lithium pack",
        "lead": "lead acid pack",
        "alkaline": "alkaline pack",
    }
)
"""Kinds of pack by the key of the answer."""

# Sizes in the shops (common practice, no source); blade fuses by ISO 8820-3 (from memory).
_GAUGES: Final = (20, 18, 16, 14, 12, 10, 8, 6)
_FUSES_A: Final = (1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0)
_DRIVES_A: Final = (10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0, 150.0, 200.0)
_USUAL: Final[Mapping[str, tuple[int, float]]] = MappingProxyType(
    {"nimh": (6, 3.3), "lithium": (3, 5.0), "lead": (6, 7.0), "alkaline": (4, 2.5)}
)
_COPPER: Final = 58.0  # S m / mm2, IEC 60028
_LOAD: Final = 0.75
_SHOCK: Final = 1.5
_LAMP: Final = 1.05
_LOST: Final = 0.03
_LIGHTS_A: Final = 0.5
_ELECTRONICS_A: Final = 1.0
_IDLE_A: Final = 0.2
_MOTOR_A: Final = 6.0
_LEAST_MOTOR_A: Final = 0.05
_BOTH_WAYS: Final = 2.0
_SURGE: Final = 2.0
_LEAST: Final = 0.6
_TOUCHED_V: Final = 60.0  # direct voltage that may be touched, dry (IEC 61140, from memory)
_WHOLE: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Sizing:
    """Usual sizes from the answers so far."""

    catalogue: Catalogue

    def usual_cells(self, answers: Answers) -> int:
        """Return how many cells such a pack usually has."""
        return _USUAL[answers["pack"]][0]

    def most_cells(self, answers: Answers) -> int:
        """Return how many cells in a row stay below 60 V, above which touching live parts is dangerous."""
        kind = self._kind(answers)
        most = int(_TOUCHED_V / float(kind.curves["rest_v"](1.0)))
        return min(most, int(kind.values["cells"].high or most))

    def capacities_ah(self, answers: Answers) -> tuple[float | None, float | None]:
        """Return the least and the most capacity such a pack comes with."""
        spec = self._kind(answers).values["capacity_ah"]
        return spec.low, spec.high

    def usual_capacity_ah(self, answers: Answers) -> float:
        """Return which capacity such a pack usually has."""
        return _USUAL[answers["pack"]][1]

    def full_v(self, answers: Answers) -> float:
        """Return the resting volts of the full packs."""
        return self._cells(answers) * float(self._kind(answers).curves["rest_v"](1.0))

    def printed_v(self, answers: Answers) -> float:
        """Return the least voltage that a drive for these packs has printed on it."""
        return float(math.ceil(self.full_v(answers)))

    def half_v(self, answers: Answers) -> float:
        """Return the resting volts of the packs at half charge, what people call their voltage."""
        return self._cells(answers) * float(self._kind(answers).curves["rest_v"](0.5))

    def thin_v(self, answers: Answers) -> float:
        """Return the volts of the full packs that instruments hang on: those of the lower one where there is a tap."""
        return self.full_v(answers) / (2.0 if answers["packs"] == "tap" else 1.0)

    def lights_v(self, answers: Answers) -> float:
        """Return the volts of the full packs that lights hang on; the remote switch lights them from all packs."""
        return self.full_v(answers) if answers["switching"] == "remote" else self.thin_v(answers)

    def cut_off_v(self, answers: Answers) -> float:
        """Return the pack voltage that spares the cells."""
        stop = STOP_V.get(PACKS[answers["pack"]])
        return _up(self._cells(answers) * (stop[0] if stop else 0.8))

    def load_a(self, answers: Answers) -> float:
        """Return what all runs draw together on full packs."""
        lights = _LIGHTS_A if answers.get("lights", "none") != "none" else 0.0
        return float(answers["drives"]) * self.drive_load_a(answers) + lights + _ELECTRONICS_A

    def drive_load_a(self, answers: Answers) -> float:
        """Return what runs behind one drive on full packs."""
        volts, amps = pair(answers["motor"])
        return amps * max(1.0, self.full_v(answers) / volts)

    def fuse_a(self, answers: Answers) -> float:
        """Return the smallest fuse that carries the load for long."""
        return _next(_FUSES_A, self.load_a(answers) / _LOAD)

    def branch_fuse_a(self, answers: Answers) -> float:
        """Return the smallest fuse that carries one drive for long, and the receiver where that drive feeds it."""
        own_a = _ELECTRONICS_A if answers.get("receiver feed") == "drive" else _IDLE_A
        return _next(_FUSES_A, (self.drive_load_a(answers) + own_a) / _LOAD)

    def drive_a(self, answers: Answers) -> float:
        """Return the smallest drive that stands a stalled motor until a fuse opens."""
        volts, _ = pair(answers["motor"])
        stall_a = _amps(answers["stall current"])
        return _next(_DRIVES_A, stall_a * max(1.0, self.full_v(answers) / volts) / _SHOCK)

    def motor_a(self, answers: Answers) -> float:
        """Return a running current that the packs give without strain, at most that of a usual pump."""
        kind = self._kind(answers)
        capacity_ah = parse_quantity(answers["capacity"], Unit.AMP_HOUR).value
        most = kind.values["max_a"].default
        amps = float(most({"capacity_ah": capacity_ah}, kind.curves)) if most is not None else _MOTOR_A
        return max(_LEAST_MOTOR_A, min(_MOTOR_A, 0.3 * amps / float(answers["drives"])))

    def lamp_v(self, answers: Answers) -> float:
        """Return the rating of a lamp that stands the full packs."""
        return self.lights_v(answers) / _LAMP

    def leds(self, answers: Answers) -> int:
        """Return how many white LEDs in a row the packs light, at most six."""
        led_v = self.catalogue.kinds["led string"].values["led_v"].default
        volts = float(led_v({}, {})) if led_v is not None else 3.2
        share = self.lights_v(answers) / self.full_v(answers)
        return max(1, min(6, int(0.85 * share * self.half_v(answers) / volts)))

    def main_gauge(self, answers: Answers, length_m: float) -> str:
        """Return the thinnest main lead that the fuse guards and that loses little."""
        fuse_a = _amps(answers["main fuse"])
        if answers["packs"] == "parallel":
            fuse_a *= 2.0
        lost = _BOTH_WAYS * length_m * self.load_a(answers) / (_COPPER * _LOST * self.half_v(answers))
        return self.gauge(max(fuse_a, self.load_a(answers)), least_mm2=max(lost, awg_mm2(14)))

    def gauge(self, amps: float, *, least_mm2: float = 0.0) -> str:
        """Return the thinnest lead that stands a current; the thickest there is when none is thick enough."""
        wire = self.catalogue.kinds["wire"]
        for gauge in _GAUGES:
            area_mm2 = awg_mm2(gauge)
            stands_a = float(wire.ratings["amps"].limit({"area_mm2": area_mm2}, wire.curves))
            if stands_a >= amps and area_mm2 >= least_mm2 * (1.0 - _WHOLE):
                return f"{gauge} AWG"
        return f"{_GAUGES[-1]} AWG"

    def gauges(self, answers: Answers) -> Gauges:
        """Return the sizes of the thick leads: a size thinner where a branch leaves, if its fuse guards that."""
        lead = read_lead(answers["main lead"], self.catalogue).gauge
        fuse_a = _amps(answers["main fuse"])
        load_a, drive_a = self.load_a(answers), self.drive_load_a(answers)
        branch_a = max(_amps(answers.get("fuse of a drive", "0 A")) or fuse_a, drive_a)
        written = " ".join(answers["main lead"].split()[:2])
        parallel, twin = answers["packs"] == "parallel", answers["drives"] == "2"
        branch = self._thinner(lead.area_mm2, branch_a) if twin else written
        area_mm2 = parse_quantity(branch, Unit.SQUARE_MM).value
        return Gauges(
            pack=self._thinner(lead.area_mm2, max(fuse_a, load_a)) if parallel else written,
            main=written,
            branch=branch,
            motor=self._thinner(area_mm2, branch_a),
            way_m=lead.length_m,
        )

    def _thinner(self, area_mm2: float, amps: float) -> str:
        """Return the next thinner size than this one, if it stands a current; else the thinnest that does."""
        smaller = next((g for g in reversed(_GAUGES) if awg_mm2(g) < 0.95 * area_mm2), _GAUGES[0])
        return self.gauge(amps, least_mm2=awg_mm2(smaller))

    def switch_a(self, answers: Answers) -> float:
        """Return the rating of a main switch that stands the fuses, and for a moment all motors held fast."""
        fuses_a = _amps(answers["main fuse"]) * (2.0 if answers["packs"] == "parallel" else 1.0)
        volts, _ = pair(answers["motor"])
        stall_a = _amps(answers["stall current"]) * max(1.0, self.full_v(answers) / volts)
        return _next(_FUSES_A, max(fuses_a, float(answers["drives"]) * stall_a / _SURGE))

    def stands(self, answers: Answers, kind: str) -> tuple[str, ...]:
        """Return the highest voltage that is printed on a part, where the usual one is too low for the packs."""
        most = self.catalogue.kinds[kind].values["max_v"].default
        volts = self.thin_v(answers)
        if most is not None and volts <= float(most({}, {})):
            return ()
        return (f"max: {show(float(math.ceil(volts)), Unit.VOLT)}",)

    def starts(self, answers: Answers) -> tuple[str, ...]:
        """Return the volts at which an instrument starts and drops out, where the usual ones do not suit the packs."""
        kind = self.catalogue.kinds["depth sounder"]
        start, least = kind.values["start_v"].default, kind.values["min_v"].default
        volts = _LEAST * self.thin_v(answers)
        if start is not None and least is not None and float(start({}, {})) <= volts:
            return ()
        lowest = kind.values["start_v"].low or 0.0
        start_v, least_v = max(volts, 1.1 * lowest), max(0.9 * volts, lowest)
        return (f"start: {show(start_v, Unit.VOLT, 2)}", f"min: {show(least_v, Unit.VOLT, 2)}")

    def _kind(self, answers: Answers) -> Kind:
        return self.catalogue.kinds[PACKS[answers["pack"]]]

    def _cells(self, answers: Answers) -> float:
        return float(answers["cells"]) * (2.0 if answers.get("packs") in {"series", "tap"} else 1.0)


def pair(text: str) -> tuple[float, float]:
    """Return volts and amps of an answer such as ``12 V at 8 A``."""
    volts, _, amps = text.partition(" at ")
    return parse_quantity(volts, Unit.VOLT).value, parse_quantity(amps, Unit.AMP).value


def _amps(text: str) -> float:
    return parse_quantity(text, Unit.AMP).value


def _up(volts: float) -> float:
    """Return volts rounded up to a tenth."""
    return math.ceil(10.0 * volts - _WHOLE) / 10.0


def _next(sizes: tuple[float, ...], least: float) -> float:
    return next((size for size in sizes if size >= least), sizes[-1])
