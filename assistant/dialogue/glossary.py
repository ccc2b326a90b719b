"""Words of the trade in plain ones, told where they are used.

A question names things by their right names, since these are printed on parts and in instructions.  Who does not know
one asks how: the answer explains each word of the trade that the question and its answers use.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from assistant.documents import Mark, Node, Problems, entries_of, mapping_fields, text_of, texts_of
from assistant.errors import quote

WORDS_FILE = "words.yaml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """A word of the trade, its other forms, and what it means in plain words."""

    word: str
    forms: tuple[str, ...]
    means: str
    mark: Mark

    def used_in(self, text: str) -> int | None:
        """Return where a text first uses the word, or None.

        >>> term = Term(
        ...     word="trim", forms=("trims",), means="", mark=Mark(file="words.yaml", line=1, column=1)
        ... )
        >>> term.used_in("Both trims in the middle"), term.used_in("trimming")
        (5, None)
        >>> term.used_in("the trim's lever")
        4
        """
        forms = "|".join(re.escape(form) for form in (self.word, *self.forms))
        found = re.search(rf"(?<![\w-])(?:{forms})(?:['’]s?)?(?![\w-])", text, re.IGNORECASE)
        return found.start() if found else None


def read_terms(root: Node | None, problems: Problems) -> dict[str, Term]:
    """Return the words by themselves, noting every problem; no two share a form."""
    found: dict[str, Term] = {}
    taken: dict[str, str] = {}
    for key, body in entries_of(root, problems):
        fields = mapping_fields(body, ("forms",), ("means",), problems)
        forms = texts_of(fields.get("forms"), problems)
        for form in (key.text, *forms):
            other = taken.setdefault(form.casefold(), key.text)
            if other != key.text or (form != key.text and form.casefold() == key.text.casefold()):
                what = f"{quote(form)} is a form of {quote(other)} too"
                problems.add(key.mark, "same-word", what, "leave it to one of them")
        means = text_of(fields.get("means"), problems) or ""
        found[key.text] = Term(word=key.text, forms=forms, means=means, mark=key.mark)
    return found


def terms_in(text: str, terms: Mapping[str, Term]) -> Iterator[Term]:
    """Yield the words of the trade that a text uses, in its order."""
    used = [(place, term) for term in terms.values() if (place := term.used_in(text)) is not None]
    yield from (term for _, term in sorted(used, key=lambda pair: pair[0]))


def unused_terms(terms: Mapping[str, Term], texts: Iterable[str]) -> Iterator[Term]:
    """Yield the words that no text uses."""
    every = list(texts)
    yield from (term for term in terms.values() if not any(term.used_in(text) is not None for text in every))
