"""What is kept and what is brought along: cases on file, the knowledge base, the example boats."""

from assistant.records.journal import Journal, create_journal, open_journal, read_case
from assistant.records.library import boats_in, example_boats, knowledge_digest, knowledge_files, title_of
from assistant.records.lines import Closing, Contents, Header, encode, read_contents
from assistant.records.store import CaseStore, Summary, default_folder

__all__ = [
    "CaseStore",
    "Closing",
    "Contents",
    "Header",
    "Journal",
    "Summary",
    "boats_in",
    "create_journal",
    "default_folder",
    "encode",
    "example_boats",
    "knowledge_digest",
    "knowledge_files",
    "open_journal",
    "read_case",
    "read_contents",
    "title_of",
]
