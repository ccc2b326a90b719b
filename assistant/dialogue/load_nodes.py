"""Reading of the nodes of a decision graph."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from assistant.circuit import MeterFunction
from assistant.dialogue.graph import (
    ANY,
    UNSURE,
    AnswerSpec,
    AskNode,
    ConcludeNode,
    Conclusion,
    ConfirmNode,
    Ended,
    How,
    NarrowNode,
    Node,
    PointSpec,
    ReadNode,
    SetNode,
    SignGiven,
    SignNode,
    TellNode,
)
from assistant.documents import Node as Written
from assistant.documents import (
    Problems,
    Scalar,
    choice_of,
    entries_of,
    flag_of,
    mapping_fields,
    suggestion,
    text_of,
    texts_of,
)
from assistant.errors import quote

HOW_BY_FUNCTION = {
    MeterFunction.DC_VOLTS: "volts",
    MeterFunction.OHMS: "ohms",
    MeterFunction.CONTINUITY: "continuity",
    MeterFunction.DIODE_TEST: "diode",
    MeterFunction.DC_AMPS: "amps",
    MeterFunction.AC_MILLIVOLTS: "ripple",
    MeterFunction.DUTY: "duty",
    MeterFunction.FREQUENCY: "frequency",
    MeterFunction.LAMP: "test-lamp",
}
_READ = tuple(
    str(function)
    for function in (
        MeterFunction.DC_VOLTS,
        MeterFunction.OHMS,
        MeterFunction.CONTINUITY,
        MeterFunction.DIODE_TEST,
    )
)
"""What a node may read; what not every meter has, and what the boat is opened for, is for the diagnosis to weigh."""

_COMMON = ("why", "how", "lesson", "caution")


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """What the nodes of a file may speak of; the first three are the file's own."""

    nodes: frozenset[str] = frozenset()
    roles: frozenset[str] = frozenset()
    states: frozenset[str] = frozenset()
    cautions: frozenset[str]
    hows: Mapping[str, How]
    symptoms: frozenset[str]
    lessons: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reader:
    """The fields of one node, with what they may speak of."""

    id: Scalar
    fields: Mapping[str, Written]
    names: Names
    problems: Problems

    def text(self, name: str) -> str:
        return text_of(self.fields.get(name), self.problems) or ""

    def link(self, name: str, otherwise: str = "") -> str:
        return self.named(self.fields.get(name), self.names.nodes, "node") or otherwise

    def links(self, name: str) -> dict[str, str]:
        found = {}
        for key, body in entries_of(self.fields.get(name), self.problems):
            found[key.text] = self.named(body, self.names.nodes, "node") or ""
        return found

    def role(self, name: str) -> str:
        return self.named(self.fields.get(name), self.names.roles, "role") or ""

    def state(self, name: str = "state") -> str:
        return self.named(self.fields.get(name), self.names.states, "state") or ""

    def named(self, node: Written | None, names: frozenset[str], what: str) -> str | None:
        text = text_of(node, self.problems)
        if node is None or text is None or text in names:
            return text
        mend = suggestion(text, sorted(names))
        self.problems.add(node.mark, f"unknown-{what}", f"no {what} {quote(text)}", mend)
        return None

    def cautions(self) -> tuple[str, ...]:
        node = self.fields.get("caution")
        texts = texts_of(node, self.problems)
        for text in texts:
            if node is not None and text not in self.names.cautions:
                mend = suggestion(text, sorted(self.names.cautions))
                self.problems.add(node.mark, "unknown-caution", f"no caution {quote(text)}", mend)
        return texts

    def how(self, otherwise: str = "") -> How:
        """Return the instruction: its id looked up, or the words themselves; a lesson of the node's own first."""
        lesson = self.named(self.fields.get("lesson"), self.names.lessons, "lesson") or ""
        found = self._how(otherwise)
        return replace(found, lesson=lesson or found.lesson)

    def _how(self, otherwise: str) -> How:
        node = self.fields.get("how")
        text = text_of(node, self.problems) or otherwise
        if " " in text or not text:
            return How(text=text)
        if text not in self.names.hows:
            mark = node.mark if node is not None else self.id.mark
            mend = suggestion(text, sorted(self.names.hows))
            self.problems.add(mark, "unknown-how", f"no instruction {quote(text)}", mend)
        return self.names.hows.get(text, How())


