"""The command line: it reads the words typed after `leadline` and starts the command they name."""

from assistant.cli.main import COMMANDS, Command, main

__all__ = ["COMMANDS", "Command", "main"]
