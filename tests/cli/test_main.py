import re
import subprocess
import sys
from importlib.util import find_spec

import pytest

from assistant import __version__
from assistant.cli import COMMANDS, Command, main

GREETING = {
    "greet": Command(summary="greets", module="tests.cli.greet"),
    "absent": Command(summary="has no module", module="tests.cli.no_such_module"),
}


def test_version_is_the_package_version(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["--version"])
    assert stop.value.code == 0
    assert capsys.readouterr().out == f"leadline {__version__}\n"


def test_help_lists_every_command_without_importing_one(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["--help"], commands=GREETING)
    assert stop.value.code == 0
    assert re.search(r"^ +greet +greets$", capsys.readouterr().out, flags=re.MULTILINE)


def test_no_words_print_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([], commands=GREETING) == 0
    assert "has no module" in capsys.readouterr().out


def test_a_command_gets_its_own_arguments_and_gives_the_exit_code(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["greet", "heron", "--times", "2"], commands=GREETING) == 2
    assert capsys.readouterr().out == "good day, heron! good day, heron! \n"


@pytest.mark.parametrize("words", [["gret"], ["greet"], ["--times", "2"], ["greet", "heron", "--loud"]])
def test_words_that_mean_nothing_end_with_code_2(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as stop:
        main(words, commands=GREETING)
    assert stop.value.code == 2
    assert "usage: leadline" in capsys.readouterr().err


def test_every_command_of_the_program_has_its_module() -> None:
    assert [name for name, command in COMMANDS.items() if not find_spec(command.module)] == []


def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys\nfrom assistant.cli import main\n"
        "try: main(['--help'])\n"
        "finally: print(sorted({'numpy', 'networkx', 'rich', 'prompt_toolkit', 'yaml'} & set(sys.modules)))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.splitlines()[-1] == "[]"
