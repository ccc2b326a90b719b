"""Fault-finding by computed expectation: hypotheses, beliefs, next steps and verdicts."""

from assistant.diagnosis.belief import Belief
from assistant.diagnosis.diagnosis import Diagnosis
from assistant.diagnosis.hypotheses import NO_HISTORY, NOTHING_LATELY, History, Lately
from assistant.diagnosis.model import (
    Asked,
    AtHand,
    Barred,
    Evidence,
    Hypothesis,
    ModeAt,
    Outcome,
    ReadingSeen,
    RepairId,
    SignQuery,
    SignSeen,
    Step,
    StepKind,
    Suspect,
    Trial,
    TrialKind,
    Unsteady,
    Verdict,
    Wiggle,
    Wiggled,
)
from assistant.diagnosis.unrest import Unrest

__all__ = [
    "NOTHING_LATELY",
    "NO_HISTORY",
    "Asked",
    "AtHand",
    "Barred",
    "Belief",
    "Diagnosis",
    "Evidence",
    "History",
    "Hypothesis",
    "Lately",
    "ModeAt",
    "Outcome",
    "ReadingSeen",
    "RepairId",
    "SignQuery",
    "SignSeen",
    "Step",
    "StepKind",
    "Suspect",
    "Trial",
    "TrialKind",
    "Unrest",
    "Unsteady",
    "Verdict",
    "Wiggle",
    "Wiggled",
]
