"""`leadline check BOAT`: reviews the plan of a boat before anything breaks."""

import argparse
import json
import sys
from collections.abc import Mapping
from pathlib import Path

from assistant.cli.options import declare_look, terminal_of
from assistant.cli.play import reporting
from assistant.cli.workbench import choose_boat, open_workbench, read_boat
from assistant.console import Terminal
from assistant.plan import Figure, Finding, Review, review, with_pack
from assistant.quantities import Quantity, format_quantity
from assistant.wiring import Boat, load_boat

__all__ = ["declare", "run"]

_CLEAN, _FINDINGS = 0, 1


def declare(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.epilog = "Exit status: 0 nothing found, 1 findings, 2 the input could not be used."
    parser.add_argument("boat", help="name of a boat, or the file of its wiring description")
    parser.add_argument("--json", action="store_true", help="findings and figures as one JSON object")
    parser.add_argument("--pack", metavar="KIND", help='another kind of pack, such as "lithium pack"')
    parser.add_argument("--cells", metavar="N", type=int, help="another number of cells in series")
    declare_look(parser)


def run(arguments: argparse.Namespace) -> int:
    """Carry the command out and return the exit code."""
    return reporting(lambda: _check(arguments))


def _check(arguments: argparse.Namespace) -> int:
    named = choose_boat(arguments.boat, Path.cwd())
    bench = open_workbench()
    boat = load_boat(read_boat(named), named.place, bench.catalogue)
    if arguments.pack is not None or arguments.cells is not None:
        boat = with_pack(boat, bench.catalogue, kind=arguments.pack, cells=arguments.cells)
    found = review(boat)
    if arguments.json:
        sys.stdout.write(json.dumps(_as_json(boat, found), ensure_ascii=False, indent=2) + "\n")
    else:
        terminal = terminal_of(arguments)
        _show(boat, named.place, found, terminal)
    return _FINDINGS if found.findings else _CLEAN


def _show(boat: Boat, file: str, found: Review, terminal: Terminal) -> None:
    page, count = terminal.page, len(found.findings)
    said = "nothing to find fault with" if not count else f"{count} finding{'s' if count > 1 else ''}"
    terminal.show(page.wrap(f"{boat.name}: {said}.", style="heading"))
    for finding in found.findings:
        terminal.show(page.wrap(""))
        _show_finding(finding, file, terminal)
    if found.figures:
        terminal.show(page.wrap(""))
        terminal.show(page.wrap("Figures", style="heading"))
    for figure in found.figures:
        text = f"{figure.name}: {format_quantity(figure.value)} ({figure.about})"
        terminal.show(page.wrap(text, first="  ", rest="    "))


def _show_finding(finding: Finding, file: str, terminal: Terminal) -> None:
    page = terminal.page
    where = f" ({file}:{finding.line})" if finding.line else ""
    style = "off" if finding.is_grave else "likely"
    against = f": {finding.against}" if finding.against else ""
    terminal.show(page.wrap(f"{finding.severity.upper()}: {finding.label}{where}", style=style))
    terminal.show(page.wrap(f"{_sentence(finding.says)}{against}.", first="  "))
    terminal.show(page.wrap(finding.remedy, first="  Do: ", rest="      "))
    source = f"Source: {finding.source.text} [{finding.source.status}]"
    terminal.show(page.wrap(source, first="  ", rest="    "))


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _as_json(boat: Boat, found: Review) -> Mapping[str, object]:
    return {
        "boat": boat.name,
        "findings": [_finding_json(finding) for finding in found.findings],
        "figures": [_figure_json(figure) for figure in found.figures],
    }


def _finding_json(finding: Finding) -> Mapping[str, object]:
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "place": finding.place,
        "label": finding.label,
        "line": finding.line,
        "says": finding.says,
        "number": _quantity_json(finding.number),
        "limit": _quantity_json(finding.limit),
        "when": finding.when,
        "source": {"text": finding.source.text, "status": finding.source.status},
        "remedy": finding.remedy,
    }


def _figure_json(figure: Figure) -> Mapping[str, object]:
    return {"name": figure.name, "value": _quantity_json(figure.value), "about": figure.about}


def _quantity_json(quantity: Quantity | None) -> Mapping[str, object] | None:
    return None if quantity is None else {"value": quantity.value, "unit": quantity.unit}