def node_of(key: Scalar, body: Written, names: Names, problems: Problems) -> Node | None:
    """Return the node written under `key`, or None when it cannot be read."""
    keys = [name.text for name, _ in entries_of(body, problems)]
    sorts = [name for name in keys if name in _READERS]
    if len(sorts) != 1:
        what = f"the node {quote(key.text)} has {'no' if not sorts else 'more than one'} sort"
        problems.add(key.mark, "node", what, f"give one of: {', '.join(_READERS)}")
        return None
    known, required, read = _READERS[sorts[0]]
    before = len(problems)
    fields = mapping_fields(body, (*_COMMON, *known), (sorts[0], *required), problems)
    node = read(_Reader(id=key, fields=fields, names=names, problems=problems))
    return node if len(problems) == before else None


def _confirm(r: _Reader) -> Node:
    how = r.how()
    return ConfirmNode(
        id=r.id.text,
        why=r.text("why"),
        how=how.text,
        lesson=how.lesson,
        cautions=r.cautions(),
        mark=r.id.mark,
        text=r.text("confirm"),
        yes=r.link("yes"),
        no=r.link("no"),
    )


def _ask(r: _Reader) -> Node:
    answers = []
    for key, body in entries_of(r.fields.get("answers"), r.problems):
        answers.append(_answer(key, body, r))
    how = r.how()
    return AskNode(
        id=r.id.text,
        why=r.text("why"),
        how=how.text,
        lesson=how.lesson,
        cautions=r.cautions(),
        mark=r.id.mark,
        text=r.text("ask"),
        answers=tuple(answers),
        likely=choice_of(r.fields.get("likely"), tuple(answer.key for answer in answers), r.problems),
        state=r.state() or None,
        unsure=r.link(UNSURE),
    )


def _answer(key: Scalar, body: Written, r: _Reader) -> AnswerSpec:
    if isinstance(body, Scalar):
        then = r.named(body, r.names.nodes, "node") or ""
        return AnswerSpec(key=key.text, text=key.text, then=then, evidence=None)
    fields = mapping_fields(body, ("evidence",), ("text", "then"), r.problems)
    return AnswerSpec(
        key=key.text,
        text=text_of(fields.get("text"), r.problems) or "",
        then=r.named(fields.get("then"), r.names.nodes, "node") or "",
        evidence=_evidence(fields.get("evidence"), r),
    )


def _evidence(node: Written | None, r: _Reader) -> SignGiven | None:
    if node is None:
        return None
    fields = mapping_fields(node, (), ("sign", "of", "level", "state"), r.problems)
    return SignGiven(
        sign=text_of(fields.get("sign"), r.problems) or "",
        of=r.named(fields.get("of"), r.names.roles, "role") or "",
        level=text_of(fields.get("level"), r.problems) or "",
        state=r.named(fields.get("state"), r.names.states, "state") or "",
    )


def _sign(r: _Reader) -> Node:
    how = r.how("look")
    return SignNode(
        id=r.id.text,
        why=r.text("why"),
        how=how.text,
        lesson=how.lesson,
        cautions=r.cautions(),
        mark=r.id.mark,
        sign=r.text("sign"),
        of=r.role("of"),
        state=r.state(),
        text=r.text("text"),
        then=MappingProxyType(r.links("then")),
        recall=bool(flag_of(r.fields.get("recall"), r.problems)),
    )


