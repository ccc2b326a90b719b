"""Reading the plain sections of a kind: terminals, values, curves, settings, inputs and sockets."""

from __future__ import annotations

from collections.abc import Mapping

from assistant.catalogue.expression import Curve
from assistant.catalogue.formulas import (
    Scope,
    formula_of,
    freeze,
    known,
    names_of,
    number_of,
    source_of,
    word_or_formula,
)
from assistant.catalogue.model import InputSpec, Reach, SettingSpec, Side, SlotSpec, Terminal, ValueSpec
from assistant.documents import (
    Node,
    Problems,
    Scalar,
    choice_of,
    entries_of,
    flag_of,
    items_of,
    mapping_fields,
    quantity_of,
    text_of,
)
from assistant.errors import quote
from assistant.quantities import Unit

_NO_SUPPLY = "none"


def terminals_of(node: Node | None, problems: Problems) -> dict[str, Terminal]:
    """Return the terminals of a section."""
    found = {}
    for key, body in entries_of(node, problems):
        if key.text.startswith("~") or not key.text.strip() or " " in key.text or "." in key.text:
            problems.add(
                key.mark,
                "terminal",
                f"terminal {quote(key.text)}",
                "use one word without dots or a leading ~",
            )
            continue
        fields = mapping_fields(body, (), ("about", "side", "reach"), problems)
        about = text_of(fields.get("about"), problems)
        side = choice_of(fields.get("side"), Side, problems)
        reach = choice_of(fields.get("reach"), Reach, problems)
        if about is not None and side is not None and reach is not None:
            found[key.text] = Terminal(name=key.text, about=about, side=side, reach=reach)
    return found


def values_of(node: Node | None, scope: Scope, problems: Problems) -> dict[str, ValueSpec]:
    """Return the values of a section."""
    found = {}
    for key, body in entries_of(node, problems):
        spec = _value(key, body, scope, problems)
        if spec is not None:
            found[key.text] = spec
    return found


def _value(key: Scalar, body: Node, scope: Scope, problems: Problems) -> ValueSpec | None:
    if not key.text.isidentifier():
        problems.add(
            key.mark, "value", f"value {quote(key.text)}", "use letters, digits and _, as in stall_a"
        )
        return None
    before = len(problems)
    known_fields = ("unit", "default", "choices", "tolerance", "spread", "low", "high")
    fields = mapping_fields(body, known_fields, ("about", "source", "status"), problems)
    choices = _choices(fields.get("choices"), scope, problems)
    unit = choice_of(fields.get("unit"), Unit, problems)
    if "unit" not in fields and "choices" not in fields:
        problems.add(
            key.mark, "unit", f"value {quote(key.text)} has neither unit nor choices", "add its unit"
        )
    unit = unit or Unit.COUNT
    default = word_or_formula(
        fields.get("default"), choices, unit, scope.values - {key.text}, scope, problems
    )
    tolerance = number_of(fields.get("tolerance"), Unit.RATIO, scope, problems)
    spread, low, high = (
        number_of(fields.get(name), unit, scope, problems) for name in ("spread", "low", "high")
    )
    about = text_of(fields.get("about"), problems)
    source = source_of(fields, problems)
    if low is not None and high is not None and low > high:
        problems.add(key.mark, "limits", f"value {quote(key.text)} has low above high", "swap them")
    if (tolerance or 0.0) < 0 or (tolerance or 0.0) >= 1 or (spread or 0.0) < 0:
        problems.add(
            key.mark,
            "limits",
            f"value {quote(key.text)} has an impossible tolerance",
            "give 0 to below 100 %",
        )
    if len(problems) > before or about is None or source is None:
        return None
    return ValueSpec(
        name=key.text,
        about=about,
        unit=unit,
        default=default,
        choices=freeze(choices),
        tolerance=tolerance or 0.0,
        spread=spread or 0.0,
        low=low,
        high=high,
        source=source,
    )


def _choices(node: Node | None, scope: Scope, problems: Problems) -> dict[str, float]:
    found = {}
    for key, body in entries_of(node, problems):
        number = number_of(body, Unit.COUNT, scope, problems)
        if number is not None:
            found[key.text] = number
    return found


