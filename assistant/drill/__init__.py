"""Virtual boats with hidden faults: to prove the diagnosis on, and to learn on."""

from assistant.drill.codes import Code, code_for, read_code, tag_of
from assistant.drill.complaints import Breakdown, Complaints
from assistant.drill.confusion import Confusion
from assistant.drill.course import course_key, issue_for_course
from assistant.drill.figures import Report, Result
from assistant.drill.hiding import Hidden, hide
from assistant.drill.hunting import Hunt, Slip, chooser_of, hunt
from assistant.drill.issuing import issue
from assistant.drill.levels import LEVELS, Level, level_of
from assistant.drill.playing import Drill
from assistant.drill.proving import Trying, prove, prove_pairs
from assistant.drill.score import Score
from assistant.drill.told import Tells, Told
from assistant.drill.virtual import VirtualBoat

__all__ = [
    "LEVELS",
    "Breakdown",
    "Code",
    "Complaints",
    "Confusion",
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
    "Trying",
    "VirtualBoat",
    "chooser_of",
    "code_for",
    "course_key",
    "hide",
    "hunt",
    "issue",
    "issue_for_course",
    "level_of",
    "prove",
    "prove_pairs",
    "read_code",
    "tag_of",
]
