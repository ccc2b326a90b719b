"""From the answers of an interview to a wiring description.

The boat is laid out as one would build it: a fuse near each pack, one switch, a bus bar where more than one branch
leaves, a fuse of its own for each thin branch, and a common negative.
"""

from __future__ import annotations

from typing import Final

from assistant.plan.draft import Draft
from assistant.plan.interview import Interview
from assistant.plan.sizing import PACKS, Answers, Gauges, Sizing
from assistant.plan.topics import is_fitted
from assistant.quantities import Unit, show

_SIDES: Final = ("port", "starboard")
_BRANCH_FUSE: Final = "rating: 3 A"
_MODULE_FUSE: Final = "rating: 5 A"
_UNKNOWN: Final = "Nobody knew, so the usual was taken; look it up and put it right:"
_THICK, _THIN, _HAIR = "20 AWG", "22 AWG", "24 AWG"
_NEAR_M: Final = 0.12
_SHORT_M: Final = 0.10
_BACK_M: Final = 0.20
_FAR_M: Final = 0.40
_LEAST_M: Final = 0.05


def compose(interview: Interview) -> str:
    """Return the description of the boat that the answers speak of; questions left open get their usual answer."""
    done = interview.finished()
    return _Layout(done.answers, done.sizing).text(tuple(key for key, _ in done.given if key in done.unknown))