def curves_of(node: Node | None, scope: Scope, problems: Problems) -> dict[str, Curve]:
    """Return the curves of a section."""
    found = {}
    for key, body in entries_of(node, problems):
        fields = mapping_fields(body, ("about",), ("points", "source", "status"), problems)
        source_of(fields, problems)
        text_of(fields.get("about"), problems)
        points = [_curve_point(item, scope, problems) for item in items_of(fields.get("points"), problems)]
        good = [point for point in points if point is not None]
        xs, ys = tuple(x for x, _ in good), tuple(y for _, y in good)
        if len(good) == len(points) and ("points" in fields) and (len(xs) < 2 or list(xs) != sorted(set(xs))):
            what = f"curve {quote(key.text)} does not rise from point to point"
            problems.add(key.mark, "curve", what, "give two points or more, the first numbers ascending")
        found[key.text] = Curve(name=key.text, xs=xs, ys=ys)
    return found


def _curve_point(node: Node, scope: Scope, problems: Problems) -> tuple[float, float] | None:
    items = items_of(node, problems)
    numbers = [number_of(item, None, scope, problems) for item in items]
    if len(items) == 2 and numbers[0] is not None and numbers[1] is not None:
        return numbers[0], numbers[1]
    if len(items) != 2:
        problems.add(node.mark, "curve", f"a point of {len(items)} numbers", "write [x, y]")
    return None


def settings_of(node: Node | None, problems: Problems) -> dict[str, SettingSpec]:
    """Return the settings of a section."""
    found = {}
    for key, body in entries_of(node, problems):
        fields = mapping_fields(body, (), ("about", "off", "on", "rest", "seconds"), problems)
        about = text_of(fields.get("about"), problems)
        off_word, on_word = (text_of(fields.get(name), problems) for name in ("off", "on"))
        rest = _rest(fields.get("rest"), off_word, on_word, problems)
        seconds = quantity_of(fields.get("seconds"), Unit.SECOND, problems, low=0, high=3600)
        if about is None or off_word is None or on_word is None or rest is None or seconds is None:
            continue
        found[key.text] = SettingSpec(
            name=key.text,
            about=about,
            off_word=off_word,
            on_word=on_word,
            rest_on=rest,
            seconds=seconds.value,
        )
    return found


def _rest(node: Node | None, off_word: str | None, on_word: str | None, problems: Problems) -> bool | None:
    words = {"off": False, "on": True}
    words |= {word: state for word, state in ((off_word, False), (on_word, True)) if word is not None}
    chosen = choice_of(node, words, problems)
    return None if chosen is None else words[chosen]


def inputs_of(node: Node | None, scope: Scope, problems: Problems) -> dict[str, InputSpec]:
    """Return the signal inputs of a section."""
    found = {}
    for key, body in entries_of(node, problems):
        before = len(problems)
        fields = mapping_fields(
            body, ("one way", "idles below"), ("signal", "positive", "negative", "lost"), problems
        )
        pins = {
            name: _pin(fields.get(name), name, scope, problems) for name in ("signal", "positive", "negative")
        }
        one_way, idles_below = (
            flag_of(fields.get(name), problems) or False for name in ("one way", "idles below")
        )
        lost = formula_of(fields.get("lost"), Unit.RATIO, scope.values, scope, problems)
        signal, negative = pins["signal"], pins["negative"]
        if len(problems) == before and signal and negative and lost is not None:
            found[key.text] = InputSpec(
                name=key.text,
                signal=signal,
                positive=pins["positive"],
                negative=negative,
                one_way=one_way,
                idles_below=idles_below,
                lost_travel=lost,
            )
    return found


def _pin(node: Node | None, name: str, scope: Scope, problems: Problems) -> str | None:
    text = text_of(node, problems)
    if node is None or text is None or (name == "positive" and text == _NO_SUPPLY):
        return None
    return text if known(text, node, scope.terminals, "terminal", problems) else None


def slots_of(node: Node | None, scope: Scope, problems: Problems) -> SlotSpec | None:
    """Return the row of sockets, if the kind has one."""
    if node is None:
        return None
    numbers: Mapping[str, Unit] = {"logic_v": Unit.VOLT, "frame_ms": Unit.COUNT, "source_ohm": Unit.OHM}
    fields = mapping_fields(node, ("when",), (*numbers, "positive", "negative"), problems)
    formulas = {
        name: formula_of(fields.get(name), unit, scope.values, scope, problems)
        for name, unit in numbers.items()
    }
    when = names_of(items_of(fields.get("when"), problems), scope.conditions, "condition", problems)
    positive, negative = (text_of(fields.get(name), problems) for name in ("positive", "negative"))
    logic_v, frame_ms, source_ohm = (formulas[name] for name in numbers)
    if logic_v is None or frame_ms is None or source_ohm is None or positive is None or negative is None:
        return None
    return SlotSpec(
        logic_v=logic_v,
        frame_ms=frame_ms,
        source_ohm=source_ohm,
        when=when,
        positive=positive,
        negative=negative,
    )
