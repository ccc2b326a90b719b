"""`leadline knowledge`: lints, lists, explains and draws what the program knows."""

import argparse
import sys
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from types import MappingProxyType

from assistant.cli.options import declare_look, terminal_of
from assistant.cli.play import reporting
from assistant.console import Terminal, clean, find_choice
from assistant.console.choose import Choice
from assistant.errors import AnswerError, KnowledgeError
from assistant.manual import (
    Book,
    Line,
    Sort,
    check_knowledge,
    entries_of,
    explain,
    find_entry,
    open_book,
    outline,
    svg,
)
from assistant.records import example_boats, knowledge_files, knowledge_in

__all__ = ["declare", "run"]

_CLEAN, _FINDINGS = 0, 1


def declare(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.epilog = "Exit status: 0 nothing found, 1 findings of lint, 2 the input could not be used."
    tasks = parser.add_subparsers(dest="task", metavar="TASK", required=True)
    lint = tasks.add_parser("lint", help="check all of the knowledge at once")
    listed = tasks.add_parser("list", help="list symptoms, part kinds, lessons, cautions and sources")
    listed.add_argument("sort", nargs="?", choices=[sort.name.casefold() for sort in Sort], help="only these")
    shown = tasks.add_parser("show", help="explain one entry in words")
    shown.add_argument("id", nargs="+", help="id of a symptom, part kind, lesson, caution or source")
    drawn = tasks.add_parser("draw", help="draw the graph of a symptom")
    drawn.add_argument("symptom", nargs="+", help="id of a symptom, or what people say")
    drawn.add_argument("--text", action="store_true", help="as numbered steps, even where it is no terminal")
    drawn.add_argument("--out", metavar="FILE", type=Path, help="write the picture as one SVG file")
    for task in (lint, listed, shown, drawn):
        task.add_argument(
            "--folder",
            metavar="FOLDER",
            type=Path,
            help="another copy of the knowledge than the program's own",
        )
        declare_look(task)


def run(arguments: argparse.Namespace) -> int:
    """Carry the command out and return the exit code."""
    return reporting(lambda: _TASKS[arguments.task](arguments))


def _lint(arguments: argparse.Namespace) -> int:
    try:
        problems = check_knowledge(_files(arguments), _boats())
    except KnowledgeError as error:
        if not error.problems:
            raise
        problems = error.problems
    # A finding stays on its line, however long, so that editors and other programs find its place.
    for problem in problems:
        sys.stdout.write(f"{clean(str(problem))}\n")
    if problems:
        sys.stdout.write(f"{len(problems)} finding{'s' if len(problems) > 1 else ''}\n")
        return _FINDINGS
    sys.stdout.write("Nothing to find fault with.\n")
    return _CLEAN


def _list(arguments: argparse.Namespace) -> int:
    wanted = [sort for sort in Sort if arguments.sort in {None, sort.name.casefold()}]
    entries = list(entries_of(_book(arguments)))
    lines: list[Line] = []
    for sort in wanted:
        found = [entry for entry in entries if entry.sort is sort]
        lines += [("", ""), ("", f"{len(found)} {sort}{'' if len(found) == 1 else 's'}")]
        lines += [(f"  {clean(entry.id)}: ", entry.about) for entry in found]
    _show(lines[1:], terminal_of(arguments))
    return _CLEAN


def _explain(arguments: argparse.Namespace) -> int:
    book = _book(arguments)
    _show(list(explain(book, find_entry(book, " ".join(arguments.id)))), terminal_of(arguments))
    return _CLEAN


def _draw(arguments: argparse.Namespace) -> int:
    book, typed = _book(arguments), " ".join(arguments.symptom)
    symptoms = book.knowledge.symptoms
    choices = [Choice(key=one.id, title=one.title, says=one.says) for one in symptoms.values()]
    found = find_choice(typed, choices)
    if not found.sure:
        names = ", ".join(choice.key for choice in found.choices or choices)
        raise AnswerError(value=typed, reason="no such symptom", next_step=f"use one of {names}")
    graph = symptoms[found.choices[0].key]
    terminal = terminal_of(arguments)
    if arguments.out is not None:
        _write(arguments.out, svg(graph))
        terminal.show(terminal.page.wrap(f"Written: {arguments.out}"))
    elif arguments.text or arguments.plain or sys.stdout.isatty():
        _show([("", graph.title), *outline(graph)], terminal)
    else:
        sys.stdout.write(svg(graph))
    return _CLEAN


def _write(file: Path, text: str) -> None:
    try:
        file.write_text(text, encoding="utf-8")
    except OSError as error:
        raise AnswerError(
            value=file, reason=error.strerror or str(error), next_step="name another file"
        ) from error


def _show(lines: Iterable[Line], terminal: Terminal) -> None:
    page = terminal.page
    for first, text in lines:
        indent = " " * min(len(first) - len(first.lstrip()) + 2, page.width // 4)
        terminal.show(page.wrap(f"{first.lstrip()}{text}", first=indent[2:], rest=indent))


def _book(arguments: argparse.Namespace) -> Book:
    return open_book(_files(arguments), _boats())


def _files(arguments: argparse.Namespace) -> Mapping[str, str]:
    return knowledge_files() if arguments.folder is None else knowledge_in(arguments.folder)


def _boats() -> Mapping[str, str]:
    return {name: file.read_text(encoding="utf-8") for name, file in example_boats().items()}


_TASKS: Mapping[str, Callable[[argparse.Namespace], int]] = MappingProxyType(
    {"lint": _lint, "list": _list, "show": _explain, "draw": _draw}
)
