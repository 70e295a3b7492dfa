"""Whole conversations as golden files: what is typed stands behind `> `, all else is what the bench shows.

To write one: put its header and its `> ` lines in a file and run with GUIDE_GOLDEN=write; then read what came out.
"""

import os
from pathlib import Path

import pytest

from guide.core.jobs.wording import clean
from guide.edge.terminal import render
from tests.worlds import TestBench

GOLDEN = Path(__file__).parent / "golden" / "conversations"
# Lines that are not typed: the process ends and the job is resumed at that time.
AWAY = {"> (next day)": "2026-01-05T10:00:00+00:00", "> (two days later)": "2026-01-07T09:00:00+00:00"}


def play(text: str, home: Path) -> str:
    """Return the conversation that the typed lines of `text` bring about. Its first line is `tree: ID`."""
    header, *rest = text.splitlines()
    bench = TestBench(home, header.removeprefix("tree: "))
    out = [header, *(line for m in bench.said for line in render(m))]
    for line in rest:
        if not line.startswith("> "):
            continue
        told = bench.comes_back(at=AWAY[line]) if line in AWAY else bench.hears(line[2:])
        out += [line, *(shown for m in told for shown in render(m))]
    return clean("\n".join(out)) + "\n"


@pytest.mark.parametrize("path", sorted(GOLDEN.glob("*.txt")), ids=lambda p: p.stem)
def test_a_conversation_goes_as_its_golden_file_says(path, tmp_path):
    wanted = path.read_text(encoding="utf-8")
    got = play(wanted, tmp_path)
    if os.environ.get("GUIDE_GOLDEN") == "write":
        path.write_text(got, encoding="utf-8")
    assert got == wanted
