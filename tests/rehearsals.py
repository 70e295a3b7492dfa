"""The rehearsal of every shipped tree as one table: python -m tests.rehearsals writes tests/golden/rehearsals.md."""

from __future__ import annotations

from pathlib import Path

from guide.bulk.rehearse import rehearse
from tests.worlds import shipped, shipped_tree

TABLE = Path(__file__).parent / "golden" / "rehearsals.md"
RUNS, SEED = 3000, 0
HEAD = f"""# Rehearsal of every tree

{RUNS} simulated jobs a tree, seed {SEED}: faults drawn from the weights, answers from the tree's own rows. Written by
`python -m tests.rehearsals`. *One of several* names the cause among causes no check parts; *wrong* names another,
or calls a faulty unit good; it includes `other`, which by its nature looks like anything.

| tree | right | one of several | cannot tell | wrong | checks | minutes |
|---|---|---|---|---|---|---|
"""


def line(tree_id: str) -> str:
    """Return the row of one tree."""
    found = rehearse(shipped_tree(tree_id)[0], runs=RUNS, seed=SEED)
    shares = " | ".join(f"{x:.1%}" for x in (found.right, found.together, found.cannot_tell, found.wrong))
    return f"| {tree_id} | {shares} | {found.checks.mean:.1f} | {found.minutes.mean:.1f} |"


def main() -> None:
    TABLE.write_text(HEAD + "\n".join(line(tree_id) for tree_id in shipped()) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
