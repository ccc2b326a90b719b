"""From symptom files, cautions and instructions to the knowledge of the dialogue.

All files are read even when one has problems, so that their author gets one list.  Reading checks form and
names: every link, role, state, caution and instruction that is spoken of must exist.  Whether the graph makes
sense (each node reached, each answer linked, each role fillable) is for `assistant.dialogue.lint`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType

from assistant.catalogue import Group
from assistant.dialogue.glossary import WORDS_FILE, read_terms
from assistant.dialogue.graph import (
    Base,
    Caution,
    Example,
    How,
    Knowledge,
    Node,
    NotThis,
    Occasion,
    Role,
    StateSpec,
    SymptomGraph,
)
from assistant.dialogue.load_nodes import Names, node_of
from assistant.documents import Mapping as Fields
from assistant.documents import Node as Written
from assistant.documents import (
    Problems,
    Scalar,
    choice_of,
    entries_of,
    flag_of,
    items_of,
    mapping_fields,
    parse_document,
    suggestion,
    text_of,
    texts_of,
)
from assistant.errors import DocumentError, KnowledgeError, quote
from assistant.lessons import read_lessons

CAUTIONS_FILE = "safety.yaml"
HOWS_FILE = "how.yaml"
SYMPTOMS = "symptoms/"
LESSONS = "lessons/"

_REQUIRED = ("symptom", "title", "says", "source", "focus", "roles", "states", "start", "nodes")
_OPTIONAL = ("not", "examples", "counter")


def load_knowledge(files: Mapping[str, str]) -> Knowledge:
    """Return the knowledge of the dialogue.

    Parameters
    ----------
    files
        Text by path below the knowledge folder: ``safety.yaml``, ``how.yaml``, ``words.yaml``, ``symptoms/….yaml`` and
        ``lessons/….yaml``; others are left alone.

    Raises
    ------
    KnowledgeError
        With all problems of all files, each with its place.
    """
    problems = Problems()
    knowledge = read_knowledge(files, problems)
    problems.raise_if_any(KnowledgeError)
    return knowledge


def read_knowledge(files: Mapping[str, str], problems: Problems) -> Knowledge:
    """Return what can be read of the knowledge, noting every problem.

    Symptoms and lessons wait until the files that they all speak of can be read: before that every such word of
    theirs would be a problem more.
    """
    roots = {path: _parsed(files, path, problems) for path in (CAUTIONS_FILE, HOWS_FILE, WORDS_FILE)}
    taught = _stems(files, LESSONS)
    cautions = _cautions(roots[CAUTIONS_FILE], problems)
    hows = _hows(roots[HOWS_FILE], taught, problems)
    terms = read_terms(roots[WORDS_FILE], problems)
    if not all(isinstance(root, Fields) for path, root in roots.items() if path in files):
        for path in (path for path in files if path.startswith((SYMPTOMS, LESSONS))):
            _parsed(files, path, problems)
        files = {}
    lessons = read_lessons(files, cautions, problems)
    shared = Names(
        cautions=frozenset(cautions),
        hows=MappingProxyType(hows),
        symptoms=_stems(files, SYMPTOMS),
        lessons=taught,
    )
    paths = sorted(path for path in files if path.startswith(SYMPTOMS))
    symptoms = {}
    for path in paths:
        root = _parsed(files, path, problems)
        graph = _symptom(root, shared, problems) if root is not None else None
        if graph is None:
            continue
        if path != f"{SYMPTOMS}{graph.id}.yaml":
            what = f"the symptom {quote(graph.id)} in a file named {quote(path)}"
            problems.add(graph.mark, "file-name", what, f"name the file {graph.id}.yaml")
        symptoms[graph.id] = graph
    return Knowledge(
        symptoms=MappingProxyType(symptoms),
        cautions=MappingProxyType(cautions),
        hows=MappingProxyType(hows),
        lessons=lessons,
        terms=MappingProxyType(terms),
    )


def _stems(files: Mapping[str, str], folder: str) -> frozenset[str]:
    """Return the names of the files in a folder, readable or not, so that one slip is not told many times."""
    return frozenset(
        path.removeprefix(folder).removesuffix(".yaml") for path in files if path.startswith(folder)
    )


def _parsed(files: Mapping[str, str], path: str, problems: Problems) -> Written | None:
    if path not in files:
        return None
    try:
        return parse_document(files[path], path)
    except DocumentError as error:
        problems.extend(error.problems)
        return None


def _cautions(root: Written | None, problems: Problems) -> dict[str, Caution]:
    found = {}
    for key, body in entries_of(root, problems):
        fields = mapping_fields(body, ("on", "needs"), ("text", "why", "confirm", "source"), problems)
        text, why, source = (text_of(fields.get(name), problems) for name in ("text", "why", "source"))
        on = (choice_of(item, Occasion, problems) for item in items_of(fields.get("on"), problems))
        needs = choice_of(fields.get("needs"), ("unplugged",), problems)
        found[key.text] = Caution(
            id=key.text,
            text=text or "",
            why=why or "",
            on=tuple(item for item in on if item is not None),
            confirm=bool(flag_of(fields.get("confirm"), problems)),
            unplugged=needs is not None,
            source=source or "",
        )
    return found


def _hows(root: Written | None, lessons: frozenset[str], problems: Problems) -> dict[str, How]:
    """Return the instructions: bare words, or words and the lesson behind them."""
    found = {}
    for key, body in entries_of(root, problems):
        if isinstance(body, Scalar):
            found[key.text] = How(text=text_of(body, problems) or "")
            continue
        fields = mapping_fields(body, (), ("text", "lesson"), problems)
        lesson = _named(fields.get("lesson"), lessons, "lesson", problems)
        found[key.text] = How(text=text_of(fields.get("text"), problems) or "", lesson=lesson or "")
    return found


def _symptom(root: Written, shared: Names, problems: Problems) -> SymptomGraph | None:
    before = len(problems)
    if isinstance(root, Fields) and root.get("source") is None:
        problems.add(root.mark, "missing-source", "no source is given", 'add "source: …"')
    required = tuple(name for name in _REQUIRED if name != "source")
    fields = mapping_fields(root, ("source", *_OPTIONAL), required, problems)
    names = _names(fields, shared)
    name, title = (text_of(fields.get(key), problems) for key in ("symptom", "title"))
    source = text_of(fields.get("source"), problems)
    roles = _roles(fields.get("roles"), problems)
    states = _states(fields.get("states"), names, problems)
    focus = _named(fields.get("focus"), names.roles, "role", problems)
    start = _named(fields.get("start"), names.nodes, "node", problems)
    nodes: dict[str, Node] = {}
    for key, body in entries_of(fields.get("nodes"), problems):
        node = node_of(key, body, names, problems)
        if node is not None:
            nodes[node.id] = node
    graph = SymptomGraph(
        id=name or "",
        title=title or "",
        says=texts_of(fields.get("says"), problems),
        confusions=tuple(_confusions(fields.get("not"), shared.symptoms, problems)),
        source=source or "",
        roles=MappingProxyType(roles),
        states=MappingProxyType(states),
        focus=focus or "",
        start=start or "",
        nodes=MappingProxyType(nodes),
        examples=(
            *_examples(fields.get("examples"), names, problems, counter=False),
            *_examples(fields.get("counter"), names, problems, counter=True),
        ),
        mark=root.mark,
    )
    return graph if len(problems) == before else None


def _names(fields: Mapping[str, Written], shared: Names) -> Names:
    def keys(section: str) -> frozenset[str]:
        node = fields.get(section)
        return frozenset(node.keys()) if isinstance(node, Fields) else frozenset()

    return replace(shared, nodes=keys("nodes"), roles=keys("roles"), states=keys("states"))


def _named(node: Written | None, names: frozenset[str], what: str, problems: Problems) -> str | None:
    """Return the name that a scalar says, which must be one of `names`."""
    text = text_of(node, problems)
    if node is not None and text is not None and text not in names:
        problems.add(
            node.mark,
            f"unknown-{what.rsplit(maxsplit=1)[-1]}",
            f"no {what} {quote(text)}",
            suggestion(text, sorted(names)),
        )
        return None
    return text


def _roles(node: Written | None, problems: Problems) -> dict[str, Role]:
    found: dict[str, Role] = {}
    for key, body in entries_of(node, problems):
        fields = mapping_fields(
            body, ("feeds", "shows", "choose", "all", "optional", "later"), ("group",), problems
        )
        group = choice_of(fields.get("group"), Group, problems)
        feeds = _named(fields.get("feeds"), frozenset(found), "earlier role", problems)
        if group is None:
            continue
        found[key.text] = Role(
            name=key.text,
            group=group,
            feeds=feeds,
            shows=text_of(fields.get("shows"), problems) or "",
            choose=text_of(fields.get("choose"), problems) or "",
            all=bool(flag_of(fields.get("all"), problems)),
            optional=bool(flag_of(fields.get("optional"), problems)),
            later=bool(flag_of(fields.get("later"), problems)),
            mark=key.mark,
        )
    return found


def _states(node: Written | None, names: Names, problems: Problems) -> dict[str, StateSpec]:
    found = {}
    for key, body in entries_of(node, problems):
        fields = mapping_fields(body, ("run", "astern"), ("base",), problems)
        base = choice_of(fields.get("base"), Base, problems)
        run, astern = (_role_names(fields.get(name), names, problems) for name in ("run", "astern"))
        if base is None:
            continue
        if base is not Base.READY and (run or astern):
            problems.add(key.mark, "state", "a part run while it is switched off", 'start from "base: ready"')
        found[key.text] = StateSpec(name=key.text, base=base, run=run, astern=astern, mark=key.mark)
    return found


def _role_names(node: Written | None, names: Names, problems: Problems) -> tuple[str, ...]:
    """Return the roles that one name or a list of names speaks of."""
    roles = (node,) if isinstance(node, Scalar) else items_of(node, problems)
    named = (_named(role, names.roles, "role", problems) for role in roles)
    return tuple(role for role in named if role)


def _confusions(node: Written | None, known: frozenset[str], problems: Problems) -> Iterator[NotThis]:
    for item in items_of(node, problems):
        fields = mapping_fields(item, ("use",), ("when",), problems)
        when = text_of(fields.get("when"), problems) or ""
        yield NotThis(when=when, use=_named(fields.get("use"), known, "symptom", problems))


def _examples(node: Written | None, names: Names, problems: Problems, *, counter: bool) -> Iterator[Example]:
    for item in items_of(node, problems):
        fields = mapping_fields(item, ("fault", "answers", "path"), ("boat", "expect"), problems)
        wanted = "not" if counter else "place"
        expect = mapping_fields(
            fields.get("expect"), () if counter else (wanted,), (wanted,) if counter else (), problems
        )
        answers = {
            key.text: text_of(body, problems) or ""
            for key, body in entries_of(fields.get("answers"), problems)
        }
        path = tuple(
            _named(step, names.nodes, "node", problems) or ""
            for step in items_of(fields.get("path"), problems)
        )
        roles = {f"role.{name}" for name in names.roles}
        for unknown in sorted(answers.keys() - names.nodes - roles):
            problems.add(
                item.mark, "unknown-node", f"no node {quote(unknown)}", suggestion(unknown, names.nodes)
            )
        if "fault" not in fields and "answers" not in fields:
            problems.add(
                item.mark, "example", "has neither fault nor answers", "give one of the two, or both"
            )
        yield Example(
            boat=text_of(fields.get("boat"), problems) or "",
            fault=text_of(fields.get("fault"), problems) or "",
            answers=MappingProxyType(answers),
            path=path,
            place=text_of(expect.get(wanted), problems) or "",
            counter=counter,
            mark=item.mark,
        )
