"""Checks that make sense behind another answer alone: when they are asked, what they wait for, what shuts them out."""

from dataclasses import replace

import pytest

from guide.core.drawing import markdown_of, picture_of
from guide.core.intent import Command, Do, Pick, Unclear
from guide.core.jobs import events as ev
from guide.core.jobs.deciding import decide
from guide.core.jobs.folding import fold
from guide.core.jobs.job import opened
from guide.core.jobs.onward import advance
from guide.core.jobs.replies import why
from guide.core.odds.costs import Bench
from guide.core.odds.planner import most_bits_a_minute, next_check
from guide.core.reading import Answered
from guide.core.tree import CANT_SEE, UNSEEN
from tests.tables import check, tree
from tests.worlds import shipped, shipped_tree

SPARE = check("spare", ("yes", "no"), ask="Is there a spare cable?", minutes=0.5)
SWAP = check(
    "swap", ("works", "same"), ask="Does the spare work?", normal=("same",), expect={"cable": ("works",)},
    after={"spare": ("yes",)},
)  # fmt: skip
LOOK = check("look", ("sound", "cracked"), normal=("sound",), expect={"joint": ("cracked",)}, minutes=9.0)
TREE = tree({"cable": 1, "joint": 1, "other": 0.01}, (SWAP, LOOK, SPARE), decide_at=0.9)


def job_after(t=TREE, **answers):
    """The job once its questions came out so; None is passed over."""
    job = fold(opened(t), [ev.Opened("1", t.id, "0" * 64)])
    job = fold(job, advance(job))
    for name, band in answers.items():
        assert job.chosen == name
        taken = ev.ReadingTaken(name, Answered(band or ""), "", "typed", band or "", {band: 1.0})
        job = fold(job, [taken if band else ev.CheckPassed(name, "skip")])
        job = fold(job, advance(job))
    return job


def test_a_question_that_opens_the_telling_one_is_asked_first_and_says_so():
    job = job_after()
    assert job.chosen == "spare"
    assert why(job) == "It says whether this makes sense: Does the spare work?"


def test_a_check_is_asked_behind_the_answer_it_comes_after():
    assert job_after(spare="yes").chosen == "swap"


def test_another_answer_or_none_shuts_a_check_out():
    for band in ("no", None):
        job = job_after(spare=band)
        assert job.chosen == "look"
        assert [c.id for c in job.left()] == ["look"]


def test_what_is_left_counts_what_may_still_come():
    assert [c.id for c in job_after().left()] == ["swap", "look", "spare"]


def test_an_answer_passed_over_opens_a_check_that_takes_it():
    swap = replace(SWAP, after={"spare": ("yes", UNSEEN)})
    t = replace(TREE, checks={**TREE.checks, "swap": swap})
    assert job_after(t, spare=None).chosen == "swap"
    assert job_after(t, spare="no").chosen == "look"


def test_a_route_waits_until_what_a_check_comes_after_was_answered():
    first = check("first", ("a", "b"), then={"a": "swap", "b": "swap"})
    t = replace(TREE, checks={"first": first, **TREE.checks}, start="first")
    assert job_after(t, first="a").chosen == "spare"
    assert job_after(t, first="a", spare="yes").chosen == "swap"


def test_neither_planner_takes_a_check_before_its_gate_nor_a_gate_that_opens_nothing():
    beliefs = {"cable": 0.5, "joint": 0.5}
    for choose in (next_check, most_bits_a_minute):
        assert choose(TREE, beliefs, (SWAP, LOOK, SPARE), Bench()).check == "spare"
        assert choose(TREE, beliefs, (LOOK, SPARE), Bench()).check == "look"
        assert choose(TREE, {"cable": 1.0}, (SWAP, LOOK, SPARE), Bench()) is None


def test_no_verdict_calls_causes_alike_while_what_parts_them_may_still_open():
    rest = check("rest", ("good", "bad"), normal=("good",), expect={"cable": ("bad",), "joint": ("bad",)})
    t = tree({"cable": 1, "joint": 1, "none": 1, "other": 0.01}, (rest, SWAP, SPARE), decide_at=0.9, start="rest")
    assert job_after(t, rest="bad").chosen == "spare"
    ended = job_after(t, rest="bad", spare="no").verdict
    assert set(ended.causes) == {"cable", "joint"}
    assert not ended.separable


def test_after_a_repair_what_a_check_comes_after_is_asked_anew():
    job = fold(job_after(spare="yes"), [ev.RepairDone(())])
    assert not job.may_ask(SWAP)
    assert SWAP in job.left()


def test_a_check_the_author_leads_back_to_itself_unseen_is_not_passed_over():
    kind = check("kind", ("low", "mains"), then={"low": "look", "mains": "plan", UNSEEN: "kind"})
    t = replace(TREE, checks={"kind": kind, **TREE.checks}, start="kind")
    job = job_after(t)
    for said in (Do(Command.SKIP), Do(Command.CANT_REACH), Pick(CANT_SEE, "can't see")):
        told = decide(job, said)
        assert isinstance(told, Unclear)
        assert told.reason == "This must be known before anything is touched. Answer it, or say hold and find out."
    assert isinstance(decide(job, Pick("low", "low")), tuple)
    picture = picture_of(t)
    assert {e.source for e in picture.edges} == {"kind"}
    assert all(e.target != "kind" for e in picture.edges)
    assert "not to be skipped" in next(n for n in picture.nodes if n.id == "kind").facts[-1]


def test_a_picture_says_what_a_check_comes_after_and_where_the_unseen_leads():
    first = check("first", ("a", "b"), then={"a": "plan", "b": "plan", UNSEEN: "look"})
    t = replace(TREE, checks={"first": first, **TREE.checks}, start="first")
    picture = picture_of(t)
    said = {node.id: node.facts for node in picture.nodes}
    assert "only after spare: yes" in said["swap"]
    assert [(e.source, e.target, e.bands) for e in picture.edges] == [("first", "look", ("unseen",))]
    assert '-->|"unseen"|' in markdown_of(picture)


@pytest.mark.parametrize("tree_id", [t for t in shipped() if "kind" in shipped_tree(t)[0].checks])
def test_no_question_behind_the_kind_offers_another_kind_as_its_answer(tree_id):
    """`fan` is no answer to what comes after `kind: stepper`: it could only mislead, and would lead nowhere."""
    checks = shipped_tree(tree_id)[0].checks
    for asked in (c for c in checks.values() if "kind" in c.after):
        shut = {w for b in checks["kind"].bands if b.name not in asked.after["kind"] for w in (b.name, *b.words)}
        assert not shut & {word for b in asked.bands for word in (b.name, *b.words)}, asked.id
