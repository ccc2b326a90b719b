"""Draw the README's pictures anew, from the program's own screens: ``python -m tests.pictures``.

A hunt with a hidden fault is played; some of its question screens are drawn by the very functions that draw
them at a terminal, and exported as SVG.
"""

import io
import re
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from rich.console import Console
from rich.text import Text

from assistant.circuit import Fault
from assistant.console import Page, question_lines
from assistant.console.page import LINES
from assistant.console.terminal import THEME
from assistant.dialogue import Ask, Setup
from assistant.wiring import Point, point_label
from tests.cli.person import Person

FOLDER: Final = Path(__file__).resolve().parents[1] / "cases" / "recorded" / "pictures"


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A screen of a hunt: the first question with a reading that has `readings` readings before it."""

    name: str
    boat: str
    fault: Fault
    width: int
    rows: int
    readings: int


PICTURES: Final = (
    Picture(
        name="narrow",
        boat="dabchick",
        fault=Fault(part="fuse", mode="open"),
        width=40,
        rows=20,
        readings=1,
    ),
    Picture(
        name="wide",
        boat="dabchick",
        fault=Fault(part="fuse", mode="open"),
        width=100,
        rows=24,
        readings=1,
    ),
)


def drawn() -> Mapping[str, str]:
    """Return every picture as SVG, by the name of its file."""
    return {f"{picture.name}.svg": _svg(picture) for picture in PICTURES}


def _svg(picture: Picture) -> str:
    someone = Person(picture.boat, "pumps-not-running", picture.fault)
    number, readings = 1, 0
    while (ask := someone.ask) is not None:
        if ask.measurement is not None and readings == picture.readings:
            return _exported(picture, list(_screen(picture, someone.session.setup, ask, number)))
        readings += ask.measurement is not None
        someone.answer()
        number += 1
    raise LookupError(f"the hunt for {picture.name} has no such question")


def _screen(picture: Picture, setup: Setup, ask: Ask, number: int) -> Iterator[Text]:
    def label(point: Point) -> str:
        return point_label(setup.boat, point)

    page = Page(width=picture.width, rows=picture.rows, glyphs=LINES)
    yield from question_lines(ask, page, number=number, label=label)


def _exported(picture: Picture, lines: list[Text]) -> str:
    console = Console(
        record=True,
        width=picture.width,
        file=io.StringIO(),
        theme=THEME,
        force_terminal=True,
        color_system="truecolor",
    )
    for line in lines:
        console.print(line, highlight=False, soft_wrap=True)
    svg = console.export_svg(title=f"leadline find {picture.boat}", unique_id=picture.name)
    # The pictures need nothing from the network: fonts are those of whoever looks.
    return re.sub(r"@font-face \{.*?\}\n?|<!--.*?-->", "", svg, flags=re.DOTALL)


def draw() -> None:
    """Write every picture."""
    FOLDER.mkdir(exist_ok=True)
    for name, svg in drawn().items():
        (FOLDER / name).write_text(svg, encoding="utf-8")
        sys.stdout.write(f"{name}\n")


if __name__ == "__main__":
    draw()
