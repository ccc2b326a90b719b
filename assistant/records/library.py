"""What the program brings along: the knowledge base and the example boats.

Both are folders of plain files beside the package in a source checkout, and the same folders inside the
package (`assistant/_data`) once a wheel is installed. They are read through `importlib.resources`, so the
program also runs out of an archive.
"""

import hashlib
from collections.abc import Iterator, Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType


def knowledge_files(root: Traversable | None = None) -> Mapping[str, str]:
    """Return the text of every knowledge file.

    Parameters
    ----------
    root
        Folder that holds `knowledge`; what came with the program when absent.

    Returns
    -------
    Mapping[str, str]
        Text by path below `knowledge`, with forward slashes on every system, in order of the path.

    Raises
    ------
    FileNotFoundError
        When there is no folder `knowledge`.
    """
    found = {
        path: entry.read_text(encoding="utf-8") for path, entry in _yaml_below(_folder(root, "knowledge"))
    }
    return MappingProxyType(dict(sorted(found.items())))


def knowledge_digest(texts: Mapping[str, str]) -> str:
    """Return the digest of a knowledge base; it changes with any name or text in it.

    Parameters
    ----------
    texts
        Text by path, as `knowledge_files` returns it; the order does not matter.
    """
    whole = hashlib.sha256()
    for path, text in sorted(texts.items()):
        for piece in (path.encode(), text.encode()):
            whole.update(len(piece).to_bytes(8, "big") + piece)
    return whole.hexdigest()


def example_boats(root: Traversable | None = None) -> Mapping[str, Traversable]:
    """Return the wiring description of every example boat.

    Parameters
    ----------
    root
        Folder that holds `cases`; what came with the program when absent.

    Returns
    -------
    Mapping[str, Traversable]
        Files directly in `cases`, by their name without `.yaml`, in order of the name.

    Raises
    ------
    FileNotFoundError
        When there is no folder `cases`.
    """
    boats = {
        entry.name.removesuffix(".yaml"): entry
        for entry in _folder(root, "cases").iterdir()
        if entry.is_file() and entry.name.endswith(".yaml")
    }
    return MappingProxyType(dict(sorted(boats.items())))


def _folder(root: Traversable | None, name: str) -> Traversable:
    folder = (root or _brought_along()).joinpath(name)
    if not folder.is_dir():
        raise FileNotFoundError(f"{folder} is missing: this copy of leadline is incomplete, install it again")
    return folder


def _brought_along() -> Traversable:
    packed = files("assistant").joinpath("_data")
    return packed if packed.is_dir() else Path(__file__).resolve().parents[2]


def _yaml_below(folder: Traversable, prefix: str = "") -> Iterator[tuple[str, Traversable]]:
    for entry in folder.iterdir():
        path = prefix + entry.name
        if entry.is_dir():
            yield from _yaml_below(entry, f"{path}/")
        elif entry.name.endswith(".yaml"):
            yield path, entry
