"""The example boats and the part kinds of the knowledge, read from the checkout."""

from collections.abc import Mapping
from pathlib import Path

from assistant.catalogue import Catalogue, load_catalogue
from assistant.wiring import Boat, load_boat

ROOT = Path(__file__).resolve().parents[2]


def read_catalogue() -> Catalogue:
    """Return the part kinds of the knowledge."""
    paths = sorted((ROOT / "knowledge" / "parts").glob("*.yaml"))
    return load_catalogue({p.name: p.read_text(encoding="utf-8") for p in paths})


def example_boats() -> Mapping[str, Boat]:
    """Return every example boat by the name of its file."""
    catalogue = read_catalogue()
    paths = sorted((ROOT / "cases").glob("*.yaml"))
    return {p.stem: load_boat(p.read_text(encoding="utf-8"), p.name, catalogue) for p in paths}
