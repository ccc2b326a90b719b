"""A wiring description as it comes together: parts, runs and channels, and the text they make."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from types import MappingProxyType
from typing import Final

from assistant.plan.editing import as_written
from assistant.quantities import Unit, show

# What usually ends a lead at a part (common practice, no source).
_ENDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "nimh pack": "plug",
        "lithium pack": "plug",
        "alkaline pack": "plug",
        "lead acid pack": "crimped",
        "blade fuse": "crimped",
        "bus bar": "screwed",
        "solid state switch": "screwed",
        "step-down module": "screwed",
        "relay module": "screwed",
        "dimmer": "screwed",
        "lamp": "plug",
        "led string": "plug",
        "depth sounder": "plug",
        "receiver": "plug",
    }
)
_MOTOR_SIDE: Final = frozenset({"A", "B", "M"})
_DRIVES: Final = frozenset({"reversing drive", "forward drive"})


@dataclass(slots=True, kw_only=True)
class Draft:
    """A description that grows.

    Attributes
    ----------
    drive_end : what ends the leads that feed a drive.
    parts : kind and values of each part by name.
    runs : the runs, each as the entries of its list.
    channels, mixes : what is plugged into each channel, and what moves it.
    controls, usage : the controls of the transmitter, and how much each is in use.
    """

    drive_end: str
    parts: dict[str, tuple[str, tuple[str, ...]]] = field(default_factory=dict)
    runs: list[list[str]] = field(default_factory=list)
    channels: list[str] = field(default_factory=list)
    mixes: list[str] = field(default_factory=list)
    controls: dict[str, str] = field(default_factory=dict)
    usage: dict[str, str] = field(default_factory=dict)

    def part(self, name: str, kind: str, *values: str) -> str:
        """Add a part and return its name."""
        self.parts[name] = (kind, values)
        return name

    def run(self, *stops: str, gauge: str, lengths_m: tuple[float, ...]) -> None:
        """Add a run through these stops; the last length holds for all leads that are left."""
        entries = [stops[0]]
        for number, (one, other) in enumerate(pairwise(stops)):
            length_m = lengths_m[min(number, len(lengths_m) - 1)]
            entries += [f"{gauge} {show(length_m, Unit.METRE, 2)}{self._ends(one, other)}", other]
        self.runs.append(entries)

    def channel(self, to: str, mix: str, *, cut: bool = False) -> None:
        """Plug a device into the next free channel."""
        number = len(self.channels) + 1
        plug = f"{{to: {to}, cut: +}}" if cut else to
        self.channels.append(f"{number}: {plug}")
        self.mixes.append(f"{number}: {{{mix}}}")

    def control(self, name: str, kind: str, usage: str) -> None:
        """Add a control of the transmitter."""
        self.controls[name], self.usage[name] = kind, usage

    def text(self, name: str, about: str, remarks: tuple[str, ...]) -> str:
        """Return the description."""
        width = max(map(len, self.parts)) + 1
        lines = [*(f"# {remark}" for remark in remarks), f"boat: {as_written(name)}"]
        lines += [f"about: {as_written(about)}", "parts:"]
        for part, (kind, values) in self.parts.items():
            said = ", ".join((f"kind: {kind}", *values))
            lines.append(f"  {f'{part}:':<{width}} {{{said}}}")
        lines += ["runs:", *(f"  - [{', '.join(run)}]" for run in self.runs)]
        lines += ["radio:", f"  controls: {_flow(self.controls)}", "  channels:"]
        lines += [*(f"    {channel}" for channel in self.channels), "  mix:"]
        lines += [*(f"    {mix}" for mix in self.mixes), f"usage: {_flow(self.usage)}"]
        return "\n".join(lines) + "\n"

    def _ends(self, one: str, other: str) -> str:
        first, second = self._end(one), self._end(other)
        if first == second:
            return "" if first == "soldered" else f" {first}"
        return f" {first}/{second}"

    def _end(self, stop: str) -> str:
        part, _, terminal = stop.partition(" ")
        kind = self.parts[part][0]
        if kind in _DRIVES:
            return "plug" if terminal in _MOTOR_SIDE else self.drive_end
        return _ENDS.get(kind, "soldered")


def _flow(entries: Mapping[str, str]) -> str:
    return f"{{{', '.join(f'{key}: {value}' for key, value in entries.items())}}}"
