"""Mutations of the seeds, without coverage: `nice python -m tests.fuzz.mutate words --runs 1000000 [--corpus FOLDER]`.

Prints how many inputs were tried. An input that ends in an error is printed with it, as bytes to put into a test.
"""

from __future__ import annotations

import argparse
import json
import random
import time
from collections.abc import Sequence
from pathlib import Path

from tests.fuzz.seeds import seeds
from tests.fuzz.targets import TARGETS

LONGEST = 20_000


def mutated(chance: random.Random, pool: Sequence[bytes]) -> bytes:
    """Return one of `pool` after one to five changes: a bit, a byte, a piece out, doubled, moved or from another."""
    data = bytearray(chance.choice(pool))
    for _ in range(chance.randint(1, 5)):
        at = chance.randrange(len(data) + 1)
        width = chance.randint(1, 8)
        match chance.randrange(7):
            case 0 if at < len(data):
                data[at] ^= 1 << chance.randrange(8)
            case 1 if at < len(data):
                data[at] = chance.randrange(256)
            case 2:
                del data[at : at + width]
            case 3:
                data[at:at] = data[at : at + width]
            case 4:
                other = chance.choice(pool)
                start = chance.randrange(len(other) + 1)
                data[at:at] = other[start : start + chance.randint(1, 40)]
            case 5:
                data[at:at] = bytes(chance.randrange(256) for _ in range(width))
            case _:
                data[at:at] = chance.choice((b" ", b"-", b".", b"\xcc\x81", b"\xe2\x80\x8b", b"9" * 30, b"e", b"\n"))
    return bytes(data[:LONGEST])


def run(name: str, *, runs: int, seed: int, pool: Sequence[bytes]) -> int:
    """Try `runs` inputs; return how many there were. What a target raises goes through, with its input noted."""
    chance, target = random.Random(seed), TARGETS[name]
    for done in range(runs):
        data = mutated(chance, pool)
        try:
            target(data)
        except BaseException as error:
            error.add_note(f"{name}, run {done}, seed {seed}: {data!r}")
            raise
    return runs


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("target", choices=TARGETS)
    arguments.add_argument("--runs", type=int, default=1_000_000)
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--corpus", type=Path)
    wanted = arguments.parse_args()
    pool = list(seeds(wanted.target))
    if wanted.corpus:
        pool += [p.read_bytes() for p in sorted(wanted.corpus.iterdir())]
    start = time.perf_counter()
    done = run(wanted.target, runs=wanted.runs, seed=wanted.seed, pool=pool)
    took = time.perf_counter() - start
    print(json.dumps({"target": wanted.target, "runs": done, "pool": len(pool), "seconds": round(took)}))


if __name__ == "__main__":
    main()
