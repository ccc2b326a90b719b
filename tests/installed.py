"""Hold an installed copy against the checkout it was built from: ``python installed.py CHECKOUT``.

Run with the Python that leadline is installed in, from a folder outside the checkout.
"""

import sys
from pathlib import Path

import assistant
from assistant.records import example_boats, knowledge_files


def main(checkout: Path) -> None:
    package = Path(assistant.__file__).resolve()
    if package.is_relative_to(checkout.resolve()):
        sys.exit(f"{package} lies in the checkout: this is no installed copy")
    if knowledge_files() != knowledge_files(checkout):
        sys.exit("the installed copy carries other knowledge than the checkout")
    carried = {name: boat.read_text(encoding="utf-8") for name, boat in example_boats().items()}
    kept = {name: boat.read_text(encoding="utf-8") for name, boat in example_boats(checkout).items()}
    if carried != kept:
        sys.exit("the installed copy carries other example boats than the checkout")
    print(f"carries {len(knowledge_files())} knowledge files, {len(carried)} example boats")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
