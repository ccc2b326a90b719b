"""The tree of a document: frozen nodes that know where they stand in the file."""

from attrs import frozen

__all__ = ["Mapping", "Mark", "Node", "Scalar", "Sequence"]


@frozen(kw_only=True)
class Mark:
    """A place in a file; line and column are counted from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@frozen(kw_only=True)
class Scalar:
    """A single text, as typed.

    Parameters
    ----------
    text
        The characters, without quotes; empty where nothing was written.
    mark
        Where it starts.
    end
        The place behind its last character.
    quoted
        Whether it was written in quotes or as a block of text.
    """

    text: str
    mark: Mark
    end: Mark
    quoted: bool


@frozen(kw_only=True)
class Sequence:
    """A list of nodes.

    Parameters
    ----------
    end
        The place behind its bracket, or behind the last item where it has none.
    bracketed
        Whether it was written in brackets.
    """

    items: tuple["Node", ...]
    mark: Mark
    end: Mark
    bracketed: bool


@frozen(kw_only=True)
class Mapping:
    """Keys with their nodes, in the order written; no key occurs twice.

    Parameters
    ----------
    end
        The place behind its brace, or behind the last node where it has none.
    bracketed
        Whether it was written in braces.
    """

    items: tuple[tuple[Scalar, "Node"], ...]
    mark: Mark
    end: Mark
    bracketed: bool

    def get(self, key: str) -> "Node | None":
        """Return the node of this key, or None."""
        return next((node for name, node in self.items if name.text == key), None)

    def keys(self) -> tuple[str, ...]:
        """Return the keys in the order written."""
        return tuple(name.text for name, _ in self.items)


Node = Scalar | Sequence | Mapping
