"""What is kept and what is brought along: cases on file, the knowledge base, the example boats."""

from assistant.records.library import example_boats, knowledge_files

__all__ = ["example_boats", "knowledge_files"]
