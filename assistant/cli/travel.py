"""Cases that come and go: exported, imported, removed."""

import argparse
import sys
from pathlib import Path
from typing import Final

from assistant.cli.casework import Room, sheet_for
from assistant.cli.travel_file import write_out
from assistant.cli.workbench import Workbench, open_workbench
from assistant.errors import CaseError, LeadlineError
from assistant.records import (
    PAGES,
    Parcel,
    open_parcel,
    replay,
    sheet_html,
    sheet_json,
    sheet_markdown,
    sheet_pdf,
)

__all__ = ["FORMS", "PAPERS", "delete_case", "export_case", "import_cases"]

FORMS: Final = ("case", "html", "md", "json", "pdf")
PAPERS: Final = tuple(PAGES)
_CASE_SUFFIX: Final = ".case.jsonl"


def export_case(room: Room, arguments: argparse.Namespace) -> int:
    """Write a case or its repair sheet to a file; ``-`` is standard output."""
    name = room.store.name_of(arguments.case)
    data = _written(room, name, arguments.form, arguments.paper)
    suffix = _CASE_SUFFIX if arguments.form == "case" else f".{arguments.form}"
    target: Path = arguments.to or Path(f"{name}{suffix}")
    if str(target) == "-":
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return 0
    write_out(target, data, force=arguments.force)
    room.desk.tell(f"Written to {target}.")
    return 0


def _written(room: Room, name: str, form: str, paper: str) -> bytes:
    if form == "case":
        return room.store.data_of(name)
    sheet = sheet_for(room.store, name, open_workbench(room.cache))
    match form:
        case "html":
            return sheet_html(sheet).encode()
        case "md":
            return sheet_markdown(sheet).encode()
        case "json":
            return sheet_json(sheet).encode()
        case _:
            return sheet_pdf(sheet, paper)


def import_cases(room: Room, arguments: argparse.Namespace) -> int:
    """Take in cases; a bad one is refused and told, the others are taken; exit code 2 when any was refused."""
    room.may_change()
    bench, refused = open_workbench(room.cache), 0
    for path in arguments.files:
        try:
            parcel = open_parcel(path)
            told = _understood(parcel, bench)
            name, new = room.store.add(parcel, path.name.removesuffix(_CASE_SUFFIX))
        except LeadlineError as error:
            refused += 1
            sys.stderr.write(f"Refused {path}: {error}\n")
            continue
        room.desk.tell(f"Taken in as {name}. {told}" if new else f"Here already, as {name}. {told}")
    return 2 if refused else 0


def _understood(parcel: Parcel, bench: Workbench) -> str:
    """Return how the case stands to the present knowledge.

    Raises
    ------
    LeadlineError
        If its wiring or symptom means nothing here.
    """
    header = parcel.contents.header
    case = replay(parcel.contents, bench.setup_of(header))
    same = header.knowledge == bench.digest
    if case.trouble:
        known = "its knowledge is this program's" if same else "it was recorded with other knowledge"
        return f"It replays only in part ({known}): {case.trouble}."
    verdict = f"Replayed to the same end: {case.end.ending}." if case.end else "Replayed; it is not finished."
    closing = parcel.contents.closing
    if case.end is not None and closing is not None and closing.outcome != case.end.ending:
        verdict = f"It ended as {closing.outcome}, but now it ends as {case.end.ending}."
    return verdict if same else f"{verdict} It was recorded with other knowledge."


def delete_case(room: Room, arguments: argparse.Namespace) -> int:
    """Remove a case after it was shown what is lost and the person agreed; exit code 1 when not."""
    room.may_change()
    name = arguments.case
    if name not in room.store.names():
        raise CaseError(
            value=name,
            place=str(room.store.folder),
            reason="there is no case of exactly this name",
            next_step=f"did you mean {room.store.name_of(name)}?",
        )
    if not arguments.yes and not _agreed(room, name):
        room.desk.tell("Nothing was removed.")
        return 1
    room.store.remove(name)
    room.desk.tell(f"{name} is removed.")
    return 0


def _agreed(room: Room, name: str) -> bool:
    if not sys.stdin.isatty():
        raise CaseError(
            value=name, reason="nobody can be asked here", next_step="add --yes to remove it unasked"
        )
    try:
        contents = room.store.read(name)
        what = f"{contents.header.boat}, {contents.header.symptom}, {len(contents.entries)} answers"
    except CaseError:
        what = "damaged"
    room.desk.tell(f"{name} ({what}) would be gone for good. An export keeps a copy.")
    sys.stdout.write("Type its whole name to remove it: ")
    sys.stdout.flush()
    return sys.stdin.readline().strip() == name
