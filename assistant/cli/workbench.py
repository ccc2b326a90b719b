"""Everything that a hunt stands on, loaded from what the program brings along and from a folder."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType
from typing import Final

from assistant.catalogue import Catalogue, load_catalogue
from assistant.circuit import Network, Solver, build_network, make_solver
from assistant.cli.meters import meter_of
from assistant.console import Choice, find_choice
from assistant.diagnosis import AtHand, Diagnosis, History
from assistant.dialogue import Knowledge, Setup, SymptomGraph, candidates, load_knowledge
from assistant.dialogue.graph import ConcludeNode, Conclusion
from assistant.documents import nearest
from assistant.errors import AnswerError, WiringError, quote
from assistant.lessons import Shelf
from assistant.records import (
    Cache,
    Header,
    boats_in,
    example_boats,
    kept_solver,
    knowledge_digest,
    knowledge_files,
    repair_of,
    title_of,
)
from assistant.wiring import Boat, load_boat

__all__ = [
    "BoatFile",
    "Workbench",
    "boats_found",
    "choose_boat",
    "open_workbench",
    "read_boat",
    "symptom_choices",
]

_PARTS: Final = "parts/"
_MAX_BYTES: Final = 1024 * 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class BoatFile:
    """A wiring description that was found or named.

    Attributes
    ----------
    title : name of the boat.
    place : the file, for messages.
    file : where to read it.
    own : whether it is the person's, and not an example.
    """

    title: str
    place: str
    file: Traversable
    own: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Workbench:
    """The knowledge, loaded and checked, its digest, and where computed tables are kept, if anywhere."""

    catalogue: Catalogue
    knowledge: Knowledge
    digest: str
    cache: Cache | None = None

    def setup(
        self,
        boat: Boat,
        meter: Sequence[str],
        past: Iterable[tuple[str, int]] = (),
        at_hand: Iterable[str] | None = None,
        profile: str = "",
    ) -> Setup:
        """Return what a dialogue about a boat runs on.

        Parameters
        ----------
        boat
            The boat.
        meter
            Functions of the meter at hand.
        past
            Repairs of the boat's earlier cases, as ``action place``, with their count; those that mean
            nothing on this boat change nothing.
        at_hand
            What there is to try with; None: nothing is tried.
        profile
            The description of the meter; empty for a cheap one.

        Raises
        ------
        KnowledgeError
            If the description of the meter cannot be read.
        CircuitError
            If the wiring is none that current can be worked out for.
        """
        known = {repair: count for words, count in past if (repair := repair_of(words))}
        history = History(past=MappingProxyType(known))
        network = build_network(boat)
        whole = meter_of(profile)
        functions = frozenset(function for function in whole.functions if function in set(meter))
        return Setup(
            boat=boat,
            knowledge=self.knowledge,
            diagnosis=Diagnosis(
                network, meter=whole.only(functions), history=history, solver=self.solver(network)
            ),
            functions=functions,
            at_hand=None if at_hand is None else frozenset(map(AtHand, at_hand)),
            lessons=self.shelf(),
        )

    def solver(self, network: Network) -> Solver:
        """Return the solver of a boat; it keeps what it solves where computed tables are kept."""
        return make_solver(network) if self.cache is None else kept_solver(network, self.cache, self.digest)

    def shelf(self) -> Shelf:
        """Return the lessons, told when they are asked for."""
        cautions = self.knowledge.cautions.items()
        return Shelf(
            self.knowledge.lessons,
            cautions={name: caution.text for name, caution in cautions},
            catalogue=self.catalogue,
            boats={name: file.read_text(encoding="utf-8") for name, file in example_boats().items()},
        )

    def setup_of(self, header: Header) -> Setup:
        """Return what a recorded case ran on, as far as the present knowledge allows.

        Raises
        ------
        WiringError
            If its wiring cannot be read.
        CircuitError
            If the wiring is none that current can be worked out for.
        """
        boat = load_boat(header.wiring, header.file, self.catalogue)
        return self.setup(boat, header.meter, header.past, header.at_hand, header.profile)


def open_workbench(cache: Cache | None = None) -> Workbench:
    """Load the knowledge that the program brings along.

    Parameters
    ----------
    cache
        Where computed tables are kept from one start to the next.

    Raises
    ------
    KnowledgeError
        With all its problems.
    """
    texts = knowledge_files()
    return Workbench(
        catalogue=load_catalogue({path: text for path, text in texts.items() if path.startswith(_PARTS)}),
        knowledge=load_knowledge(texts),
        digest=knowledge_digest(texts),
        cache=cache,
    )


def boats_found(folder: Path) -> Mapping[str, BoatFile]:
    """Return the boats in a folder, then the examples, by name of the file; the folder's own come first."""
    own = boats_in(folder)
    found = {
        name: BoatFile(title=title_of(file), place=f"{name}.yaml", file=file, own=True)
        for name, file in own.items()
    }
    for name, file in example_boats().items():
        found.setdefault(name, BoatFile(title=title_of(file), place=f"{name}.yaml", file=file, own=False))
    return found


