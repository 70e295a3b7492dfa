"""A fault that answers every check as the book says ends at its cause; what does not is listed, with the reason."""

from pathlib import Path

import pytest
import yaml

from guide.bulk.course import Course
from guide.core.odds.table import table_of
from guide.core.odds.verdicts import Verdict
from guide.core.tree import NONE, OTHER
from tests.worlds import shipped, shipped_tree

LISTED = yaml.safe_load((Path(__file__).parent / "inseparable.yaml").read_text(encoding="utf-8"))


def textbook(tree, cause) -> Verdict:
    """Return the verdict where each check shows the band that `cause` most likely gives; of equals the first."""
    course, table = Course(tree), table_of(tree)
    standing = course.start()
    while not isinstance(onward := course.next(standing), Verdict):
        row = table[onward.id].of(cause)
        standing = course.answered(standing, onward, onward.bands[row.index(max(row))].name)
    return onward


@pytest.mark.parametrize("tree_id", shipped())
def test_a_textbook_fault_is_named_alone_and_surely_or_is_listed_with_the_reason(tree_id):
    tree, _ = shipped_tree(tree_id)
    ends = {cause: textbook(tree, cause) for cause in tree.causes if cause != OTHER}
    # A good unit is called good once every reading is a good unit's, whatever hidden fault could still be there.
    apart = {c for c, end in ends.items() if end.causes == (c,) and (end.p >= tree.decide_at or c == NONE)}
    listed = LISTED.get(tree_id, {})
    assert {c: list(ends[c].causes) for c in ends.keys() - apart} == {c: one["named"] for c, one in listed.items()}
    assert all(len(one["why"].split()) > 1 for one in listed.values())


def test_only_trees_that_are_shipped_are_listed():
    assert LISTED.keys() <= set(shipped())


@pytest.mark.parametrize("tree_id", shipped())
def test_a_reading_that_proves_a_repair_is_one_that_the_fault_fails_at_least_every_other_time(tree_id):
    """A look or a question may ask whether the remedy itself helped, so only readings are held to it."""
    tree, _ = shipped_tree(tree_id)
    table = table_of(tree)
    passed = {}
    for cause in tree.causes.values():
        if cause.verify and (check := tree.checks[cause.verify.check]).measure.takes_a_reading:
            row = zip(check.bands, table[check.id].of(cause.id), strict=True)
            passed[cause.id] = sum(share for band, share in row if band.name in cause.verify.proven_by(check))
    assert {cause: share for cause, share in passed.items() if share > 0.5} == {}
