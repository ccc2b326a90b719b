"""Looking at recorded cases: the list, a search, the sheet on screen, the log of a boat, a comparison, remarks."""

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from assistant.cli.options import Clock
from assistant.cli.play import Desk
from assistant.cli.travel_file import write_out
from assistant.cli.workbench import Workbench, open_workbench
from assistant.errors import CaseError
from assistant.records import (
    HEADS,
    Cache,
    CaseStore,
    Contents,
    Remark,
    RemarkKind,
    Replay,
    Sheet,
    Summary,
    cells_of,
    compare,
    example_cases,
    facts_of,
    harmless,
    log_html,
    log_of,
    log_text,
    moment,
    replay,
    search,
    sections_of,
    sheet_of,
)
from assistant.wiring import load_boat

__all__ = [
    "Room",
    "compare_cases",
    "example_store",
    "list_cases",
    "note_case",
    "replayed",
    "search_cases",
    "sheet_for",
    "show_case",
    "show_log",
]

_LONGEST_REMARK: Final = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """Where the cases lie and where somebody sits.

    `own` tells whether the cases may be changed, `cache` where computed tables are kept, if anywhere.
    """

    store: CaseStore
    desk: Desk
    clock: Clock
    own: bool
    cache: Cache | None

    def may_change(self) -> None:
        """Refuse to go on where the cases are those of the program.

        Raises
        ------
        CaseError
            With `--examples`.
        """
        if not self.own:
            raise CaseError(
                reason="the cases that come with the program stay as they are",
                next_step="leave out --examples",
            )


def example_store() -> CaseStore:
    """Return the cases that come with the program.

    Raises
    ------
    CaseError
        If they cannot be read where the program lies.
    """
    folder = example_cases()
    if folder is None:
        raise CaseError(reason="this copy of leadline lies in an archive", next_step="install it as a folder")
    return CaseStore(folder)


def replayed(store: CaseStore, name: str, bench: Workbench) -> Replay:
    """Return a case gone through again.

    Raises
    ------
    LeadlineError
        If it is missing or damaged, or its wiring or symptom means nothing to the present knowledge.
    """
    contents = store.read(name)
    return replay(contents, bench.setup_of(contents.header))


def sheet_for(store: CaseStore, name: str, bench: Workbench) -> Sheet:
    """Return the repair sheet of a case; errors as of `replayed`."""
    return sheet_of(name, replayed(store, name, bench), knowledge=bench.digest)


def list_cases(room: Room, arguments: argparse.Namespace) -> int:
    """List the cases, damaged ones with their trouble."""
    boat = (getattr(arguments, "boat", None) or "").casefold()
    cases = room.store.summaries()
    shown = [case for case in cases if not boat or _is_of(case, boat)]
    for case in shown:
        room.desk.tell(_line(case))
    if not shown:
        more = f" of {harmless(arguments.boat)}" if boat else ""
        room.desk.tell(
            f"No cases{more} in {room.store.folder}. `leadline find` begins one; "
            "`leadline cases list --examples` shows two."
        )
    return 0


def _is_of(case: Summary, boat: str) -> bool:
    return case.contents is not None and case.contents.header.boat.casefold() == boat


def _line(case: Summary) -> str:
    if case.contents is None:
        return f"{case.name}: cannot be read: {case.trouble}"
    closing, header = case.contents.closing, case.contents.header
    ended = f"{closing.outcome}: {closing.text}" if closing else f"open, {len(case.contents.entries)} answers"
    todo = sum(one.kind is RemarkKind.TEMPORARY for one in case.contents.remarks)
    undone = sum(one.kind is RemarkKind.UNDONE for one in case.contents.remarks)
    makeshift = "; temporary repair to undo" if todo > undone else ""
    return f"{case.name}  {moment(case.last)}  {header.boat}, {header.symptom}: {ended}{makeshift}"


def search_cases(room: Room, arguments: argparse.Namespace) -> int:
    """List the cases that hold all the words; exit code 1 when there are none."""
    hits = list(search(room.store.summaries(), arguments.words))
    for hit in hits:
        room.desk.tell(f"{hit.case}: … {hit.where} …")
    if not hits:
        room.desk.tell(f"No case holds {' and '.join(arguments.words)}.")
    return 0 if hits else 1


def show_case(room: Room, arguments: argparse.Namespace) -> int:
    """Show the repair sheet of a case as plain lines."""
    name = room.store.name_of(arguments.case)
    for line in _sheet_lines(sheet_for(room.store, name, open_workbench(room.cache))):
        room.desk.tell(line)
    return 0


