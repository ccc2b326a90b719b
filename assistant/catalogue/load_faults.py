"""Reading the faults of a kind."""

from __future__ import annotations

from assistant.catalogue.expression import Expression
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
from assistant.catalogue.load_elements import elements_of
from assistant.catalogue.model import Action, FaultSpec, Overload, Severity, ValueSpec
from assistant.documents import (
    Mapping,
    Node,
    Problems,
    Scalar,
    choice_of,
    entries_of,
    flag_of,
    items_of,
    mapping_fields,
    text_of,
)
from assistant.errors import quote
from assistant.quantities import Unit

SEVERITY = "severity"
_REQUIRED = ("says", "share", "source", "status", "action", "remedy")
_EFFECTS = ("values", "open", "short", "add", "always", "never")
_EXTRAS = ("severity", "intermittent", "follows")
_SUM_SLACK = 0.01


def faults_of(
    node: Node | None, values: dict[str, ValueSpec], scope: Scope, problems: Problems
) -> dict[str, FaultSpec]:
    """Return the faults of a section; their shares must add up to 100 % within 1 %."""
    before = len(problems)
    found = {}
    for key, body in entries_of(node, problems):
        fault = _fault(key, body, values, scope, problems)
        if fault is not None:
            found[key.text] = fault
    total = sum(fault.share for fault in found.values())
    if node is not None and found and len(problems) == before and abs(total - 1) > _SUM_SLACK:
        problems.add(
            node.mark, "shares", f"the shares add up to {100 * total:.3g} %", "make them add up to 100 %"
        )
    return found


def _fault(
    key: Scalar, body: Node, values: dict[str, ValueSpec], scope: Scope, problems: Problems
) -> FaultSpec | None:
    before = len(problems)
    fields = mapping_fields(body, (*_EXTRAS, *_EFFECTS), _REQUIRED, problems)
    severity = _severity(fields.get("severity"), scope, problems)
    names = frozenset({SEVERITY}) if "severity" in fields else frozenset()
    changed = _changed_values(fields.get("values"), values, names, scope, problems)
    added = elements_of(fields.get("add"), scope, problems, names)
    opened, shorted = (
        names_of(items_of(fields.get(name), problems), scope.elements, "element", problems)
        for name in ("open", "short")
    )
    always, never = (
        names_of(items_of(fields.get(name), problems), scope.conditions, "condition", problems)
        for name in ("always", "never")
    )
    says, remedy = (text_of(fields.get(name), problems) for name in ("says", "remedy"))
    share = number_of(fields.get("share"), Unit.RATIO, scope, problems)
    source = source_of(fields, problems)
    action = choice_of(fields.get("action"), Action, problems)
    intermittent = flag_of(fields.get("intermittent"), problems) or False
    follows = _overload(fields.get("follows"), scope, problems)
    _check_effect(key, body, fields, problems)
    if share is not None and not 0 <= share <= 1:
        problems.add(key.mark, "shares", f"a share of {100 * share:g} %", "give 0 to 100 %")
    formulas = [
        *changed.values(),
        *(formula for element in added.values() for formula in element.parameters.values()),
    ]
    if len(problems) == before and severity and not any(SEVERITY in formula.names for formula in formulas):
        problems.add(
            key.mark, "severity", f"fault {quote(key.text)} never uses its severity", "use it, or remove it"
        )
    if (
        len(problems) > before
        or says is None
        or remedy is None
        or share is None
        or source is None
        or action is None
    ):
        return None
    return FaultSpec(
        name=key.text,
        says=says,
        share=share,
        source=source,
        action=action,
        remedy=remedy,
        severity=severity,
        values=freeze(changed),
        open=opened,
        short=shorted,
        add=tuple(added.values()),
        always=always,
        never=never,
        intermittent=intermittent,
        follows=follows,
    )


def _overload(node: Node | None, scope: Scope, problems: Problems) -> Overload | None:
    if node is None:
        return None
    fields = mapping_fields(node, (), ("amps", "above"), problems)
    element = text_of(fields.get("amps"), problems)
    above = formula_of(fields.get("above"), Unit.AMP, scope.values, scope, problems)
    if element is None or above is None or not known(element, node, scope.elements, "element", problems):
        return None
    return Overload(element=element, above=above)


def _changed_values(
    node: Node | None, values: dict[str, ValueSpec], names: frozenset[str], scope: Scope, problems: Problems
) -> dict[str, Expression]:
    found = {}
    for key, body in entries_of(node, problems):
        if not known(key.text, key, scope.values, "value", problems) or key.text not in values:
            continue
        spec = values[key.text]
        formula = word_or_formula(body, spec.choices, spec.unit, scope.values | names, scope, problems)
        if formula is not None:
            found[key.text] = formula
    return found


def _severity(node: Node | None, scope: Scope, problems: Problems) -> Severity | None:
    if node is None:
        return None
    fields = mapping_fields(node, ("log",), ("unit", "from", "to"), problems)
    unit = choice_of(fields.get("unit"), Unit, problems)
    log = flag_of(fields.get("log"), problems) or False
    if unit is None:
        return None
    low, high = (number_of(fields.get(name), unit, scope, problems) for name in ("from", "to"))
    if low is None or high is None:
        return None
    if low >= high or (log and low <= 0):
        floor = "above 0 and " if log else ""
        problems.add(
            node.mark, "severity", f"a severity from {low:g} to {high:g}", f"start {floor}below its end"
        )
        return None
    return Severity(unit=unit, low=low, high=high, log=log)


def _check_effect(key: Scalar, body: Node, fields: dict[str, Node], problems: Problems) -> None:
    if isinstance(body, Mapping) and not any(effect in fields for effect in _EFFECTS):
        what = f"fault {quote(key.text)} changes nothing"
        problems.add(key.mark, "effect", what, f"give one of: {', '.join(_EFFECTS)}")
