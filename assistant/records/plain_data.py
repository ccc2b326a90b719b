"""The repair sheet as JSON, for other programs."""

import json
from dataclasses import asdict
from typing import Final

from assistant.records.sheet import Sheet

__all__ = ["sheet_json"]

_FORM: Final = 1


def sheet_json(sheet: Sheet) -> str:
    """Return a sheet as JSON text: its fields by name, the picture as SVG text, and the version of the form."""
    return json.dumps({"form": _FORM, **asdict(sheet)}, ensure_ascii=False, indent=1) + "\n"
