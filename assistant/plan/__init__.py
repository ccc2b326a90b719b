"""Before anything breaks: reviews of a plan, readings to expect on paper, and descriptions by interview."""

from assistant.plan.compose import compose
from assistant.plan.editing import Document, read_document
from assistant.plan.finding import Figure, Finding, Review, Severity
from assistant.plan.interview import Interview
from assistant.plan.packing import with_pack
from assistant.plan.paper import Sheet
from assistant.plan.paper_html import html
from assistant.plan.paper_text import markdown, text_lines
from assistant.plan.picture import DRAWN, TYPED, PictureLine, Strokes, picture
from assistant.plan.question import Form, Question, checked
from assistant.plan.review import RULES, review
from assistant.plan.sheet import readings_sheet, symptom_sheet
from assistant.plan.sizing import Sizing

__all__ = [
    "DRAWN",
    "RULES",
    "TYPED",
    "Document",
    "Figure",
    "Finding",
    "Form",
    "Interview",
    "PictureLine",
    "Question",
    "Review",
    "Severity",
    "Sheet",
    "Sizing",
    "Strokes",
    "checked",
    "compose",
    "html",
    "markdown",
    "picture",
    "read_document",
    "readings_sheet",
    "review",
    "symptom_sheet",
    "text_lines",
    "with_pack",
]
