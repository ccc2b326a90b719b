"""What is fed with anything at all, and what it may answer with: an error of its own sort, and nothing else.

A target takes bytes as a fuzzer gives them. Checks that chance never passes (the check of each line of a case) are
put right before, so that what stands behind them is met as well.
"""

import contextlib
import json
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from assistant.catalogue import Catalogue, lint_sources, load_catalogue
from assistant.dialogue import Setup, State, lint_knowledge, load_knowledge, start, step
from assistant.documents import Problems
from assistant.drill.reader import Reader
from assistant.errors import AnswerError, BoatsideError, CaseError, KnowledgeError, LeadlineError, WiringError
from assistant.lessons import Attempt
from assistant.plan.suppose import supposed_fault
from assistant.quantities import Unit, parse_quantity
from assistant.records import open_parcel, read_progress
from assistant.records.lines import _digest, _dump
from assistant.session import decode
from assistant.wiring import Boat, load_boat
from tests.dialogue.boats import boat, catalogue, setup_for
from tests.dialogue.samples import GOOD, files

ROOT: Final = Path(__file__).resolve().parents[2]
FOUND: Final = Path(__file__).resolve().parent / "found"


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A loader: what feeds it, what it may raise, and inputs to begin with."""

    feed: Callable[[bytes], None]
    raises: type[LeadlineError]
    seeds: Callable[[], Iterator[bytes]]

    def try_(self, data: bytes) -> None:
        """Feed it; any other error than its own comes through."""
        try:
            self.feed(data)
        except self.raises as error:
            if not str(error):
                raise AssertionError("an error without words") from error


def _text(data: bytes) -> str:
    return data.decode("utf-8", errors="replace")


def _cases(pattern: str) -> Iterator[bytes]:
    for path in sorted((ROOT / "cases").glob(pattern)):
        yield path.read_bytes()


def _wiring(data: bytes) -> None:
    load_boat(_text(data), "boat.yaml", catalogue())


def _signed(data: bytes) -> bytes:
    """Return the lines of a case with checks that fit, those that are no objects as they are."""
    lines, check = [], ""
    for raw in data.split(b"\n"):
        try:
            record = json.loads(raw)
            record.pop("check", None)
            check = _digest(record, check)
            lines.append(_dump({**record, "check": check}).encode())
        except (ValueError, AttributeError, RecursionError):
            lines.append(raw)
    return b"\n".join(lines)


def _in_file(data: bytes, read: Callable[[Path], object]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "x.case.jsonl"
        path.write_bytes(data)
        read(path)


def _case(data: bytes) -> None:
    signed = _signed(data)
    _in_file(data if data[:1] == b" " else signed, open_parcel)


def _case_seeds() -> Iterator[bytes]:
    for whole in _cases("recorded/*.jsonl"):
        header, *answers = whole.splitlines(keepends=True)
        record = {**json.loads(header), "wiring": "boat: x"}
        yield b"".join([json.dumps(record).encode(), b"\n", *answers[:2], answers[-1]])


PLACES: Final = (
    "parts/x.yaml",
    "symptoms/sample.yaml",
    "lessons/x.yaml",
    "how.yaml",
    "safety.yaml",
    "words.yaml",
)


def _knowledge(data: bytes) -> None:
    """Put the text in the place that its first byte names, and check what comes of it."""
    place = PLACES[data[0] % len(PLACES)] if data else PLACES[0]
    text = _text(data[1:])
    if place.startswith("parts/"):
        load_catalogue({place: text})
        return
    read = {**files(GOOD), place: text}
    lint_knowledge(read, _few_kinds())
    lint_sources({place: text, "sources.yaml": text}, Problems())
    load_knowledge(read)


@cache
def _few_kinds() -> Catalogue:
    folder = ROOT / "knowledge" / "parts"
    names = ("pump-motor", "nimh-pack", "blade-fuse", "reversing-drive", "servo")
    return load_catalogue({f"{name}.yaml": (folder / f"{name}.yaml").read_text("utf-8") for name in names})


def _knowledge_seeds() -> Iterator[bytes]:
    for path in sorted((ROOT / "knowledge").rglob("*.yaml")):
        text = path.read_bytes()
        if len(text) < 6000:
            for number, place in enumerate(PLACES):
                if (
                    Path(place).name == path.name
                    or Path(place).parent.name == path.parent.name != "knowledge"
                ):
                    yield bytes([number]) + text
    for place, small in files(GOOD).items():
        if place in PLACES:
            yield bytes([PLACES.index(place)]) + small.encode()


@cache
def _asked() -> Setup:
    return setup_for("dabchick")


@cache
def _begun() -> State:
    return start(_asked(), "pumps-not-running")[0]


@cache
def _reader() -> Reader:
    return Reader(_boat())


def _boat() -> Boat:
    return boat("dabchick")


def _answer(data: bytes) -> None:
    """Type each line at what is asked, and where else a person types: told, supposed, in a drill, as a quantity."""
    state = _begun()
    readers: list[Callable[[str], object]] = [
        decode,
        _reader().read,
        lambda text: supposed_fault(_boat(), text),
        *(lambda text, unit=unit: parse_quantity(text, unit) for unit in Unit),
    ]
    for line in _text(data).split("\n")[:12]:
        for read in readers:
            with contextlib.suppress(BoatsideError):
                read(line)
        if state.pending is not None:
            state, _ = step(_asked(), state, line)


def _answer_seeds() -> Iterator[bytes]:
    yield b"yes\nyes\nlit\n7.6 V\nOL\nwhy\nback\ncan't reach\nstill"
    yield b"told 6 V from fuse out to pack - in running\ntouched fuse\nreplaced drive\nwet"
    yield b"told 12,5\nfuse.out\npack.-\nrunning\ntold pump still\nno"
    yield b"volts fuse in fuse out\nset throttle 50 %\nname fuse\nrepair fuse open"
    yield b'2 ohm at plug at pack +\nstalled at pump\nopen at fuse\n{"answer": 11.1}'
    yield b"no\nnote x\ncomes and goes\nshow\n1.2 kohm\n14 AWG\n3/4 mm"


def _progress(data: bytes) -> None:
    _in_file(data, read_progress)


def _progress_seeds() -> Iterator[bytes]:
    one = Attempt(
        learner="Ida", lesson="volt-drop", drill=1, key="1", passed=True, seconds=120.5, best_seconds=90.0
    )
    yield json.dumps(one.as_json()).encode() + b"\n"


TARGETS: Final[Mapping[str, Target]] = {
    "answer": Target(feed=_answer, raises=AnswerError, seeds=_answer_seeds),
    "case": Target(feed=_case, raises=CaseError, seeds=_case_seeds),
    "knowledge": Target(feed=_knowledge, raises=KnowledgeError, seeds=_knowledge_seeds),
    "progress": Target(feed=_progress, raises=CaseError, seeds=_progress_seeds),
    "wiring": Target(feed=_wiring, raises=WiringError, seeds=lambda: _cases("*.yaml")),
}
