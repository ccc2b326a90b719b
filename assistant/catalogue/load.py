"""From kind files to the catalogue.

Each file is one kind.  The names it defines are gathered from its keys first, so that every section may refer
to every other in any order; then the sections are read one by one, and what contradicts itself across
sections is checked last.  All problems of all files come in one error.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from assistant.catalogue.formulas import Scope, formula_of, freeze, known, number_of, source_of
from assistant.catalogue.load_elements import conditions_of, elements_of, lone_inner_nodes
from assistant.catalogue.load_faults import faults_of
from assistant.catalogue.load_signs import measured_names, ratings_of, signs_of
from assistant.catalogue.load_values import (
    curves_of,
    inputs_of,
    settings_of,
    slots_of,
    terminals_of,
    values_of,
)
from assistant.catalogue.model import Catalogue, ConditionSpec, Group, Kind, Sense
from assistant.catalogue.slots import terminal_of
from assistant.catalogue.values import values_in_order
from assistant.documents import (
    Mapping as Fields,
)
from assistant.documents import (
    Mark,
    Node,
    Problems,
    Scalar,
    choice_of,
    items_of,
    mapping_fields,
    parse_document,
    text_of,
    texts_of,
)
from assistant.errors import DocumentError, KnowledgeError, quote
from assistant.quantities import Unit

LINKED = "linked"
"""Condition of every kind with sockets: the transmitter is on and bound to it."""

TRANSMITTER = "transmitter"
"""What the condition `LINKED` watches."""

_REQUIRED = ("kind", "about", "group", "weight", "terminals", "probe")
_OPTIONAL = (
    "through",
    "values",
    "curves",
    "settings",
    "inputs",
    "slots",
    "elements",
    "conditions",
    "faults",
    "signs",
    "noise",
    "ratings",
    "cautions",
)


def load_catalogue(files: Mapping[str, str]) -> Catalogue:
    """Return the catalogue of all part kinds.

    Parameters
    ----------
    files
        Text of each kind file by its path; a kind ``blade fuse`` lives in ``…/blade-fuse.yaml``.

    Raises
    ------
    KnowledgeError
        With all problems of all files, each with its place.
    """
    problems = Problems()
    kinds: dict[str, Kind] = {}
    for file in sorted(files):
        try:
            root = parse_document(files[file], file)
        except DocumentError as error:
            problems.extend(error.problems)
            continue
        kind = _kind(root, file, problems)
        if kind is not None and kind.name in kinds:
            problems.add(
                root.mark, "duplicate-kind", f"the kind {quote(kind.name)} again", "keep one of the two"
            )
        elif kind is not None:
            kinds[kind.name] = kind
    problems.raise_if_any(KnowledgeError)
    return Catalogue(kinds=freeze(kinds))


def _kind(root: Node, file: str, problems: Problems) -> Kind | None:
    before = len(problems)
    fields = mapping_fields(root, _OPTIONAL, _REQUIRED, problems)
    scope = _scope(fields)
    name, about, probe = (text_of(fields.get(key), problems) for key in ("kind", "about", "probe"))
    _check_file_name(name, fields.get("kind"), file, problems)
    group = choice_of(fields.get("group"), Group, problems)
    weight_fields = mapping_fields(fields.get("weight"), (), ("of", "source", "status"), problems)
    weight = number_of(weight_fields.get("of"), Unit.COUNT, scope, problems)
    weight_source = source_of(weight_fields, problems)
    terminals = terminals_of(fields.get("terminals"), problems)
    values = values_of(fields.get("values"), scope, problems)
    settings = settings_of(fields.get("settings"), problems)
    elements = elements_of(fields.get("elements"), scope, problems)
    conditions = {
        **_link(fields),
        **conditions_of(fields.get("conditions"), scope, problems),
    }
    faults = faults_of(fields.get("faults"), values, scope, problems)
    measured = measured_names(elements, scope)
    curves = curves_of(fields.get("curves"), scope, problems)
    inputs = inputs_of(fields.get("inputs"), scope, problems)
    slots = slots_of(fields.get("slots"), scope, problems)
    signs = signs_of(fields.get("signs"), measured, scope, problems)
    ratings = ratings_of(fields.get("ratings"), scope, problems)
    noise = formula_of(fields.get("noise"), None, measured, scope, problems)
    through = _through(fields.get("through"), scope, problems)
    cautions = texts_of(fields.get("cautions"), problems)
    if weight is not None and weight < 0 and "weight" in fields:
        problems.add(fields["weight"].mark, "weight", f"a weight of {weight:g}", "give 0 or more")
    if len(problems) > before or name is None or about is None or group is None or probe is None:
        return None
    if weight is None or weight_source is None:
        return None
    kind = Kind(
        name=name,
        about=about,
        group=group,
        weight=weight,
        weight_source=weight_source,
        terminals=freeze(terminals),
        through=through,
        values=freeze(values),
        curves=freeze(curves),
        settings=freeze(settings),
        inputs=freeze(inputs),
        slots=slots,
        elements=freeze(elements),
        conditions=freeze(conditions),
        faults=freeze(faults),
        signs=freeze(signs),
        ratings=freeze(ratings),
        noise=noise,
        probe=probe,
        cautions=cautions,
    )
    _check_whole(kind, fields, root.mark, problems)
    return kind if len(problems) == before else None


def _scope(fields: Mapping[str, Node]) -> Scope:
    """Return the names that the keys of the sections define."""
    slots = fields.get("slots")
    rails = [slots.get("positive"), slots.get("negative")] if isinstance(slots, Fields) else []
    implied = frozenset({LINKED}) if "slots" in fields else frozenset()
    return Scope(
        terminals=_keys(fields, "terminals"),
        rails=frozenset(rail.text for rail in rails if isinstance(rail, Scalar)),
        values=_keys(fields, "values"),
        curves=_keys(fields, "curves"),
        settings=_keys(fields, "settings"),
        inputs=_keys(fields, "inputs"),
        elements=_keys(fields, "elements"),
        conditions=_keys(fields, "conditions") | _keys(fields, "settings") | implied,
    )


def _keys(fields: Mapping[str, Node], section: str) -> frozenset[str]:
    node = fields.get(section)
    return frozenset(node.keys()) if isinstance(node, Fields) else frozenset()


def _link(fields: Mapping[str, Node]) -> dict[str, ConditionSpec]:
    """Return the radio link as a condition, for kinds with sockets that do not describe it themselves."""
    if "slots" not in fields or LINKED in _keys(fields, "conditions") | _keys(fields, "settings"):
        return {}
    about = "the transmitter is on and bound"
    return {LINKED: ConditionSpec(name=LINKED, about=about, sense=Sense.SETTING, of=(TRANSMITTER,))}


def _check_file_name(name: str | None, node: Node | None, file: str, problems: Problems) -> None:
    if name is None or node is None:
        return
    stem = file.replace("\\", "/").rpartition("/")[2].rpartition(".")[0]
    if stem != name.replace(" ", "-"):
        what = f"the kind {quote(name)} in a file named {quote(stem)}"
        problems.add(node.mark, "file-name", what, f"name the file {name.replace(' ', '-')}.yaml")


def _through(node: Node | None, scope: Scope, problems: Problems) -> tuple[str, ...]:
    names = texts_of(node, problems)
    for item in items_of(node, problems):
        if isinstance(item, Scalar):
            known(item.text, item, scope.terminals, "terminal", problems)
    if node is not None and (len(names) > 2 or len(set(names)) < len(names)):
        problems.add(node.mark, "through", f"{len(names)} terminals", "name two, one or none, each once")
    return names


def _check_whole(kind: Kind, fields: Mapping[str, Node], mark: Mark, problems: Problems) -> None:
    """Check what can only be seen with all sections at hand."""
    try:
        values_in_order(kind.values)
    except KnowledgeError as error:
        problems.add(
            _mark_of(fields, "values", mark), "circle", f"{error.value}: {error.reason}", error.next_step
        )
    added = {
        f"{fault.name}: {element.name}": element for fault in kind.faults.values() for element in fault.add
    }
    for element, node in lone_inner_nodes(kind.elements, added, kind.conditions):
        what = f"only {quote(element)} touches the inner node {quote(node)}"
        problems.add(
            _mark_of(fields, "elements", mark), "lone-node", what, "name it alike everywhere, or remove it"
        )
    for circle in _gate_circles(kind.conditions):
        what = f"the condition {quote(circle)} waits for itself"
        problems.add(_mark_of(fields, "conditions", mark), "circle", what, 'break the circle of "when"')
    if kind.slots is not None and any(
        terminal_of(kind, f"1{pin}") in kind.terminals.values() for pin in "s+-"
    ):
        problems.add(
            _mark_of(fields, "terminals", mark),
            "terminal",
            "a terminal named like a socket's pin",
            "rename it",
        )


def _mark_of(fields: Mapping[str, Node], section: str, otherwise: Mark) -> Mark:
    return fields[section].mark if section in fields else otherwise


def _gate_circles(conditions: Mapping[str, ConditionSpec]) -> Iterator[str]:
    """Yield conditions that, through `when`, come to need themselves."""
    for name in conditions:
        waiting, seen = list(conditions[name].when), set[str]()
        while waiting:
            gate = waiting.pop()
            if gate not in seen:
                seen.add(gate)
                waiting.extend(conditions[gate].when if gate in conditions else ())
        if name in seen:
            yield name
