"""`leadline describe [BOAT]`: an interview that writes a wiring description, or changes one part by part."""

import argparse
import codecs
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from assistant.catalogue import Catalogue
from assistant.cli.asking import Asker, BackError, LinesDesk, SaveError, TerminalDesk, UnknownError
from assistant.cli.changing import CHANGES, Work, open_work
from assistant.cli.options import declare_look, terminal_of
from assistant.cli.play import reporting
from assistant.cli.travel_file import write_out
from assistant.cli.workbench import choose_boat, open_workbench, read_boat
from assistant.errors import LeadlineError
from assistant.plan import Form, Interview, Question, Sizing, compose, picture, read_document, review
from assistant.wiring import Boat, load_boat

__all__ = ["declare", "run"]

_SAVE, _SHOW, _LEAVE, _REPLACE = "save", "show", "leave", "replace"
_ENDINGS: Final = frozenset({".yaml", ".yml"})


@dataclass(frozen=True, slots=True, kw_only=True)
class _Target:
    """Where a description is saved.

    Attributes
    ----------
    file : the file.
    held : what is known to be in it, when that is what is being changed; None for a new file.
    shown : the text that was shown with its review last.
    """

    file: Path
    held: bytes | None
    shown: str = ""


def declare(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.add_argument(
        "boat",
        nargs="?",
        help="boat or file to change, or a new file to write; left out, a new boat is described",
    )
    parser.add_argument(
        "--out", metavar="FILE", type=Path, help="where to save; named after the boat otherwise"
    )
    declare_look(parser)
    parser.add_argument(
        "--lines", action="store_true", help="for programs: one JSON object a line out, one in"
    )


def run(arguments: argparse.Namespace) -> int:
    """Carry the command out and return the exit code."""
    return reporting(lambda: _describe(arguments))


def _describe(arguments: argparse.Namespace) -> int:
    catalogue = open_workbench().catalogue
    desk = LinesDesk(sys.stdin, sys.stdout) if arguments.lines else TerminalDesk(terminal_of(arguments))
    asker = Asker(desk, catalogue)
    named: str | None = arguments.boat
    fresh = named is None or (Path(named).suffix.casefold() in _ENDINGS and not Path(named).exists())
    if fresh:
        out = arguments.out or (Path(named) if named else None)
        return _keep(*_new(asker, out), asker)
    work, target = _existing(str(named), arguments.out, catalogue)
    _draw(work, asker)
    return _keep(work, target, asker)


def _new(asker: Asker, out: Path | None) -> tuple[Work, _Target]:
    """Interview a person about a new boat."""
    asker.tell(
        "Enter takes the usual answer in brackets. don't know, back, save, why and help are understood at any time."
    )
    interview = Interview(sizing=Sizing(asker.catalogue))
    try:
        interview = _interviewed(interview, asker)
    except EOFError:
        # A pipe that ran dry is no wish; a person who leaves keeps what was said.
        if not asker.desk.leaving_is_wish or not interview.given:
            raise
    text, boat = _composed(interview, asker)
    file = out or Path(f"{boat.id}.yaml")
    work = open_work(read_document(text, str(file)), asker.catalogue)
    _show(work, asker)
    return work, _Target(file=file, held=None, shown=text)


def _composed(interview: Interview, asker: Asker) -> tuple[str, Boat]:
    """Return the description and its boat; where none comes out, answers are asked again until one does."""
    while True:
        try:
            text = compose(interview)
            return text, load_boat(text, "new description", asker.catalogue)
        except LeadlineError as error:
            asker.tell_all(["No boat comes out of these answers; all are kept:", *str(error).splitlines()])
        interview = _mended(interview.finished(), asker)


def _mended(interview: Interview, asker: Asker) -> Interview:
    """Ask one answer again, and what follows from it."""
    again = Question(
        key="again",
        text="Which answer is to be changed?",
        form=Form.CHOICE,
        choices=tuple((key, f"{key}: {answer}") for key, answer in interview.given),
    )
    try:
        return _interviewed(interview.without(asker.ask(again)), asker)
    except (BackError, SaveError, UnknownError):
        asker.tell("Without a change there is nothing to save. Ctrl-D leaves.")
        return interview


def _interviewed(interview: Interview, asker: Asker) -> Interview:
    while (question := interview.question) is not None:
        try:
            interview = interview.answer(asker.ask(question, len(interview.given) + 1))
        except UnknownError:
            interview = interview.usual(known=False)
            asker.tell(f"Taken as usual, and marked in the file: {question.words(question.usual)}.")
        except BackError:
            interview = interview.back()
        except SaveError:
            break
    return interview


def _existing(named: str, out: Path | None, catalogue: Catalogue) -> tuple[Work, _Target]:
    """Open a description that is there."""
    found = choose_boat(named, Path.cwd())
    text = read_boat(found)
    data = found.file.read_bytes()
    file = out or Path(found.place)
    held = data if found.own and out is None else None
    work = open_work(read_document(text, found.place), catalogue)
    return work, _Target(file=file, held=held)


def _draw(work: Work, asker: Asker) -> None:
    """Show the boat as a picture."""
    asker.tell("")
    asker.tell(f"{work.boat.name}: {work.boat.about}", style="heading")
    asker.tell("The number on a lead is its size in AWG.")
    for line in picture(work.boat, asker.desk.strokes):
        asker.tell(line.text, first=line.first, rest=line.rest)
    asker.tell("")


def _show(work: Work, asker: Asker) -> None:
    """Show the boat as a picture, and what the review finds."""
    _draw(work, asker)
    findings = review(work.boat).findings
    for found in findings:
        against = f" ({found.against})" if found.against else ""
        asker.tell(
            f"{found.severity.upper()} {found.label}: {found.says}{against}. {found.remedy}", rest="  "
        )
    if not findings:
        asker.tell("The review finds nothing to mend.")
    asker.tell("")


def _keep(work: Work, target: _Target, asker: Asker) -> int:
    """Save or change until saved or left."""
    before = work.document.text if target.held is not None else None
    while True:
        try:
            wish = asker.ask(_wish(target, is_new=before is None))
            if wish == _LEAVE:
                asker.tell("Nothing was saved.")
                return 0
            if wish == _SHOW:
                _show(work, asker)
                target = replace(target, shown=work.document.text)
                continue
            if wish == _SAVE:
                return _save(work, target, before, asker)
            work = CHANGES[wish][1](work, asker)
            asker.tell("Changed; not saved yet.")
        except (BackError, UnknownError):
            asker.tell("Back; nothing was changed.")
        except SaveError:
            return _save(work, target, before, asker)
        except LeadlineError as error:
            asker.tell_all(["Not changed:", *str(error).splitlines()])


def _wish(target: _Target, *, is_new: bool) -> Question:
    changes = [(key, words) for key, (words, _) in CHANGES.items()]
    save = (_SAVE, f"save as {target.file}" if is_new else f"save the changes to {target.file}")
    return Question(
        key="wish",
        text="What next?",
        form=Form.CHOICE,
        choices=(save, *changes, (_SHOW, "show her again"), (_LEAVE, "leave without saving")),
        usual=_SAVE,
    )


def _save(work: Work, target: _Target, before: str | None, asker: Asker) -> int:
    """Save; what was not shown since the last change is shown first, and no other file is replaced unasked."""
    text = work.document.text
    if text == before:
        asker.tell("Nothing was changed.")
        return 0
    if text != target.shown:
        _show(work, asker)
    data = text.encode()
    file = target.file
    if target.held is not None and file.exists() and file.read_bytes() == target.held:
        # What was there is what was read, so these are changes to it, and it keeps its mark.
        mark = codecs.BOM_UTF8 if target.held.startswith(codecs.BOM_UTF8) else b""
        write_out(file, mark + data, force=True)
    else:
        file, force = _free(file, asker)
        write_out(file, data, force=force)
    asker.tell(f"Saved: {file}. leadline check {file} tells more; leadline find {file} looks for a fault.")
    return 0


def _free(file: Path, asker: Asker) -> tuple[Path, bool]:
    """Return where to save, and whether what is there is to be replaced."""
    if not file.exists():
        return file, False
    number = 2
    while (other := file.with_name(f"{file.stem}-{number}{file.suffix}")).exists():
        number += 1
    question = Question(
        key="file",
        text=f"There is a file {file} already. What now?",
        form=Form.CHOICE,
        choices=((_SAVE, f"save as {other}"), (_REPLACE, f"replace {file}")),
        usual=_SAVE,
    )
    chosen = asker.or_usual(question)
    return (file, True) if chosen == _REPLACE else (other, False)
