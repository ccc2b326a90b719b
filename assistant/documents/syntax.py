"""Plain words for what a YAML parser complains about.

Both parsers (the one in C and the one in Python) speak of tokens and simple keys; whoever writes a boat's
wiring speaks of brackets, colons and quotes. The table maps a piece of the parser's message to ours; the
parser's own words stand where no row fits.
"""

from typing import Final

from attrs import frozen

from assistant.errors import quote

__all__ = ["Explanation", "explain"]


@frozen
class Explanation:
    """What is wrong with the syntax, and how to mend it.

    Parameters
    ----------
    what, mend
        The two halves of a problem.
    from_start
        Whether the place to show is where the broken piece starts and not where the parser gave up, which
        may be the end of the file.
    """

    what: str
    mend: str
    from_start: bool = False


_UNCLOSED_QUOTE: Final = Explanation("a quoted text that is not closed", "add the missing quote", True)
_UNCLOSED_LIST: Final = Explanation('a "[" list that is not closed or lacks a comma', 'add "," or "]"')
_UNCLOSED_GROUP: Final = Explanation('a "{" group that is not closed or lacks a comma', 'add "," or "}"')
_ODD_LINE: Final = Explanation("a line that does not fit the one above", "align it with its neighbours")

# Pieces of the messages of either parser.
_ROWS: Final[tuple[tuple[str, Explanation], ...]] = (
    (
        "node content",
        Explanation("nothing where a value should stand", "write the value, or close the bracket"),
    ),
    ("mapping values are not allowed", Explanation('a ":" where none can stand', "put the text in quotes")),
    ("expected ',' or ']'", _UNCLOSED_LIST),
    ("expected ',' or '}'", _UNCLOSED_GROUP),
    ("unexpected end of stream", _UNCLOSED_QUOTE),
    ("unexpected document separator", _UNCLOSED_QUOTE),
    ("could not find expected ':'", Explanation('a line without its ":"', 'write "name: value"', True)),
    (
        "cannot start any token",
        Explanation("a character that cannot start a text", "put the text in quotes"),
    ),
    (
        "expected alphabetic or numeric character",
        Explanation('a "*" or "&" that starts a text', "put the text in quotes"),
    ),
    (
        "sequence entries are not allowed",
        Explanation('a "- " where no list can stand', "start the list on its own line"),
    ),
    ("did not find expected key", _ODD_LINE),
    ("expected <block end>", _ODD_LINE),
    (
        "did not find expected '-' indicator",
        Explanation('a line in a list without its "-"', 'start it with "- "'),
    ),
    (
        "unknown escape character",
        Explanation('an unknown "\\" escape', "use single quotes, or write the backslash twice"),
    ),
    (
        "<document start>",
        Explanation("text after the end of the contents", "align it, or remove it"),
    ),
)


def explain(message: str) -> Explanation:
    """Return our words for a message of the YAML parser (which may be empty)."""
    for piece, explanation in _ROWS:
        if piece in message:
            return explanation
    what = f"this is no valid YAML ({quote(message, 80)})" if message else "this is no valid YAML"
    return Explanation(what, "check spaces, brackets and quotes here and on the line above")