class _Layout:
    """The boat of one set of answers as it is laid out.

    Parameters
    ----------
    answers
        An answer to every question.
    sizing
        Gives the sizes that nobody is asked for.
    """

    def __init__(self, answers: Answers, sizing: Sizing) -> None:
        self._answers = answers
        self._sizing = sizing
        self._gauges: Gauges = sizing.gauges(answers)
        self._twin = answers["drives"] == "2"
        self._draft = Draft(drive_end="plug" if self._twin else "soldered")
        self._remote = answers["switching"] == "remote"
        self._tapped = answers["packs"] == "tap"
        thin = answers["lights"] != "none" or answers["depth sounder"] == "yes"
        module = answers.get("receiver feed") == "module"
        # A single branch needs no bar to leave from.
        self._bar = self._twin or self._remote or module or (thin and not self._tapped)
        self._common = self._bar or thin or answers["packs"] == "parallel"
        self._negatives: list[tuple[str, str, float]] = []

    def text(self, unknown: tuple[str, ...]) -> str:
        """Return the description; `unknown` are the answers that nobody knew."""
        tops, bottom = self._packs()
        self._feed(tops)
        self._steering()
        self._motors()
        self._thin_branches()
        self._receiver()
        self._back(bottom)
        remarks = (_UNKNOWN, f"{', '.join(unknown)}.") if unknown else ()
        return self._draft.text(self._answers["name"], self._answers["purpose"], remarks)

    def _packs(self) -> tuple[list[str], str]:
        """Add the packs; return what feeds the boat, and the negative end."""
        answers, draft = self._answers, self._draft
        kind = PACKS[answers["pack"]]
        names = {"one": ["pack"], "parallel": ["pack-a", "pack-b"]}.get(
            answers["packs"], ["lower-pack", "upper-pack"]
        )
        for name in names:
            draft.part(name, kind, f"cells: {answers['cells']}", f"capacity: {answers['capacity']}")
        if answers["packs"] == "series":
            draft.run("lower-pack +", "upper-pack -", gauge=self._gauges.main, lengths_m=(_SHORT_M,))
        elif self._tapped:
            draft.part("tap", "bus bar")
            way = ["lower-pack +", *self._fuse("lower-fuse"), "tap"]
            draft.run(*way, gauge=self._gauges.main, lengths_m=(_NEAR_M, _SHORT_M))
            draft.run("upper-pack -", "tap", gauge=self._gauges.main, lengths_m=(_SHORT_M,))
        tops = names if answers["packs"] == "parallel" else names[-1:]
        if answers["packs"] == "parallel":
            self._negatives.append(("pack-b -", self._gauges.pack, _BACK_M))
        return [f"{name} +" for name in tops], f"{names[0]} -"

    def _fuse(self, name: str) -> list[str]:
        """Add a main fuse, where there is one."""
        rating = self._answers["main fuse"]
        return [self._draft.part(name, "blade fuse", f"rating: {rating}")] if is_fitted(rating) else []

    def _feed(self, tops: list[str]) -> None:
        """Lay the feed from the packs to the bus bar, or to the only drive."""
        draft, gauges = self._draft, self._gauges
        start = [tops[0]]
        if len(tops) > 1:
            feed = draft.part("feed", "bus bar")
            for top, name in zip(tops, ("fuse-a", "fuse-b"), strict=True):
                way = [top, *self._fuse(name), feed]
                draft.run(*way, gauge=gauges.pack, lengths_m=(_NEAR_M, _SHORT_M))
            start = [feed]
        else:
            start += self._fuse("fuse")
            if self._remote:
                start.append(draft.part("feed", "splice"))
        start += self._switch()
        end = draft.part("bus", "bus bar") if self._bar else "drive +"
        if end == "drive +":
            self._drive("drive")
        if self._common:
            draft.part("minus", "bus bar")
        rest_m = max(_LEAST_M, gauges.way_m - _NEAR_M - _SHORT_M * (len(start) - 2))
        lengths = (_NEAR_M, *(_SHORT_M for _ in start[2:]))[: len(start) - 1]
        draft.run(*start, end, gauge=gauges.main, lengths_m=(*lengths, _SHORT_M if self._bar else rest_m))

    def _switch(self) -> list[str]:
        """Add what switches the boat on."""
        draft, kind = self._draft, self._answers["switching"]
        rating = f"rating: {show(self._sizing.switch_a(self._answers), Unit.AMP)}"
        if kind == "none":
            return []
        if not self._remote:
            return [draft.part("switch", kind, rating)]
        draft.part("step-down", "step-down module", "set: 5 V", "rating: 3 A")
        draft.part("relay", "relay module", "supply: receiver")
        return [draft.part("main-switch", "solid state switch", rating)]

    def _steering(self) -> None:
        """Add controls and servos."""
        answers, draft = self._answers, self._draft
        draft.control("throttle", "stick", "60 %")
        if answers["servos"] != "0" or is_fitted(answers.get("steering mix", "0 %"), Unit.RATIO):
            draft.control("helm", "stick", "20 %")
        names = ("rudder",) if answers["servos"] == "1" else ("rudder", "second-rudder")
        for name in names[: int(answers["servos"])]:
            draft.channel(draft.part(name, "servo"), "helm: 100 %")

    def _motors(self) -> None:
        """Add each drive with what it runs."""
        for number, side in enumerate(_SIDES if self._twin else ("",)):
            drive = self._drive(_of(side, "drive"))
            fuse = self._answers.get("fuse of a drive", "0 A")
            if self._bar:
                own = (
                    [self._draft.part(_of(side, "fuse"), "blade fuse", f"rating: {fuse}")]
                    if is_fitted(fuse)
                    else []
                )
                lengths = (_SHORT_M, _NEAR_M)
                self._draft.run("bus", *own, f"{drive} +", gauge=self._gauges.branch, lengths_m=lengths)
            plus = "bus" if self._bar and not is_fitted(fuse) else f"{drive} +"
            self._hung(side, drive, plus)
            back_m = _BACK_M if self._common else self._gauges.way_m
            self._negatives.append((f"{drive} -", self._gauges.branch, back_m))
            self._draft.channel(drive, self._mix(number), cut=number > 0 and self._fed_by_drive())

    def _drive(self, name: str) -> str:
        """Add a drive, unless it is there."""
        answers = self._answers
        values = [f"rating: {answers['drive rating']}", f"cutoff: {answers['cut-off']}"]
        if "drive volts" in answers:
            values.append(f"max: {answers['drive volts']}")
        if self._fed_by_drive():
            values += [f"bec: {answers['regulator']}", "bec type: switching"]
        else:
            values.append("bec type: none")
        kind = "forward drive" if answers["drive runs"] == "ahead" else "reversing drive"
        return self._draft.part(name, kind, *values)

    def _hung(self, side: str, drive: str, plus: str) -> None:
        """Add what a drive runs; `plus` is where a motor that is always fed gets its positive."""
        answers, gauge = self._answers, self._gauges.motor
        word = "pump" if answers["motor drives"] == "pump motor" else "motor"
        if answers["drive runs"] == "shared":
            ahead = self._motor(_of(side, "ahead"), "motor", "stall current")
            astern = self._motor(_of(side, "astern"), "astern pump", "stall current of an astern pump")
            for motor in (ahead, astern):
                self._draft.run(plus, f"{motor} +", gauge=gauge, lengths_m=(_BACK_M,))
            # Ahead the drive pulls its B to negative, astern its A.
            ends = ((f"{drive} B", f"{ahead} -"), (f"{drive} A", f"{astern} -"))
        else:
            motor = self._motor(_of(side, word), "motor", "stall current")
            both = answers["drive runs"] == "both"
            ends = (
                (f"{drive} A" if both else plus, f"{motor} +"),
                (f"{drive} {'B' if both else 'M'}", f"{motor} -"),
            )
        for start, end in ends:
            self._draft.run(start, end, gauge=gauge, lengths_m=(_NEAR_M,))

    def _motor(self, name: str, rated: str, stall: str) -> str:
        answers = self._answers
        fitted = "fitted" if answers["suppression capacitors"] == "yes" else "missing"
        values = (f"rated: {answers[rated]}", f"stall: {answers[stall]}", f"suppressor: {fitted}")
        return self._draft.part(name, answers["motor drives"], *values)

    def _mix(self, number: int) -> str:
        share = self._answers.get("steering mix", "0 %")
        if not is_fitted(share, Unit.RATIO):
            return "throttle: 100 %"
        return f"throttle: 100 %, helm: {'-' if number else ''}{share}"

    def _fed_by_drive(self) -> bool:
        return self._answers.get("receiver feed") == "drive"

    def _thin_branches(self) -> None:
        """Add lights and instruments; behind the remote switch's relay the lights, the rest behind a thin fuse."""
        draft, lit = self._draft, self._lights()
        sounder = self._sounder()
        dimmed = bool(lit) and self._answers.get("lights lit by") == "dimmer"
        if dimmed:
            draft.part("dimmer", "dimmer", "rating: 3 A", *self._sizing.stands(self._answers, "dimmer"))
            draft.control("lights", "lever", "60 %")
            draft.channel("dimmer", "lights: 100 %")
            self._spread(["dimmer out"], "dimmed", lit, _THIN)
        if self._remote:
            self._remote_branches(lit)
        fed = ["dimmer"] if dimmed else [] if self._remote else lit
        if fed or sounder:
            way = ["tap" if self._tapped else "bus", draft.part("aux-fuse", "blade fuse", _BRANCH_FUSE)]
            if self._tapped:
                way.append(draft.part("aux-switch", "toggle switch", "rating: 5 A"))
            self._spread(way, "aux", [*fed, *sounder], _THICK)
        fed = [*fed, *sounder, *(lit if dimmed or self._remote else ())]
        self._negatives += [(f"{part} -", _THIN, _FAR_M) for part in fed]

    def _lights(self) -> list[str]:
        """Add the lights and return their names."""
        answers, draft, found = self._answers, self._draft, list[str]()
        if answers["lights"] in {"lamp", "both"}:
            found.append(draft.part("lamp", "lamp", f"rated: {answers['lamp']}"))
        if answers["lights"] in {"leds", "both"}:
            leds, _, volts = answers["LEDs"].partition(" at ")
            supply = show(self._sizing.lights_v(answers), Unit.VOLT)
            values = (f"leds: {leds}", f"led: {volts} at 20 mA", f"supply: {supply}")
            found.append(draft.part("led-lights", "led string", *values))
        return found

    def _sounder(self) -> list[str]:
        """Add the depth sounder, if there is one, and return its name."""
        if self._answers["depth sounder"] == "no":
            return []
        volts = self._sizing.stands(self._answers, "depth sounder")
        return [self._draft.part("sounder", "depth sounder", *self._sizing.starts(self._answers), *volts)]

    def _spread(self, way: list[str], name: str, fed: list[str], gauge: str) -> None:
        """Lay a way to what it feeds, over a splice where that is more than one part."""
        if len(fed) == 1:
            self._draft.run(*way, f"{fed[0]} +", gauge=gauge, lengths_m=(_SHORT_M, _BACK_M))
            return
        splice = self._draft.part(name, "splice")
        self._draft.run(*way, splice, gauge=gauge, lengths_m=(_SHORT_M,))
        for part in fed:
            self._draft.run(splice, f"{part} +", gauge=_THIN, lengths_m=(_FAR_M,))

    def _remote_branches(self, lit: list[str]) -> None:
        """Feed module and relay from before the main switch; the relay lights the lights and closes the switch."""
        draft = self._draft
        draft.part("step-down-fuse", "blade fuse", _MODULE_FUSE)
        draft.part("relay-fuse", "blade fuse", _BRANCH_FUSE)
        draft.run("feed", "step-down-fuse", "step-down in", gauge=_THICK, lengths_m=(_SHORT_M,))
        draft.run("feed", "relay-fuse", "relay com", gauge=_THICK, lengths_m=(_SHORT_M,))
        draft.run("step-down out", "relay +", gauge=_THIN, lengths_m=(_NEAR_M,))
        start = "relay no"
        if lit:
            draft.run(start, draft.part("lights", "splice"), gauge=_THICK, lengths_m=(_SHORT_M,))
            start = "lights"
        draft.run(start, "main-switch trigger", gauge=_HAIR, lengths_m=(_BACK_M,))
        for part in lit:
            draft.run("lights", f"{part} +", gauge=_THIN, lengths_m=(_FAR_M,))
        self._negatives += [(end, _THIN, _NEAR_M) for end in ("step-down gnd", "relay -")]
        self._negatives.append(("main-switch ground", _HAIR, _NEAR_M))
        draft.control("power", "switch", "100 %")
        draft.channel("relay", "power: 100 %")

    def _receiver(self) -> None:
        """Add the receiver and what feeds it, unless drive or relay module do."""
        draft = self._draft
        draft.part("receiver", "receiver")
        feed = self._answers.get("receiver feed")
        if feed == "module":
            draft.part("step-down", "step-down module", "set: 5 V", "rating: 3 A")
            draft.part("step-down-fuse", "blade fuse", _MODULE_FUSE)
            draft.run("bus", "step-down-fuse", "step-down in", gauge=_THICK, lengths_m=(_SHORT_M,))
            self._negatives.append(("step-down gnd", _THICK, _NEAR_M))
            for start, end in (("out", "batt+"), ("gnd", "batt-")):
                draft.run(f"step-down {start}", f"receiver {end}", gauge=_THIN, lengths_m=(_NEAR_M,))
        elif feed == "pack":
            draft.part("receiver-pack", "nimh pack", "cells: 4", "capacity: 2 Ah")
            draft.part("receiver-fuse", "blade fuse", "rating: 2 A")
            draft.part("receiver-switch", "toggle switch", "rating: 3 A")
            way = ("receiver-pack +", "receiver-fuse", "receiver-switch", "receiver batt+")
            draft.run(*way, gauge=_THIN, lengths_m=(_NEAR_M,))
            draft.run("receiver-pack -", "receiver batt-", gauge=_THIN, lengths_m=(_BACK_M,))

    def _back(self, bottom: str) -> None:
        """Lay the negatives: all to a common bar, or the only one straight to the pack."""
        draft, gauges = self._draft, self._gauges
        if "minus" not in draft.parts:
            ((end, gauge, length_m),) = self._negatives
            draft.run(bottom, end, gauge=gauge, lengths_m=(length_m,))
            return
        draft.run(bottom, "minus", gauge=gauges.pack, lengths_m=(_BACK_M,))
        for end, gauge, length_m in self._negatives:
            ends = (end, "minus") if end.startswith("pack-") else ("minus", end)
            draft.run(*ends, gauge=gauge, lengths_m=(length_m,))


def _of(side: str, name: str) -> str:
    return f"{side}-{name}" if side else name