def _sheet_lines(sheet: Sheet) -> Iterator[str]:
    yield f"{sheet.boat}: {sheet.symptom}"
    yield "; ".join(facts_of(sheet))
    yield from (f"Note: {text}" for text in sheet.warnings)
    yield from ("", f"{sheet.headline} {sheet.sureness}")
    for section in sections_of(sheet):
        yield from ("", f"{section.title}:")
        for number, line in enumerate(section.lines, start=1):
            yield from (f"  ! {text}" for text in line.cautions)
            yield f"{number}. {line.text}" if section.ordered else f"- {line.text}"
    if sheet.rows:
        yield from ("", "Readings and signs:")
    for row in sheet.rows:
        head, where, shown, healthy, effect = cells_of(row)
        expect = f" ({HEADS[3].lower()} {healthy})" if healthy else ""
        yield f"{head}; {where}: {shown}{expect}. {effect}"


def show_log(room: Room, arguments: argparse.Namespace) -> int:
    """Show the log of a boat, or write it as a page."""
    log = log_of(arguments.boat, room.store.summaries())
    if not log.rows:
        raise CaseError(
            value=arguments.boat,
            place=str(room.store.folder),
            reason="there is no case of this boat",
            next_step="`leadline cases list` lists all",
        )
    if arguments.html is not None:
        write_out(arguments.html, log_html(log).encode(), force=False)
        room.desk.tell(f"Written to {arguments.html}.")
        return 0
    for line in log_text(log):
        room.desk.tell(line)
    return 0


def compare_cases(room: Room, arguments: argparse.Namespace) -> int:
    """Show two cases side by side; what differs has a mark."""
    names = [room.store.name_of(typed) for typed in (arguments.case, arguments.other)]
    bench = open_workbench(room.cache)
    one, other = (replayed(room.store, name, bench) for name in names)
    room.desk.tell(f"{names[0]} | {names[1]}; * differs")
    for line in compare(one, other):
        mark, both = (" ", line.one) if line.same else ("*", f"{line.one} | {line.other}")
        room.desk.tell(f"{mark} {line.what}: {both}")
    return 0


def note_case(room: Room, arguments: argparse.Namespace) -> int:
    """Add a remark to a case."""
    room.may_change()
    name, text = room.store.name_of(arguments.case), harmless(" ".join(arguments.text)).strip()
    if not text or len(text) > _LONGEST_REMARK:
        raise CaseError(
            value=text,
            reason="no remark, or a too long one",
            next_step=f"use up to {_LONGEST_REMARK} characters",
        )
    kind, typed = _kind_of(arguments)
    contents = room.store.read(name)
    place = _place(contents, kind, typed) if typed else ""
    with room.store.open(name) as journal:
        journal.remark(Remark(kind=kind, text=text, place=place, at=room.clock()))
    room.desk.tell(f"Kept with {name}" + (f": {kind} at {place}." if place else "."))
    return 0


def _kind_of(arguments: argparse.Namespace) -> tuple[RemarkKind, str]:
    for kind in (RemarkKind.TEMPORARY, RemarkKind.UNDONE, RemarkKind.MENDED):
        if typed := getattr(arguments, str(kind)):
            return kind, str(typed)
    said = (kind for kind in (RemarkKind.WHO, RemarkKind.METER) if getattr(arguments, str(kind)))
    return next(said, RemarkKind.NOTE), ""


def _place(contents: Contents, kind: RemarkKind, typed: str) -> str:
    """Return the place that is meant: a part, wire or joint of the boat; for an undone repair one that was made."""
    boat = load_boat(contents.header.wiring, contents.header.file, open_workbench().catalogue)
    made = [one.place for one in contents.remarks if one.kind is RemarkKind.TEMPORARY]
    known: Sequence[str] = made if kind is RemarkKind.UNDONE else tuple(boat.parts)
    place = typed.strip().replace(" ", "-") if typed not in known else typed
    if place in known:
        return place
    left = contents.closing.left if contents.closing else ()
    offered = made if kind is RemarkKind.UNDONE else [words.partition(" ")[2] for words in left]
    offered = list(offered) or [part for part in boat.parts if "--" not in part]
    raise CaseError(
        value=typed,
        place=boat.name,
        reason="there is no such place",
        next_step=f"name one of {', '.join(offered[:8])}",
    )
