"""What is kept and what is brought along: cases on file and as sheets, the knowledge base, the example boats."""

from assistant.records.boatlog import BoatLog, log_html, log_of, log_text, past_repairs, repair_of
from assistant.records.cache import Cache, default_cache
from assistant.records.compare import Difference, compare
from assistant.records.html import sheet_html
from assistant.records.journal import Journal, create_journal, open_journal, read_case
from assistant.records.kept import kept_solver
from assistant.records.library import (
    boats_in,
    example_boats,
    example_cases,
    knowledge_digest,
    knowledge_files,
    knowledge_in,
    title_of,
)
from assistant.records.lines import Closing, Contents, Header, Remark, RemarkKind, encode, read_contents
from assistant.records.markdown import sheet_markdown
from assistant.records.outline import HEADS, Section, cells_of, facts_of, sections_of
from assistant.records.parcel import Parcel, open_parcel
from assistant.records.pdf import PAGES, sheet_pdf
from assistant.records.plain_data import sheet_json
from assistant.records.progress import Progress, ProgressStore, read_progress
from assistant.records.replay import Replay, Turn, replay
from assistant.records.search import Hit, search
from assistant.records.sheet import Row, Sheet, sheet_of
from assistant.records.store import CaseStore, Summary, default_folder
from assistant.records.trouble import refusal as trouble_with
from assistant.records.words import harmless, moment

__all__ = [
    "HEADS",
    "PAGES",
    "BoatLog",
    "Cache",
    "CaseStore",
    "Closing",
    "Contents",
    "Difference",
    "Header",
    "Hit",
    "Journal",
    "Parcel",
    "Progress",
    "ProgressStore",
    "Remark",
    "RemarkKind",
    "Replay",
    "Row",
    "Section",
    "Sheet",
    "Summary",
    "Turn",
    "boats_in",
    "cells_of",
    "compare",
    "create_journal",
    "default_cache",
    "default_folder",
    "encode",
    "example_boats",
    "example_cases",
    "facts_of",
    "harmless",
    "kept_solver",
    "knowledge_digest",
    "knowledge_files",
    "knowledge_in",
    "log_html",
    "log_of",
    "log_text",
    "moment",
    "open_journal",
    "open_parcel",
    "past_repairs",
    "read_case",
    "read_contents",
    "read_progress",
    "repair_of",
    "replay",
    "search",
    "sections_of",
    "sheet_html",
    "sheet_json",
    "sheet_markdown",
    "sheet_of",
    "sheet_pdf",
    "title_of",
    "trouble_with",
]
