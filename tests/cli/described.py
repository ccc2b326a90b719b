"""A program that answers the interview by the line protocol, and what makes two boats the same network."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable, Mapping, Sequence
from itertools import permutations

import networkx as nx
import pytest

from assistant.catalogue import nominal_values
from assistant.cli import main
from assistant.wiring import Boat, described_parts

Steps = Sequence[tuple[str, str]]
"""Questions by their id, and the answers to them, in order."""


class Interviewed(io.TextIOBase):
    """Standard input and output of `describe --lines`, with a program behind them.

    Parameters
    ----------
    answer
        Gives the answer to an ask, or None when it has none left.
    """

    def __init__(self, answer: Callable[[Mapping[str, object]], str | None]) -> None:
        self.events: list[dict[str, object]] = []
        self.asked = 0
        self._answer = answer

    def write(self, text: str) -> int:
        self.events += [json.loads(line) for line in text.splitlines() if line]
        return len(text)

    def readline(self, _: int | None = -1) -> str:  # type: ignore[override]  # stubs: bytes of any stream
        last = self.events[-1]
        assert last["event"] == "ask"
        self.asked += 1
        answer = self._answer(last)
        return "" if answer is None else json.dumps({"answer": answer}) + "\n"

    @property
    def told(self) -> list[str]:
        return [str(event["text"]) for event in self.events if event["event"] == "show"]


def interviewed(
    answer: Callable[[Mapping[str, object]], str | None], *words: str, monkeypatch: pytest.MonkeyPatch
) -> tuple[int, Interviewed]:
    """Run `describe --lines` against an answering program; return the exit code and what was said."""
    program = Interviewed(answer)
    with monkeypatch.context() as patch:
        patch.setattr(sys, "stdin", program)
        patch.setattr(sys, "stdout", program)
        return main(["describe", "--lines", *words]), program


def by_script(answers: Mapping[str, str], *changes: Steps) -> Callable[[Mapping[str, object]], str | None]:
    """Return a program that gives these answers, the usual one to all others, then makes the changes and saves."""
    steps = [step for change in changes for step in change]
    begun = False

    def answer(ask: Mapping[str, object]) -> str | None:
        nonlocal begun
        key = str(ask["id"])
        begun = begun or key == "wish"
        if not begun:
            return answers.get(key, "")
        if not steps:
            return "save" if key == "wish" else ""
        wanted, said = steps.pop(0)
        assert wanted == key, f"{wanted!r} was to be answered with {said!r}, but asked was {ask}"
        return said

    return answer


def same_network(one: Boat, other: Boat) -> bool:
    """Tell whether two boats are the same but for names of parts and controls, and lengths and order of leads."""
    first, second = _graph(one), _graph(other)
    alike = nx.is_isomorphic(first, second, node_match=dict.__eq__, edge_match=_same_edges)
    return alike and any(
        _mixes(one) == _mixes(other, dict(zip(other.radio.controls, names, strict=True)))
        for names in permutations(one.radio.controls)
        if len(names) == len(other.radio.controls)
    )


def _same_edges(one: Mapping[int, dict[str, object]], other: Mapping[int, dict[str, object]]) -> bool:
    return sorted(map(repr, one.values())) == sorted(map(repr, other.values()))


def _graph(boat: Boat) -> nx.MultiGraph[tuple[str, str]]:
    """Return parts with their values, their terminals, and the leads between these."""
    graph: nx.MultiGraph[tuple[str, str]] = nx.MultiGraph()
    for name in described_parts(boat):
        part = boat.parts[name]
        values = {key: round(value, 9) for key, value in nominal_values(part.kind, part.given).items()}
        graph.add_node((name, ""), is_part=True, what=part.kind.name, values=values)
        for terminal in part.kind.terminals:
            graph.add_node((name, terminal), is_part=False, what=terminal, values={})
            graph.add_edge((name, ""), (name, terminal), lead=None)
    for lead in boat.leads.values():
        ends = [(end.part, end.terminal) for end in lead.ends]
        for end in ends:
            if end not in graph:  # a socket of the receiver
                graph.add_node(end, is_part=False, what=end[1], values={})
                graph.add_edge((end[0], ""), end, lead=None)
        middle = (lead.id, "lead")
        graph.add_node(middle, is_part=False, what=f"{lead.area_mm2:.3f}", values={})
        for end, joint in zip(ends, lead.joints, strict=True):
            graph.add_edge(end, middle, lead=str(joint))
    return graph


def _mixes(boat: Boat, names: Mapping[str, str] | None = None) -> object:
    kinds = boat.radio.controls
    return {
        number: {
            ((names or {}).get(name, name), kinds[name].kind): share for name, share in channel.mix.items()
        }
        for number, channel in boat.radio.channels.items()
    }


def differences(one: Boat, other: Boat) -> str:
    """Return the parts and leads of either boat that have no like in the other, for a message."""
    first, second = _inventory(one), _inventory(other)
    lines = [f"- {line}" for line in first if first.count(line) > second.count(line)]
    return "\n".join([*lines, *(f"+ {line}" for line in second if second.count(line) > first.count(line))])


def _inventory(boat: Boat) -> list[str]:
    parts = [f"{boat.parts[name].kind.name} {dict(boat.parts[name].given)}" for name in described_parts(boat)]
    leads = [
        " ".join(
            [
                *sorted(
                    f"{boat.parts[end.part].kind.name} {end.terminal} {joint}"
                    for end, joint in zip(lead.ends, lead.joints, strict=True)
                ),
                f"{lead.area_mm2:.2f}",
            ]
        )
        for lead in boat.leads.values()
        if lead.cable is None
    ]
    return [*parts, *leads]
