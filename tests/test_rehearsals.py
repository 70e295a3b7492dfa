"""Every shipped tree has its rehearsal on record, and the record is what the tree does now."""

import pytest

from tests.rehearsals import TABLE, line
from tests.worlds import shipped

ROWS = {row.split(" | ")[0].removeprefix("| "): row for row in TABLE.read_text(encoding="utf-8").splitlines()[8:]}


def test_the_table_has_every_tree():
    assert set(ROWS) == set(shipped())


@pytest.mark.parametrize("tree_id", shipped())
def test_a_tree_does_in_rehearsal_what_the_table_says(tree_id):
    assert line(tree_id) == ROWS[tree_id]


@pytest.mark.parametrize("tree_id", shipped())
def test_a_tree_seldom_names_a_wrong_part_by_its_own_rows(tree_id):
    """`other` and surprises of the rows themselves are in it; a tree that misleads itself is not fit to ship."""
    wrong = float(ROWS[tree_id].split(" | ")[4].removesuffix("%"))
    assert wrong <= 15
