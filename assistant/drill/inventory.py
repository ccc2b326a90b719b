"""All that a program needs to know of the boat of a drill, as plain data."""

from __future__ import annotations

from assistant.diagnosis import SignQuery
from assistant.dialogue.words import place_label
from assistant.drill.reader import Reader
from assistant.drill.told import Json
from assistant.wiring import Boat


def inventory(boat: Boat, reader: Reader, query: SignQuery, level: str) -> dict[str, Json]:
    """Return the complaint, the points, settings, signs and places of a boat.

    Parameters
    ----------
    query, level : the sign that is complained of, and what it shows.
    """
    parts = {part: boat.parts[part].kind for part in reader.places}
    return {
        "boat": boat.id,
        "complaint": {"part": query.part, "sign": query.sign, "level": level},
        "points": [str(point) for point in reader.points],
        "settings": [
            {"id": s.id, "about": s.about, "low": s.low, "high": s.high, "rest": s.rest}
            for s in reader.settings
        ],
        "signs": [
            {"part": part, "sign": name, "look": str(spec.look), "levels": list(spec.levels)}
            for part, kind in parts.items()
            for name, spec in kind.signs.items()
        ],
        "places": [
            {
                "place": place,
                "label": place_label(boat, place),
                "actions": [str(one) for one in reader.actions_at(place)],
            }
            for place in reader.places
        ],
    }
