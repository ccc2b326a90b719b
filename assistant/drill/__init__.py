"""Virtual boats with hidden faults: to prove the diagnosis on, and to learn on."""

from assistant.drill.hunting import Hunt, Slip, chooser_of, hunt
from assistant.drill.proving import Report, Result, Trial, prove, trials, working_day
from assistant.drill.virtual import VirtualBoat

__all__ = [
    "Hunt",
    "Report",
    "Result",
    "Slip",
    "Trial",
    "VirtualBoat",
    "chooser_of",
    "hunt",
    "prove",
    "trials",
    "working_day",
]
