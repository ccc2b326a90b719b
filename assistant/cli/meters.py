"""Which meter is at hand: none, one of those that the program describes, or the person's own by its description."""

import argparse
import os
from pathlib import Path
from typing import Final

from assistant.circuit import CHEAP_METER, MeterProfile, load_meter
from assistant.documents import nearest
from assistant.errors import AnswerError
from assistant.records import knowledge_files

__all__ = ["declare_meter", "declare_meter_name", "meter_named", "meter_of", "profile_of"]

_FOLDER: Final = "meters/"
_SET_UP: Final = "LEADLINE_METER"
_MAX_BYTES: Final = 64 * 1024


def declare_meter(parser: argparse.ArgumentParser) -> None:
    """Add the options that say which meter is at hand, or that none is."""
    parser.add_argument("--no-meter", action="store_true", help="there is no meter at hand")
    declare_meter_name(parser)


def declare_meter_name(parser: argparse.ArgumentParser) -> None:
    """Add the option that says which meter is at hand."""
    parser.add_argument(
        "--meter",
        metavar="NAME",
        default=os.environ.get(_SET_UP),
        help="the meter at hand: cheap-meter (when nothing is said), better-meter, or the file that describes yours; "
        f"{_SET_UP} says it once for all",
    )


def profile_of(arguments: argparse.Namespace) -> str:
    """Return the description of the meter that was named, empty where none was or none is at hand.

    Raises
    ------
    AnswerError
        If there is no such meter.
    """
    none = getattr(arguments, "no_meter", False)
    return meter_named(arguments.meter) if arguments.meter and not none else ""


def meter_named(typed: str) -> str:
    """Return the description of a meter: a file, or one that the program brings along.

    Raises
    ------
    AnswerError
        If there is none.
    """
    path = Path(typed)
    if path.is_file() and path.stat().st_size <= _MAX_BYTES:
        try:
            return path.read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            raise AnswerError(
                value=typed,
                place="--meter",
                reason="the file cannot be read as text",
                next_step="save it as UTF-8",
            ) from error
    known = {
        path.removeprefix(_FOLDER).removesuffix(".yaml"): text
        for path, text in knowledge_files().items()
        if path.startswith(_FOLDER)
    }
    name = "-".join(typed.casefold().split())
    if name in known:
        return known[name]
    close = nearest(name, known)
    mend = f"did you mean {close[0]}?" if close else f"name a file, or one of {', '.join(known)}"
    raise AnswerError(value=typed, place="--meter", reason="there is no such meter", next_step=mend)


def meter_of(profile: str) -> MeterProfile:
    """Return the meter of a description, a cheap one where that is empty.

    Raises
    ------
    KnowledgeError
        If the description cannot be read.
    """
    return load_meter(profile, "meter") if profile else CHEAP_METER
