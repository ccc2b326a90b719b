"""What the program brings along: the knowledge base and the example boats.

Both are folders of plain files beside the package in a source checkout, and the same folders inside the
package (`assistant/_data`) once a wheel is installed. They are read through `importlib.resources`, so the
program also runs out of an archive.
"""

import hashlib
import re
from collections.abc import Iterator, Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from types import MappingProxyType
from typing import Final

from assistant.errors import KnowledgeError, Problem

_TITLE: Final = re.compile(r"^boat:[ \t]*(\S.*?)[ \t]*(?:#.*)?$", re.MULTILINE)
_TITLE_WITHIN: Final = 8192


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


def knowledge_in(folder: Path) -> Mapping[str, str]:
    """Return the text of every knowledge file in a person's folder.

    Parameters
    ----------
    folder
        The copy of the knowledge, or a folder that holds it as ``knowledge``.

    Raises
    ------
    KnowledgeError
        If it holds no such files, or one that is no text.
    """
    inner = folder / "knowledge"
    found, problems = {}, []
    try:
        for path, entry in _yaml_below(inner if inner.is_dir() else folder):
            try:
                found[path] = entry.read_text(encoding="utf-8")
            except UnicodeDecodeError as error:
                what = f"byte {error.start} is no UTF-8"
                mend = "save the file as UTF-8"
                problems.append(Problem(file=path, line=1, column=1, code="encoding", what=what, mend=mend))
    except OSError as error:
        raise KnowledgeError(
            value=folder, reason=error.strerror or str(error), next_step="name another folder"
        ) from error
    if problems:
        raise KnowledgeError(problems=problems)
    if not found:
        raise KnowledgeError(
            value=folder, reason="there is no knowledge in it", next_step="name another folder"
        )
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
    return _yaml_in(_folder(root, "cases"))


def example_cases() -> Path | None:
    """Return the folder of the recorded example cases, or None when the program runs out of an archive."""
    folder = _brought_along().joinpath("cases", "recorded")
    return folder if isinstance(folder, Path) and folder.is_dir() else None


def boats_in(folder: Path) -> Mapping[str, Traversable]:
    """Return the wiring descriptions in a folder: YAML files with a line that begins with ``boat:``.

    Parameters
    ----------
    folder
        Where to look; not in folders below it. One that cannot be read has none.

    Returns
    -------
    Mapping[str, Traversable]
        Files by their name without `.yaml`, in order of the name.
    """
    try:
        found = _yaml_in(folder)
    except OSError:
        return MappingProxyType({})
    return MappingProxyType({name: file for name, file in found.items() if title_of(file)})


def title_of(file: Traversable) -> str:
    """Return the name that a wiring description gives its boat; empty when it is none or cannot be read.

    Only its first lines are looked at: whether it is sound is seen when it is loaded.
    """
    try:
        with file.open("rb") as stream:
            head = stream.read(_TITLE_WITHIN)
    except OSError:
        return ""
    named = _TITLE.search(head.decode("utf-8", "replace"))
    return named[1].strip().strip("\"'") if named else ""


def _yaml_in(folder: Traversable) -> Mapping[str, Traversable]:
    files = {
        entry.name.removesuffix(".yaml"): entry
        for entry in folder.iterdir()
        if entry.name.endswith(".yaml") and entry.is_file()
    }
    return MappingProxyType(dict(sorted(files.items())))


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
