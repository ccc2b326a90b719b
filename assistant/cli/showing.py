"""What a hunt shows when asked: its wiring, all readings and signs so far, and where the volts go."""

from collections.abc import Iterator, Sequence

from assistant.circuit import (
    BoatState,
    Measurement,
    MeterFunction,
    build_network,
    drops_along,
    is_unplugged,
    lamp_level,
    make_solver,
)
from assistant.console import Seen, Share
from assistant.diagnosis import Evidence, ReadingSeen, Unsteady, Wiggled
from assistant.dialogue import Setup, State
from assistant.dialogue.answers import UNIT_OF
from assistant.dialogue.narrowing import states_of
from assistant.dialogue.roles import way_through
from assistant.dialogue.spans import expected_words, reading_words
from assistant.dialogue.state import graph_of
from assistant.dialogue.trying import trial_words
from assistant.dialogue.wiggling import change_words
from assistant.dialogue.words import asked_words
from assistant.quantities import Unit, show
from assistant.records.words import size_words
from assistant.wiring import Boat, label_of, point_label

__all__ = ["seen_so_far", "volts_of", "wiring_in_words"]


def seen_so_far(setup: Setup, evidence: Sequence[Evidence]) -> Sequence[Seen]:
    """Return readings and signs in words."""
    return [_seen(setup, piece) for piece in evidence]


def _seen(setup: Setup, piece: Evidence) -> Seen:
    if isinstance(piece, Unsteady | Wiggled):
        what, shown = change_words(setup.boat, piece)
        return Seen(what=what, shown=shown)
    if isinstance(piece, ReadingSeen):
        measurement, band = piece.measurement, setup.diagnosis.band(piece.measurement)
        unit = UNIT_OF[measurement.function]
        by_level = measurement.function is MeterFunction.LAMP
        return Seen(
            what=_probes(setup.boat, measurement),
            shown=lamp_level(piece.value) if by_level else reading_words(piece.value, unit),
            expect=lamp_level(band.typical) if by_level else expected_words(band, unit),
            band=band.name(piece.value),
        )
    words = setup.diagnosis.levels(piece.query)
    shown = " or ".join(words.get(level, level) for level in piece.levels)
    tried = "" if piece.query.after is None else f", {trial_words(setup.boat, piece.query.after)}"
    return Seen(what=f"{asked_words(setup.boat, piece.query)}{tried}", shown=shown)


def _probes(boat: Boat, measurement: Measurement) -> str:
    red, black = point_label(boat, measurement.red), point_label(boat, measurement.black)
    return f"{measurement.function}, red {red}, black {black}"


def wiring_in_words(boat: Boat) -> Sequence[str]:
    """Return the wiring, a lead a line, then the channels."""
    return list(_leads(boat))


def _leads(boat: Boat) -> Iterator[str]:
    for lead in boat.leads.values():
        if lead.cable is None:
            size = f"{size_words(lead.area_mm2)}, {show(lead.length_m, Unit.METRE, 2)}"
            yield f"{point_label(boat, lead.ends[0])} to {point_label(boat, lead.ends[1])}: {size}"
    for number, channel in sorted(boat.radio.channels.items()):
        yield f"channel {number} to {label_of(boat, channel.device)}"


def volts_of(setup: Setup, state: State) -> Sequence[Share]:
    """Return where the volts of the pack go on the way through the part in question, in a healthy boat.

    The boat counts as set for the present question; where that has the packs unplugged, as in the last state
    of the hunt that does not.
    """
    parts = state.parts.get(graph_of(setup, state.symptom).focus, ())
    way = way_through(setup.boat, parts[0]) if parts else ()
    live = _live_state(setup, state)
    if not way or live is None:
        return ()
    drops = drops_along(make_solver(build_network(setup.boat)), live, way)
    shares = [Share(what=label_of(setup.boat, drop.part), volts=drop.drop_v) for drop in drops]
    whole = Share(
        what=f"together, as {label_of(setup.boat, way[0].part)} gives", volts=sum(s.volts for s in shares)
    )
    return [*shares, whole]


def _live_state(setup: Setup, state: State) -> BoatState | None:
    asked = state.pending.state if state.pending is not None else None
    states = (asked, state.boat_state, *reversed(states_of(state)))
    return next((one for one in states if one is not None and not is_unplugged(setup.boat, one)), None)
