"""From a meter's description in YAML to its profile.

A description says what the meter has; a function that it does not name is not there.  Numbers are those of the
meter's own manual, and what is left out is as on a cheap meter.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from assistant.circuit.meter import CHEAP_METER, Accuracy, CurrentRange, MeterFunction, MeterProfile
from assistant.documents import (
    Node,
    Problems,
    choice_of,
    entries_of,
    items_of,
    mapping_fields,
    parse_document,
    quantity_of,
    text_of,
    whole_of,
)
from assistant.errors import DocumentError, KnowledgeError
from assistant.quantities import Unit

_OWN: Mapping[MeterFunction, tuple[str, ...]] = MappingProxyType(
    {
        MeterFunction.OHMS: ("largest",),
        MeterFunction.CONTINUITY: ("below",),
        MeterFunction.DIODE_TEST: ("open", "amps", "largest"),
        MeterFunction.DC_AMPS: ("ranges",),
        MeterFunction.AC_MILLIVOLTS: ("up to",),
        MeterFunction.DUTY: ("from",),
        MeterFunction.FREQUENCY: ("from",),
    }
)
"""What a function has beside its accuracy."""

_OF_METERS = tuple(str(function) for function in MeterFunction if function is not MeterFunction.LAMP)
_LEAST = 1e-6


def load_meter(text: str, file: str) -> MeterProfile:
    """Return the profile that a description of a meter says.

    Parameters
    ----------
    text
        The description.
    file
        Name of its file, for messages.

    Raises
    ------
    KnowledgeError
        With all its problems, each with its place.
    """
    problems = Problems()
    try:
        root = parse_document(text, file)
    except DocumentError as error:
        raise KnowledgeError(problems=error.problems) from error
    profile = _profile(root, problems)
    problems.raise_if_any(KnowledgeError)
    return profile


def _profile(root: Node | None, problems: Problems) -> MeterProfile:
    fields = mapping_fields(root, ("about", "input", "counts"), ("meter", "functions"), problems)
    text_of(fields.get("about"), problems)
    accuracies: dict[MeterFunction, Accuracy] = {}
    own: dict[tuple[MeterFunction, str], Node] = {}
    for key, body in entries_of(fields.get("functions"), problems):
        named = choice_of(key, _OF_METERS, problems)
        if named is not None:
            function = MeterFunction(named)
            names = _OWN.get(function, ())
            found = mapping_fields(body, (*names, "source", "status"), ("share", "digits"), problems)
            accuracies[function] = _accuracy(found, problems)
            own |= {(function, name): found[name] for name in names if name in found}
    diode = MeterFunction.DIODE_TEST
    counted = own.get((MeterFunction.FREQUENCY, "from"), own.get((MeterFunction.DUTY, "from")))

    def number(node: Node | None, unit: Unit, usual: float) -> float:
        given = quantity_of(node, unit, problems, low=_LEAST)
        return usual if given is None else given.value

    usual = CHEAP_METER
    return MeterProfile(
        functions=MappingProxyType(accuracies),
        name=text_of(fields.get("meter"), problems) or "",
        input_ohm=number(fields.get("input"), Unit.OHM, usual.input_ohm),
        counts=whole_of(fields.get("counts"), problems, low=200) or usual.counts,
        largest_ohm=number(own.get((MeterFunction.OHMS, "largest")), Unit.OHM, usual.largest_ohm),
        beep_ohm=number(own.get((MeterFunction.CONTINUITY, "below")), Unit.OHM, usual.beep_ohm),
        diode_open_v=number(own.get((diode, "open")), Unit.VOLT, usual.diode_open_v),
        diode_a=number(own.get((diode, "amps")), Unit.AMP, usual.diode_a),
        diode_largest_v=number(own.get((diode, "largest")), Unit.VOLT, usual.diode_largest_v),
        currents=_ranges(own.get((MeterFunction.DC_AMPS, "ranges")), problems) or usual.currents,
        ripple_hz=number(own.get((MeterFunction.AC_MILLIVOLTS, "up to")), Unit.HERTZ, usual.ripple_hz),
        pulse_v=number(counted, Unit.VOLT, usual.pulse_v),
    )


def _ranges(node: Node | None, problems: Problems) -> tuple[CurrentRange, ...]:
    """Return the ranges of current, the smallest first."""
    found = []
    for item in items_of(node, problems):
        fields = mapping_fields(item, ("source", "status"), ("full", "ohm", "fuse"), problems)
        full, fuse = (
            quantity_of(fields.get(name), Unit.AMP, problems, low=_LEAST) for name in ("full", "fuse")
        )
        ohm = quantity_of(fields.get("ohm"), Unit.OHM, problems, low=_LEAST)
        if full is not None and fuse is not None and ohm is not None:
            found.append(CurrentRange(full_a=full.value, ohm=ohm.value, fuse_a=fuse.value))
    return tuple(sorted(found, key=lambda one: one.full_a))


def _accuracy(fields: Mapping[str, Node], problems: Problems) -> Accuracy:
    share = quantity_of(fields.get("share"), Unit.RATIO, problems, low=0.0, high=0.5)
    digits = quantity_of(fields.get("digits"), Unit.COUNT, problems, low=0.0, high=100.0)
    for name in ("source", "status"):
        text_of(fields.get(name), problems)
    return Accuracy(
        share=0.0 if share is None else share.value, digits=0.0 if digits is None else digits.value
    )