def choose_boat(typed: str, folder: Path) -> BoatFile:
    """Return the boat that a word of the command line names: a file, or a boat that is found.

    Raises
    ------
    AnswerError
        If there is none, or more than one.
    """
    path = folder / typed
    if path.is_file():
        return BoatFile(title=title_of(path) or path.stem, place=typed, file=path, own=True)
    boats = boats_found(folder)
    choices = [Choice(key=name, title=boat.title) for name, boat in boats.items()]
    found = find_choice(typed, choices)
    if found.sure and not typed.strip().isdecimal():
        return boats[found.choices[0].key]
    if found.choices and not typed.strip().isdecimal():
        names = " or ".join(choice.key for choice in found.choices)
        raise AnswerError(value=typed, reason="more than one boat could be meant", next_step=f"type {names}")
    close = nearest(typed, boats)
    known = ", ".join(boats)
    mend = f"did you mean {close[0]}?" if close else f"name a file, or one of {known}"
    raise AnswerError(value=typed, place=str(folder), reason="there is no such boat", next_step=mend)


def read_boat(boat: BoatFile) -> str:
    """Return the text of a wiring description.

    Raises
    ------
    WiringError
        If it cannot be read, is no text, or is far too big.
    """
    try:
        with boat.file.open("rb") as stream:
            data = stream.read(_MAX_BYTES + 1)
    except OSError as error:
        reason = error.strerror or str(error)
        raise WiringError(
            place=boat.place, reason=f"it cannot be read: {reason}", next_step="name another"
        ) from error
    if len(data) > _MAX_BYTES:
        raise WiringError(
            place=boat.place, reason="far too big for a wiring description", next_step="name another"
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise WiringError(
            value=quote(repr(data[error.start : error.end])),
            place=f"{boat.place}:{line}",
            reason="these bytes are no UTF-8 text",
            next_step="save the file as UTF-8",
        ) from error


def symptom_choices(bench: Workbench, boat: Boat) -> list[Choice]:
    """Return the symptoms that this boat can show, those whose parts it has; what others stop for comes first."""
    symptoms = bench.knowledge.symptoms
    nodes = [node for graph in symptoms.values() for node in graph.nodes.values()]
    urgent = {n.use for n in nodes if isinstance(n, ConcludeNode) and n.conclusion is Conclusion.STOP}
    return [
        Choice(key=name, title=graph.title, says=graph.says)
        for name, graph in sorted(symptoms.items(), key=lambda one: one[0] not in urgent)
        if _can_show(boat, graph)
    ]


def _can_show(boat: Boat, graph: SymptomGraph) -> bool:
    roles: dict[str, tuple[str, ...]] = {}
    for role in graph.roles.values():
        roles[role.name] = candidates(boat, role, tuple(roles.items()))[:1]
        if not roles[role.name] and not role.optional:
            return False
    return True
