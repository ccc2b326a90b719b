"""Virtual boats with hidden faults: to prove the diagnosis on, and to learn on."""

from assistant.drill.codes import Code, code_for, read_code, tag_of
from assistant.drill.hiding import Hidden, hide
from assistant.drill.hunting import Hunt, Slip, chooser_of, hunt
from assistant.drill.issuing import issue
from assistant.drill.levels import LEVELS, Level
from assistant.drill.playing import Drill
from assistant.drill.proving import Report, Result, Trial, prove, trials, working_day
from assistant.drill.score import Score
from assistant.drill.told import Tells, Told
from assistant.drill.virtual import VirtualBoat

__all__ = [
    "LEVELS",
    "Code",
    "Drill",
    "Hidden",
    "Hunt",
    "Level",
    "Report",
    "Result",
    "Score",
    "Slip",
    "Tells",
    "Told",
    "Trial",
    "VirtualBoat",
    "chooser_of",
    "code_for",
    "hide",
    "hunt",
    "issue",
    "prove",
    "read_code",
    "tag_of",
    "trials",
    "working_day",
]
