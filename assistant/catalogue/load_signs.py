"""Reading what a kind shows and stands: signs, noise and ratings."""

from __future__ import annotations

from collections.abc import Mapping

from assistant.catalogue.expression import Expression
from assistant.catalogue.formulas import (
    Scope,
    fixed,
    formula_of,
    freeze,
    known,
    names_of,
    number_of,
    source_of,
)
from assistant.catalogue.model import ElementSpec, Look, Primitive, RatingSpec, SignSpec
from assistant.documents import (
    Node,
    Problems,
    Scalar,
    choice_of,
    entries_of,
    flag_of,
    items_of,
    mapping_fields,
    text_of,
    texts_of,
)
from assistant.errors import quote
from assistant.quantities import Unit

NOISE = "noise"


def measured_names(elements: Mapping[str, ElementSpec], scope: Scope) -> frozenset[str]:
    """Return the names for signs and noise: values, travels, conditions and what elements measure."""
    measures = {f"{name}.{measure}" for name in elements for measure in ("volts", "amps")}
    speeds = {f"{name}.speed" for name, element in elements.items() if element.primitive is Primitive.MOTOR}
    return frozenset(measures | speeds | scope.values | scope.travels | scope.conditions)


def signs_of(
    node: Node | None, names: frozenset[str], scope: Scope, problems: Problems
) -> dict[str, SignSpec]:
    """Return the signs of a section."""
    found = {}
    for key, body in entries_of(node, problems):
        sign = _sign(key, body, names | {NOISE}, scope, problems)
        if sign is not None:
            found[key.text] = sign
    return found


def _sign(
    key: Scalar, body: Node, names: frozenset[str], scope: Scope, problems: Problems
) -> SignSpec | None:
    before = len(problems)
    required = ("ask", "look", "of", "cuts", "levels", "words", "blur", "source", "status")
    fields = mapping_fields(body, ("restless", "chance", "unplugged"), required, problems)
    ask = text_of(fields.get("ask"), problems)
    look = choice_of(fields.get("look"), Look, problems)
    of = formula_of(fields.get("of"), None, names, scope, problems)
    cuts = [formula_of(item, None, names, scope, problems) for item in items_of(fields.get("cuts"), problems)]
    good_cuts = tuple(cut for cut in cuts if cut is not None)
    levels = texts_of(fields.get("levels"), problems)
    words = _words(fields.get("words"), problems)
    blur = number_of(fields.get("blur"), Unit.RATIO, scope, problems)
    source = source_of(fields, problems)
    restless, restless_level = _restless(fields.get("restless"), words, scope, problems)
    chance, chance_level = _chance(fields.get("chance"), words, names, scope, problems)
    if len(problems) == before:
        _check_levels(key, good_cuts, levels, words, (restless_level, chance_level), problems)
    if len(problems) > before or ask is None or look is None or of is None or blur is None or source is None:
        return None
    return SignSpec(
        name=key.text,
        ask=ask,
        look=look,
        of=of,
        cuts=good_cuts,
        levels=levels,
        words=freeze(words),
        blur=blur,
        restless=restless,
        restless_level=restless_level,
        chance=chance,
        chance_level=chance_level,
        unplugged=bool(flag_of(fields.get("unplugged"), problems)),
        source=source,
    )


def _words(node: Node | None, problems: Problems) -> dict[str, str]:
    texts = ((key.text, text_of(body, problems)) for key, body in entries_of(node, problems))
    return {level: text for level, text in texts if text is not None}


def _restless(
    node: Node | None, words: dict[str, str], scope: Scope, problems: Problems
) -> tuple[tuple[str, ...], str]:
    if node is None:
        return (), ""
    fields = mapping_fields(node, ("words",), ("of", "level"), problems)
    conditions = names_of(items_of(fields.get("of"), problems), scope.conditions, "condition", problems)
    return conditions, _level(fields, words, problems)


def _chance(
    node: Node | None, words: dict[str, str], names: frozenset[str], scope: Scope, problems: Problems
) -> tuple[Expression | None, str]:
    if node is None:
        return None, ""
    fields = mapping_fields(node, ("words",), ("of", "level"), problems)
    return formula_of(fields.get("of"), Unit.RATIO, names, scope, problems), _level(fields, words, problems)


def _level(fields: Mapping[str, Node], words: dict[str, str], problems: Problems) -> str:
    """Return the level of a special showing, and add its words to those of the sign."""
    level = text_of(fields.get("level"), problems) or ""
    text = text_of(fields.get("words"), problems)
    if text is not None:
        words[level] = text
    return level


def _check_levels(
    key: Scalar,
    cuts: tuple[Expression, ...],
    levels: tuple[str, ...],
    words: dict[str, str],
    more_levels: tuple[str, ...],
    problems: Problems,
) -> None:
    if len(levels) != len(cuts) + 1 or len(set(levels)) < len(levels):
        what = f"sign {quote(key.text)} has {len(cuts)} cuts and {len(set(levels))} levels"
        problems.add(key.mark, "levels", what, "give one level more than cuts, each once")
    numbers = [number for cut in cuts if (number := fixed(cut)) is not None]
    if numbers != sorted(set(numbers)):
        problems.add(
            key.mark,
            "levels",
            f"the cuts of sign {quote(key.text)} do not rise",
            "write them in rising order",
        )
    wanted = {*levels, *(level for level in more_levels if level)}
    for level in sorted(wanted - words.keys()):
        problems.add(
            key.mark, "words", f"level {quote(level)} has no words", f'add "{level}: …" to the words'
        )
    for level in sorted(words.keys() - wanted):
        known(level, key, wanted, "level", problems)


def ratings_of(node: Node | None, scope: Scope, problems: Problems) -> dict[str, RatingSpec]:
    """Return the ratings of a section."""
    found = {}
    for key, body in entries_of(node, problems):
        fields = mapping_fields(body, (), ("about", "limit", "source", "status"), problems)
        about = text_of(fields.get("about"), problems)
        limit = formula_of(fields.get("limit"), None, scope.values, scope, problems)
        source = source_of(fields, problems)
        if about is not None and limit is not None and source is not None:
            found[key.text] = RatingSpec(name=key.text, about=about, limit=limit, source=source)
    return found
