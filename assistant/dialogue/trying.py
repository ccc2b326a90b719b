"""Words for trials: what to change on the boat for one look, how to do it safely, and that it is put back after it."""

from __future__ import annotations

from assistant.diagnosis.model import Trial, TrialKind
from assistant.dialogue.events import Manipulation, ManipulationKind
from assistant.dialogue.words import listed, place_label
from assistant.wiring import Boat, point_label

_KINDS = {
    TrialKind.SPARE: ManipulationKind.REPLACE,
    TrialKind.SWAP: ManipulationKind.SWAP,
    TrialKind.BYPASS: ManipulationKind.BYPASS,
    TrialKind.PLUGS: ManipulationKind.PLUGS,
}
FUSED_LEAD = "fused-lead"
"""Caution that belongs to bridging."""

CROSSED_PLUGS = "crossed-plugs"
"""Caution that belongs to plugs that are swapped."""


def manipulation_of(trial: Trial) -> Manipulation:
    """Return what hands do for a trial."""
    places = trial.places[:1] if trial.kind is TrialKind.SPARE else trial.places
    places = trial.places[1:] if trial.kind is TrialKind.PLUGS else places
    return Manipulation(kind=_KINDS[trial.kind], places=places, ends=trial.ends)


def trial_text(boat: Boat, trial: Trial) -> str:
    """Return what to do before the look, while every pack is unplugged."""
    return f"While every pack is unplugged: {_doing(boat, trial)} Then set the boat as it says."


def trial_words(boat: Boat, trial: Trial) -> str:
    """Return under what change something was seen."""
    if trial.ends is not None:
        return f"with a lead from {' to '.join(point_label(boat, end) for end in trial.ends)}"
    places = listed(place_label(boat, place) for place in trial.places)
    if trial.kind is TrialKind.PLUGS:
        return f"with the plugs of {_devices(boat, trial)} swapped at the receiver"
    if trial.kind is TrialKind.SWAP:
        return f"with {places} swapped"
    return f"with a spare for {place_label(boat, trial.places[0])}"


def put_back_text(boat: Boat, trial: Trial) -> str:
    """Return how the boat becomes again what it was; what comes next is asked of the boat as it was."""
    if trial.ends is not None:
        return "Unplug every pack and take the bridging lead off again, before anything else."
    if trial.kind is TrialKind.PLUGS:
        return (
            f"Unplug every pack and put the plugs of {_devices(boat, trial)} back, each into its own socket, dark wire "
            "where the receiver shows minus, before anything else."
        )
    if trial.kind is TrialKind.SWAP:
        places = listed(place_label(boat, place) for place in trial.places)
        return f"Unplug every pack and put {places} back, each in its own place, before anything else."
    return (
        f"Unplug every pack and put the old {place_label(boat, trial.places[0])} back for now: "
        "the hunt goes on with the boat as it was."
    )


def caution_of(trial: Trial) -> str:
    """Return the id of the caution that belongs to a trial, or an empty text."""
    if trial.ends is not None:
        return FUSED_LEAD
    return CROSSED_PLUGS if trial.kind is TrialKind.PLUGS else ""


def _devices(boat: Boat, trial: Trial) -> str:
    return listed(place_label(boat, place) for place in trial.places[1:])


def _doing(boat: Boat, trial: Trial) -> str:
    labels = [place_label(boat, place) for place in trial.places]
    if trial.ends is not None:
        ends = " to ".join(point_label(boat, end) for end in trial.ends)
        return (
            f"clip a fused lead from {ends}; its fuse is no bigger than the one of that feed, and its clips touch "
            "nothing else."
        )
    if trial.kind is TrialKind.PLUGS:
        return (
            f"swap the plugs of {_devices(boat, trial)} at the receiver, each into the socket of the other, dark wire "
            "where the receiver shows minus."
        )
    if trial.kind is TrialKind.SWAP:
        return f"swap {listed(labels)}, of the same rating."
    return f"put one that is known to be good, of the same rating, in the place of {labels[0]}."
