"""Fuzz the loaders, led by coverage: ``python -m tests.fuzz LOADER [SECONDS]``; wants the extra ``fuzz``.

What a loader stumbles over is written to ``tests/fuzz/found/LOADER``, and from then on fed to it by
``tests/fuzz/test_found.py``. Inputs that led to new code are kept for the next run in a folder of the system's for
temporary files.
"""

import hashlib
import re
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random

import atheris

with atheris.instrument_imports(include=["assistant"], enable_loader_override=False):
    from tests.fuzz.targets import FOUND, TARGETS

TOKEN = re.compile(rb"[\w.+%-]+|\s+|.", re.DOTALL)
HOSTILE = (
    b"1e999",
    b"-0",
    b"nan",
    b"\x1b[2J",
    b"\xe2\x80\xae",
    b"&a [*a]",
    b"<<: {}",
    b"!!python/name:os.system ",
    b"...\n",
)
NAMES = ", ".join(sorted(TARGETS))


def words_of(seeds: list[bytes]) -> Iterator[str]:
    """Yield the words of the seeds as lines of a fuzzer's dictionary."""
    words = {word for seed in seeds for word in re.findall(rb"[A-Za-z0-9_.+%-]{2,24}", seed)}
    for word in sorted(words)[:4000]:
        yield f'"{word.decode("ascii")}"'


def mutator_of(seeds: list[bytes]) -> Callable[[bytes, int, int], bytes]:
    """Return what changes an input: its bytes as the fuzzer knows to, or whole words of it, so that form lasts."""
    pool = [*{token for seed in seeds for token in TOKEN.findall(seed)}, *HOSTILE]
    pool.sort()

    def mutated(data: bytes, most: int, seed: int) -> bytes:
        chance = Random(seed)
        tokens = TOKEN.findall(data)
        if not tokens or chance.random() < 0.4:
            return bytes(atheris.Mutate(data, most))
        for _ in range(chance.randint(1, 4)):
            at, other = chance.randrange(len(tokens)), chance.randrange(len(tokens))
            tokens[at] = chance.choice(
                [b"", tokens[other], tokens[at] * 2, chance.choice(pool), chance.choice(pool)]
            )
        return b"".join(tokens)[:most]

    return mutated


def main() -> int:
    if not (2 <= len(sys.argv) <= 3 and sys.argv[1] in TARGETS):
        print(f"usage: python -m tests.fuzz LOADER [SECONDS]; the loaders are {NAMES}", file=sys.stderr)
        return 2
    name, seconds = sys.argv[1], sys.argv[2] if len(sys.argv) > 2 else "300"
    target = TARGETS[name]
    home = Path(tempfile.gettempdir()) / "leadline-fuzz" / name
    corpus, found = home / "corpus", FOUND / name
    for folder in (corpus, found):
        folder.mkdir(parents=True, exist_ok=True)
    seeds = list(target.seeds())
    for seed in seeds:
        (corpus / hashlib.sha256(seed).hexdigest()[:16]).write_bytes(seed)
    (home / "words").write_text("\n".join(words_of(seeds)) + "\n", encoding="ascii")
    options = [
        f"-max_total_time={seconds}",
        f"-dict={home / 'words'}",
        f"-artifact_prefix={found}/",
        "-max_len=6000",
        "-timeout=20",
        "-rss_limit_mb=3000",
        "-print_final_stats=1",
    ]
    atheris.Setup([sys.argv[0], *options, str(corpus)], target.try_, custom_mutator=mutator_of(seeds))
    atheris.Fuzz()
    return 0


if __name__ == "__main__":
    sys.exit(main())
