"""A decision graph as numbered steps: each node once, in the order of the drawing, with the ways on from it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from assistant.dialogue import SymptomGraph
from assistant.dialogue.graph import (
    AskNode,
    ConcludeNode,
    ConfirmNode,
    NarrowNode,
    Node,
    ReadNode,
    SetNode,
    SignNode,
    TellNode,
)
from assistant.manual.layers import ranks_of

Line = tuple[str, str]
"""What stands before a paragraph, and the paragraph."""


def outline(graph: SymptomGraph) -> Iterator[Line]:
    """Yield the steps of a graph as paragraphs."""
    ranks = ranks_of(graph)
    order = sorted(graph.nodes, key=lambda name: (ranks[name], list(graph.nodes).index(name)))
    number = {name: place for place, name in enumerate(order, start=1)}
    for name in order:
        node = graph.nodes[name]
        yield f"{number[name]:>2}  ", f"{name} ({sort_of(node)}): {words_of(node)}"
        for target, links in ways_on(node).items():
            yield "      ", f"{links} > {number[target]} {target}"


def ways_on(node: Node) -> Mapping[str, str]:
    """Return the ways on from a node: the names of the links by where they lead."""
    found: dict[str, str] = {}
    for name, target in node.links.items():
        found[target] = f"{found[target]}, {name}" if target in found else name
    return found


def sort_of(node: Node) -> str:
    """Return the sort of a node in one word."""
    return type(node).__name__.removesuffix("Node").casefold()


def words_of(node: Node) -> str:
    """Return what a node says, or what it does where it says nothing of its own."""
    match node:
        case SignNode():
            return node.text or f"the {node.sign} of the {node.of}, {node.state}"
        case ReadNode():
            points = f"{node.red.role} {node.red.terminal} to {node.black.role} {node.black.terminal}"
            return node.text or f"{node.function} from {points}, {node.state}"
        case ConfirmNode() | AskNode() | SetNode() | TellNode():
            return node.text
        case NarrowNode():
            return "readings chosen by computation, until one repair is left"
        case ConcludeNode():
            return node.text or f"{node.conclusion}: what is left, with what to do"
