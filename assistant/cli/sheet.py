"""`leadline sheet BOAT [SYMPTOM]`: on paper, the readings to expect, or the tree that finds the fault."""

import argparse
from pathlib import Path

from assistant.circuit import build_network
from assistant.cli.options import declare_look, terminal_of
from assistant.cli.play import reporting
from assistant.cli.workbench import choose_boat, open_workbench, read_boat, symptom_choices
from assistant.console import find_choice
from assistant.diagnosis import Diagnosis
from assistant.errors import AnswerError
from assistant.plan import Sheet, html, markdown, readings_sheet, symptom_sheet, text_lines
from assistant.wiring import load_boat

__all__ = ["declare", "run"]


def declare(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.add_argument("boat", help="name of a boat, or the file of its wiring description")
    parser.add_argument("symptom", nargs="?", help="what is wrong; the sheet is then the fault-finding tree")
    parser.add_argument(
        "--with",
        dest="suppose",
        metavar="FAULT",
        default="",
        help='readings under a supposed fault beside the healthy ones: "2 ohm at plug at pack +"',
    )
    parser.add_argument("--part", default="", help="the part the symptom is about, where there are several")
    parser.add_argument("--html", metavar="FILE", type=Path, help="write one HTML file, ready to be printed")
    parser.add_argument("--markdown", metavar="FILE", type=Path, help="write Markdown")
    declare_look(parser)


def run(arguments: argparse.Namespace) -> int:
    """Carry the command out and return the exit code."""
    return reporting(lambda: _sheet(arguments))


def _sheet(arguments: argparse.Namespace) -> int:
    named = choose_boat(arguments.boat, Path.cwd())
    bench = open_workbench()
    boat = load_boat(read_boat(named), named.place, bench.catalogue)
    if arguments.symptom and arguments.suppose:
        raise AnswerError(
            place="--with", reason="a tree supposes no fault", next_step="leave out the symptom or --with"
        )
    diagnosis = Diagnosis(build_network(boat))
    if arguments.symptom:
        found = find_choice(arguments.symptom, symptom_choices(bench, boat))
        if not found.sure:
            keys = ", ".join(choice.key for choice in found.choices or symptom_choices(bench, boat))
            raise AnswerError(
                value=arguments.symptom, reason="no such symptom on this boat", next_step=f"use one of {keys}"
            )
        graph = bench.knowledge.symptoms[found.choices[0].key]
        sheet = symptom_sheet(diagnosis, bench.knowledge, graph, part=arguments.part)
    else:
        sheet = readings_sheet(diagnosis, bench.knowledge, suppose=arguments.suppose)
    return _give(sheet, arguments)


def _give(sheet: Sheet, arguments: argparse.Namespace) -> int:
    terminal = terminal_of(arguments)
    page = terminal.page
    written = [(arguments.html, html), (arguments.markdown, markdown)]
    for file, render in ((file, render) for file, render in written if file is not None):
        try:
            file.write_text(render(sheet), encoding="utf-8")
        except OSError as error:
            raise AnswerError(
                value=file, reason=error.strerror or str(error), next_step="name another file"
            ) from error
        terminal.show(page.wrap(f"Written: {file}"))
    if arguments.html is None and arguments.markdown is None:
        for first, text in text_lines(sheet):
            terminal.show(page.wrap(text, first=first))
    return 0
