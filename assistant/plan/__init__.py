"""Before anything breaks: reviews of a plan, readings to expect on paper, and descriptions by interview."""

from assistant.plan.finding import Figure, Finding, Review, Severity
from assistant.plan.packing import with_pack
from assistant.plan.paper import Sheet
from assistant.plan.paper_html import html
from assistant.plan.paper_text import markdown, text_lines
from assistant.plan.review import RULES, review
from assistant.plan.sheet import readings_sheet, symptom_sheet

__all__ = [
    "RULES",
    "Figure",
    "Finding",
    "Review",
    "Severity",
    "Sheet",
    "html",
    "markdown",
    "readings_sheet",
    "review",
    "symptom_sheet",
    "text_lines",
    "with_pack",
]
