"""The terminal at the lakeside: screens, prompts and the loop of one case."""

from assistant.console.case import RECKONING, Hunt, Left, run_case
from assistant.console.choose import Choice, find_choice
from assistant.console.drilling import Practice, Spoken, run_drill, show_headed, turn_over
from assistant.console.page import Page, clean, glyphs_for
from assistant.console.patience import patience
from assistant.console.pick import pick
from assistant.console.question import prompt_words, question_lines
from assistant.console.say import Seen, Share
from assistant.console.terminal import CursorTerminal, PlainTerminal, Terminal, open_terminal

__all__ = [
    "RECKONING",
    "Choice",
    "CursorTerminal",
    "Hunt",
    "Left",
    "Page",
    "PlainTerminal",
    "Practice",
    "Seen",
    "Share",
    "Spoken",
    "Terminal",
    "clean",
    "find_choice",
    "glyphs_for",
    "open_terminal",
    "patience",
    "pick",
    "prompt_words",
    "question_lines",
    "run_case",
    "run_drill",
    "show_headed",
    "turn_over",
]
