"""All rules of a plan in one table, and the review that runs them.

Each rule is a small function that yields findings; its numbers come from the boat solved in its worst cases or from
the kinds of its parts, its limits from the kinds or from the source it names.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Final

from assistant.catalogue import Group
from assistant.plan import loads, packs, protection, supply
from assistant.plan.cases import Plan, parts_in
from assistant.plan.feeds import supply_of
from assistant.plan.finding import Figure, Finding, Review, Severity
from assistant.quantities import Quantity, Unit
from assistant.wiring import Boat, label_of

Rule = Callable[[Plan], Iterator[Finding]]

RULES: Final[Mapping[str, Rule]] = MappingProxyType(
    {
        "unfused": protection.unfused,
        "fuse against lead": protection.fuse_and_lead,
        "fuse against load": protection.fuse_and_load,
        "stalled motor": protection.stalled_motor,
        "ratings": loads.ratings,
        "surge": loads.surges,
        "shared bridge": loads.shared_bridges,
        "suppression": loads.suppression,
        "resistor power": loads.resistors,
        "dim LED": loads.dim_leds,
        "several regulators": supply.several_regulators,
        "regulator heat": supply.regulator_heat,
        "receiver rail": supply.receiver_rail,
        "servo rail": supply.servo_rail,
        "missing negative": supply.missing_negative,
        "reversed part": supply.reversed_parts,
        "never fed": supply.never_fed,
        "volt drop": supply.volt_drop,
        "drops out": supply.dropouts,
        "never arms": supply.unarmed,
        "parallel packs": packs.parallel_packs,
        "cut-off": packs.cut_offs,
        "storage": packs.storage,
        "run time": packs.short_runs,
    }
)
"""The rules by id, in the order in which findings of one severity are told."""


def review(boat: Boat) -> Review:
    """Return what is not sound about the plan of a boat, and the figures worth knowing.

    Raises
    ------
    CircuitError
        If the wiring is none that current can be worked out for.
    """
    plan = Plan(boat)
    found = [finding for rule in RULES.values() for finding in rule(plan)]
    ranks = list(Severity)
    return Review(
        findings=tuple(sorted(found, key=lambda f: ranks.index(f.severity))), figures=tuple(_figures(plan))
    )


def _figures(plan: Plan) -> Iterator[Figure]:
    yield from packs.pack_figures(plan)
    yield from protection.opening_figures(plan)
    for receiver in parts_in(plan.boat, Group.RADIO):
        rail = supply_of(plan.boat, receiver)
        if rail is not None:
            volts = float((plan.servos.at(rail[0]) - plan.servos.at(rail[1])).min())
            yield Figure(
                name=f"supply of {label_of(plan.boat, receiver)}",
                value=Quantity(value=volts, unit=Unit.VOLT),
                about=plan.servos.title,
            )
    drops = sorted(supply.feed_drops(plan), key=lambda drop: -drop[2])
    for part, _, share, worst in drops[:1]:
        yield Figure(
            name=f"worst feed, to {label_of(plan.boat, part)}",
            value=Quantity(value=share, unit=Unit.RATIO),
            about=f"of the pack's volts lost, most in {label_of(plan.boat, worst)}",
        )
