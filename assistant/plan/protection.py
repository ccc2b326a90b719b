"""Rules about fuses: is there one, does it suit the lead behind it, and does it open when a motor is held fast.

A lead is guarded by a fuse of at most the current it stands, if taking all such fuses out leaves the lead without
any way to the pack.  Short leads straight from the pack, or from a thicker lead, to a fuse are let pass.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf
from typing import Final

from assistant.catalogue import Group, Side, Source, Status
from assistant.circuit import opening_of
from assistant.plan.cases import Plan, nominal
from assistant.plan.feeds import beyond, conducting, fed_parts, is_link, pack_ends, reached, supply_of
from assistant.plan.finding import Figure, Finding, Severity
from assistant.plan.making import finding, memory
from assistant.quantities import Quantity, Unit, format_quantity
from assistant.wiring import Boat, Lead, Point, label_of, leads_at

_SHORT_M: Final = 0.18
_NEAR_PACK: Final = memory("ABYC E-11: a fuse within 7 inches (18 cm) of the pack or of the thicker lead")
_OPENS: Final = 1.35
_OPENING: Final = Source(
    text="ISO 8820-3: a blade fuse opens within 600 s at 135 % of its rating", status=Status.SEEN
)
_SOON: Final = 2.0
_SHOCK: Final = 1.5
_OPENING_SOON: Final = Source(
    text="ISO 8820-3: a blade fuse opens within 600 s at 135 % and within 5 s at 200 %; that a drive stands half as"
    " much again until then is common practice",
    status=Status.PRACTICE,
)


def fuse_amps(boat: Boat, part: str) -> float | None:
    """Return the rating of a fuse, or None for any other part."""
    if boat.parts[part].kind.group is not Group.FUSE:
        return None
    values = nominal(boat, part)
    return values.get("rating_a", values.get("hold_a"))


def wire_amps(boat: Boat, lead: Lead) -> float:
    """Return the steady current that a wire stands."""
    kind = boat.parts[lead.id].kind
    return float(kind.ratings["amps"].limit(nominal(boat, lead.id), kind.curves))


def live_points(boat: Boat, amps: float) -> frozenset[Point]:
    """Return all points that the packs can reach through no fuse of at most `amps`."""

    def guards(part: str) -> bool:
        rating = fuse_amps(boat, part)
        return rating is not None and rating <= amps

    graph = conducting(boat, bridges=True, without=guards)
    ends = [end for end in pack_ends(boat, Side.NEGATIVE) if _returns(boat, graph_points=reached(graph, end))]
    if not ends:
        return frozenset()
    return frozenset().union(*(reached(graph, end) for end in pack_ends(boat, Side.POSITIVE)))


def _returns(boat: Boat, graph_points: frozenset[Point]) -> bool:
    """Tell whether what hangs on a pack's negative is more than its own way to a fuse."""
    return any(
        boat.parts[p.part].kind.group not in {Group.WIRE, Group.JOINT, Group.PACK, Group.FUSE}
        for p in graph_points
    )


def unfused(plan: Plan) -> Iterator[Finding]:
    """Yield leads at a pack that no fuse guards at all."""
    boat = plan.boat
    live = live_points(boat, float("inf"))
    for end in pack_ends(boat, Side.POSITIVE):
        for lead in (boat.leads[name] for name in leads_at(boat, end)):
            far = beyond(lead, end)
            if is_link(boat, lead) or end not in live:
                continue
            guarded = fuse_amps(boat, far.part) is not None
            if guarded and lead.length_m <= _SHORT_M:
                continue
            short_a = _short_amps(plan, end.part, lead)
            yield finding(
                boat,
                "unfused",
                lead.id,
                severity=Severity.NOTE if guarded else Severity.DANGER,
                says="the fuse is far from the pack; a chafed lead before it burns"
                if guarded
                else "no fuse guards what hangs on this lead; a short would drive so much through it",
                number=(lead.length_m, Unit.METRE) if guarded else (short_a, Unit.AMP),
                limit=_SHORT_M if guarded else wire_amps(boat, lead),
                when="" if guarded else "short at the end of the lead, full pack",
                source=_NEAR_PACK,
                remedy="Move the fuse to within 18 cm of the pack."
                if guarded
                else f"Put a fuse of at most {wire_amps(boat, lead):.2g} A into it, within 18 cm of the pack.",
            )


