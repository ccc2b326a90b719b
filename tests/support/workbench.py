"""A workbench that shares what it solves with all tests of a run, as programs share theirs from run to run."""

from assistant.cli.workbench import Workbench, open_workbench
from assistant.records import default_cache


def shared_workbench() -> Workbench:
    """Return a workbench on the cache of the tests: boat states that any test has solved are not solved again."""
    return open_workbench(default_cache())