def _read(r: _Reader) -> Node:
    function = MeterFunction(choice_of(r.fields.get("read"), _READ, r.problems) or MeterFunction.DC_VOLTS)
    how = r.how(HOW_BY_FUNCTION[function])
    return ReadNode(
        id=r.id.text,
        why=r.text("why"),
        how=how.text,
        lesson=how.lesson,
        cautions=r.cautions(),
        mark=r.id.mark,
        function=function,
        red=_point(r, "red"),
        black=_point(r, "black"),
        state=r.state(),
        text=r.text("text"),
        then=MappingProxyType(r.links("then")),
    )


def _point(r: _Reader, name: str) -> PointSpec:
    node = r.fields.get(name)
    text = text_of(node, r.problems) or ""
    role, _, terminal = text.rpartition(" ")
    if node is not None and text and role not in r.names.roles:
        mend = 'write role and terminal, such as "pack +"'
        r.problems.add(node.mark, "point", f"{quote(text)} names no role and terminal", mend)
    return PointSpec(role=role, terminal=terminal)


def _set(r: _Reader) -> Node:
    then = r.link("then")
    how = r.how()
    return SetNode(
        id=r.id.text,
        why=r.text("why"),
        how=how.text,
        lesson=how.lesson,
        cautions=r.cautions(),
        mark=r.id.mark,
        state=r.state("set"),
        text=r.text("say"),
        then=then,
        cannot=r.link("cannot", then),
    )


def _tell(r: _Reader) -> Node:
    how = r.how()
    return TellNode(
        id=r.id.text,
        why=r.text("why"),
        how=how.text,
        lesson=how.lesson,
        cautions=r.cautions(),
        mark=r.id.mark,
        text=r.text("tell"),
        then=r.link("then"),
    )


def _narrow(r: _Reader) -> Node:
    choice_of(r.fields.get("narrow"), ("all",), r.problems)
    fields = mapping_fields(r.fields.get("then"), tuple(str(name) for name in (*Ended, ANY)), (), r.problems)
    links = {name: r.named(body, r.names.nodes, "node") or "" for name, body in fields.items()}
    rest = links.get(ANY)
    then = {name: links.get(str(name), rest) for name in Ended}
    how = r.how()
    return NarrowNode(
        id=r.id.text,
        why=r.text("why"),
        how=how.text,
        lesson=how.lesson,
        cautions=r.cautions(),
        mark=r.id.mark,
        then=MappingProxyType({name: target for name, target in then.items() if target is not None}),
    )


def _conclude(r: _Reader) -> Node:
    conclusion = choice_of(r.fields.get("conclude"), Conclusion, r.problems) or Conclusion.STOP
    use = r.named(r.fields.get("use"), r.names.symptoms, "symptom")
    if conclusion is Conclusion.OTHER and "use" not in r.fields:
        r.problems.add(r.id.mark, "missing-key", "no symptom to go on with", 'add "use: …"')
    how = r.how()
    return ConcludeNode(
        id=r.id.text,
        why=r.text("why"),
        how=how.text,
        lesson=how.lesson,
        cautions=r.cautions(),
        mark=r.id.mark,
        conclusion=conclusion,
        text=r.text("text"),
        use=use,
    )


_Read = Callable[[_Reader], Node]

_READERS: Mapping[str, tuple[tuple[str, ...], tuple[str, ...], _Read]] = MappingProxyType(
    {
        "confirm": ((), ("yes", "no", "why", "how"), _confirm),
        "ask": (("state", "likely"), ("answers", UNSURE, "why", "how"), _ask),
        "sign": (("text", "recall"), ("of", "state", "then", "why"), _sign),
        "read": (("text",), ("red", "black", "state", "then", "why"), _read),
        "set": (("cannot",), ("say", "then", "why", "how"), _set),
        "tell": ((), ("then",), _tell),
        "narrow": ((), ("then", "why"), _narrow),
        "conclude": (("text", "use"), (), _conclude),
    }
)