def _short_amps(plan: Plan, pack: str, lead: Lead) -> float:
    """Return what a full pack drives through a lead shorted at its far end and back the same way."""
    boat = plan.boat
    case, kind = plan.full, boat.parts[pack].kind
    values = {**nominal(boat, pack), "soc": 1.0}
    stack = next(e for e in kind.elements.values() if "volts" in e.parameters)
    emf_v = float(stack.parameters["volts"](values, kind.curves))
    inside_ohm = float(stack.parameters["ohm"](values, kind.curves))
    wire_ohm = nominal(case.network.boat, lead.id)["ohm"]
    return emf_v / (inside_ohm + 2.0 * wire_ohm)


def fuse_and_lead(plan: Plan) -> Iterator[Finding]:
    """Yield leads that the fuse before them lets burn."""
    boat = plan.boat
    ratings = sorted({a for part in boat.parts if (a := fuse_amps(boat, part)) is not None})
    bare = live_points(boat, float("inf"))
    live = {amps: live_points(boat, amps) for amps in ratings}
    for lead in boat.leads.values():
        wire = Point(part=lead.id, terminal="1")
        stands_a = wire_amps(boat, lead)
        if is_link(boat, lead) or wire in bare or _is_short_tap(boat, lead):
            continue
        guards = [amps for amps in ratings if wire not in live[amps]]
        if not guards or wire not in live_points(boat, stands_a):
            continue
        fuse = next(p for p in boat.parts if fuse_amps(boat, p) == guards[0])
        yield finding(
            boat,
            "fuse against lead",
            lead.id,
            severity=Severity.DANGER,
            says=f"only {fuse.replace('-', ' ')} guards this lead, and lets through more than the lead stands",
            number=(guards[0], Unit.AMP),
            limit=stands_a,
            source=boat.parts[lead.id].kind.ratings["amps"].source,
            remedy=f"Use a thicker lead, or start it with a fuse of at most {stands_a:.2g} A.",
        )


def _is_short_tap(boat: Boat, lead: Lead) -> bool:
    fuses = any(fuse_amps(boat, end.part) is not None for end in lead.ends)
    return fuses and lead.length_m <= _SHORT_M


def stalled_motor(plan: Plan) -> Iterator[Finding]:
    """Yield fuses that carry on while the motor behind them is held fast, and drives that would not stand it."""
    boat, case = plan.boat, plan.stall
    stalled = {d: _drive_amps(plan, d) for d in boat.parts if boat.parts[d].kind.group is Group.DRIVE}
    for fuse in boat.parts:
        rating = fuse_amps(boat, fuse)
        ends = [Point(part=fuse, terminal=t) for t in boat.parts[fuse].kind.through]
        if rating is None or not _is_motor_fuse(boat, fuse):
            continue
        amps = max(abs(case.into(end)).max() for end in ends)
        if amps < _OPENS * rating:
            yield finding(
                boat,
                "stalled motor",
                fuse,
                severity=Severity.TROUBLE,
                says="a motor held fast does not blow this fuse within minutes; motor and drive burn instead",
                number=(float(amps), Unit.AMP),
                limit=_OPENS * rating,
                when=case.title,
                source=_OPENING,
                remedy="Use the smallest fuse that carries the running current; free a stuck pump at once.",
            )
    for drive, amps in stalled.items():
        rating = nominal(boat, drive)["rating_a"]
        fuses = [a for f in boat.parts if (a := fuse_amps(boat, f)) is not None and _guards(boat, f, drive)]
        opens = _SOON if amps > _SHOCK * rating else _OPENS
        if amps > rating and (not fuses or amps < opens * min(fuses)):
            yield finding(
                boat,
                "stalled motor",
                drive,
                severity=Severity.TROUBLE,
                says="a motor held fast draws more than the drive is rated for, and no fuse opens in time",
                number=(amps, Unit.AMP),
                limit=rating,
                when=case.title,
                source=_OPENING_SOON,
                remedy=f"Fuse this drive with at most {amps / opens:.2g} A, or use a bigger drive.",
            )


