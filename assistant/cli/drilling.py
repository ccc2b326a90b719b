"""A drill for programs: one JSON object a line out, one in."""

import json
import sys
from collections.abc import Iterable, Mapping

from assistant.drill import Drill
from assistant.errors import BoatsideError
from assistant.session import decode

__all__ = ["run_lines", "write_lines"]


def run_lines(drill: Drill) -> bool:
    """Go through a drill line by line; tell whether it came to its end."""
    write_lines(event.as_json() for event in drill.events)
    while not drill.is_over:
        line = sys.stdin.readline()
        if not line:
            return False
        try:
            typed = decode(line)
        except BoatsideError as error:
            write_lines([{"event": "show", "id": "again", "text": str(error)}])
            continue
        drill.answer(typed)
        write_lines(event.as_json() for event in drill.events)
    return True


def write_lines(events: Iterable[Mapping[str, object]]) -> None:
    """Write events, each as a line."""
    sys.stdout.writelines(json.dumps(event, ensure_ascii=False, allow_nan=False) + "\n" for event in events)
    sys.stdout.flush()