def opening_figures(plan: Plan) -> Iterator[Figure]:
    """Yield how long the fuses of motors last while these are held fast."""
    boat, case = plan.boat, plan.stall
    for fuse in boat.parts:
        if fuse_amps(boat, fuse) is None or not _is_motor_fuse(boat, fuse):
            continue
        kind = boat.parts[fuse].kind
        amps = max(float(abs(case.into(Point(part=fuse, terminal=t))).max()) for t in kind.through)
        opening = opening_of(kind, nominal(boat, fuse), amps)
        if opening is None or isinf(opening.latest_s):
            continue
        soonest = format_quantity(Quantity(value=opening.soonest_s, unit=Unit.SECOND))
        yield Figure(
            name=f"{label_of(boat, fuse)} opens within",
            value=Quantity(value=opening.latest_s, unit=Unit.SECOND),
            about=f"at {format_quantity(Quantity(value=amps, unit=Unit.AMP))}, {case.title}; not before {soonest}",
        )


def _drive_amps(plan: Plan, drive: str) -> float:
    legs = [e.name for e in plan.boat.parts[drive].kind.elements.values() if e.primitive == "leg"]
    return max((float(abs(plan.stall.element(drive, leg)).max()) for leg in legs), default=0.0)


def _guards(boat: Boat, fuse: str, part: str) -> bool:
    """Tell whether all current of a part comes through a fuse."""
    supply = supply_of(boat, part)
    if supply is None:
        return False
    starts = pack_ends(boat, Side.POSITIVE)
    whole = conducting(boat, bridges=True)
    cut = conducting(boat, bridges=True, without=lambda p: p == fuse)
    fed = any(supply[0] in reached(whole, start) for start in starts)
    return fed and not any(supply[0] in reached(cut, start) for start in starts)


def _is_motor_fuse(boat: Boat, fuse: str) -> bool:
    """Tell whether a fuse is the smallest one that guards some motor."""
    rating = fuse_amps(boat, fuse) or 0.0
    for motor in fed_parts(boat, Group.MOTOR):
        guards = [f for f in boat.parts if fuse_amps(boat, f) is not None and _guards(boat, f, motor)]
        if fuse in guards and all(rating <= (fuse_amps(boat, f) or 0.0) for f in guards):
            return True
    return False


def fuse_and_load(plan: Plan) -> Iterator[Finding]:
    """Yield fuses too small for what runs behind them."""
    boat, case = plan.boat, plan.full
    for fuse in boat.parts:
        rating = fuse_amps(boat, fuse)
        if rating is None:
            continue
        spec = boat.parts[fuse].kind.ratings["amps"]
        limit = float(spec.limit(nominal(boat, fuse), boat.parts[fuse].kind.curves))
        amps = float(abs(case.into(Point(part=fuse, terminal=boat.parts[fuse].kind.through[0]))).max())
        if amps > limit:
            yield finding(
                boat,
                "fuse against load",
                fuse,
                severity=Severity.TROUBLE,
                says="the fuse carries more than it stands for long, and blows for no fault",
                number=(amps, Unit.AMP),
                limit=limit,
                when=case.title,
                source=spec.source,
                remedy=f"Fit {amps / (limit / rating):.2g} A or the next size up, if every lead behind it stands that.",
            )
