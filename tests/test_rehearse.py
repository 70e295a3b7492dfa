"""Rehearsal against an exact enumeration of the same jobs, and its course against the job itself."""


import pytest
from hypothesis import example, given, settings, strategies as st

from guide.bulk.course import Course
from guide.bulk.rehearse import rehearse
from guide.core.jobs import events as ev
from guide.core.jobs.folding import fold
from guide.core.jobs.job import opened
from guide.core.jobs.onward import STEP_BACK, advance
from guide.core.jobs.phases import Phase
from guide.core.jobs.weighing import spent_minutes
from guide.core.odds.belief import likelihood, prior
from guide.core.odds.verdicts import Verdict
from guide.core.reading import Answered
from guide.core.tree import AS_FOUND, OTHER, UNSEEN
from tests.tables import check, random_tree, tree
from tests.worlds import random_trees, shipped, shipped_tree


def by_enumeration(t):
    """Exact shares of (truth in the verdict, mean checks) over every string of answers, weighed by its chance."""
    course, found = Course(t), {"right": 0.0, "together": 0.0, "wrong": 0.0, "checks": 0.0}

    def go(standing, joint, depth):
        onward = course.next(standing)
        if isinstance(onward, Verdict):
            found["checks"] += depth * sum(joint.values())
            for cause, p in joint.items():
                if cause in onward.causes:
                    found["right" if onward.separable else "together"] += p
                elif onward.cause != OTHER and onward.grounded:
                    found["wrong"] += p
            return
        for band in onward.bands:
            after = {c: p * likelihood(t, onward, c)[band.name] for c, p in joint.items()}
            go(course.answered(standing, onward, band.name), after, depth + 1)

    go(course.start(), dict(prior(t)), 0)
    return found


@pytest.mark.parametrize("seed", range(4))
def test_shares_equal_exact_enumeration_within_sampling_error(seed):
    t = random_tree(seed, 5, 5, bands=3, other=0.2)
    exact, drawn = by_enumeration(t), rehearse(t, runs=20_000, seed=seed)
    for name in ("right", "together", "wrong"):
        p = exact[name]
        assert abs(getattr(drawn, name) - p) <= 4.5 * (p * (1 - p) / 20_000) ** 0.5 + 1e-9
    assert drawn.checks.mean == pytest.approx(exact["checks"], abs=4.5 * drawn.checks.sd / 20_000**0.5)


def test_the_same_seed_gives_the_same_rehearsal():
    t = random_tree(2, 6, 6, bands=3, other=0.2)
    assert rehearse(t, runs=500, seed=7) == rehearse(t, runs=500, seed=7)
    assert rehearse(t, runs=500, seed=7) != rehearse(t, runs=500, seed=8)


def test_confusion_shares_of_each_cause_sum_to_one_and_outcomes_to_one():
    found = rehearse(random_tree(5, 6, 6, bands=3, other=0.2), runs=2000)
    assert all(sum(said.values()) == pytest.approx(1) for said in found.confusion.values())
    assert found.right + found.together + found.cannot_tell + found.wrong == pytest.approx(1)


def test_a_noisier_world_than_the_tree_believes_is_wrong_more_often():
    t = random_tree(5, 6, 8, bands=3, other=0.1)
    assert rehearse(t, runs=3000, surprise=0.2).wrong > rehearse(t, runs=3000).wrong + 0.05


TWINS = check("both", ("good", "bad"), normal=("good",), expect={"a": ("bad",), "b": ("bad",)})
SPLIT = check("split", ("good", "bad"), normal=("good",), expect={"a": ("bad",)}, minutes=2.0)


def test_causes_no_check_parts_are_reported_with_the_check_that_is_missing():
    t = tree({"a": 1, "b": 1, "none": 1, "other": 0.01}, (TWINS,))
    worst = rehearse(t, runs=2000).weak[0]
    assert worst.causes == ("a", "b")
    assert worst.together > 0.5
    assert worst.partings == ()
    assert worst.advice.startswith("No check tells a from b; one that expects different bands would decide")


def test_an_unseen_check_is_named_as_the_one_that_would_help():
    t = tree({"a": 1, "b": 1, "none": 1, "other": 0.01}, (TWINS, SPLIT))
    seen, blind = rehearse(t, runs=2000), rehearse(t, runs=2000, unseen=("split",))
    assert seen.right > 0.9 > blind.right
    worst = blind.weak[0]
    assert (worst.causes, [p.check for p in worst.partings]) == (("a", "b"), ["split"])
    assert "split tells a from b but is seldom reached" in worst.advice


# --- the course is the job's own -----------------------------------------------------------------------------------


def by_the_job(t, bands):
    """Take a job by its own events; `bands` gives the band each check shows, None where it is passed over. Returns
    asked, and the job at its verdict."""
    job = fold(opened(t), [ev.Opened("1", t.id, "0" * 64)])
    asked = []
    for _ in range(10 * len(t.checks) + 20):
        job = fold(job, advance(job))
        if job.verdict is not None:
            return asked, job
        if job.told:
            step = AS_FOUND if job.told == STEP_BACK else job.told
            done = ev.HazardCleared(step, "ready") if step in t.hazards else ev.StepMade(step, "ready")
            job = fold(job, [done])
            continue
        assert job.phase is Phase.ASKING
        asked.append(job.chosen)
        job = fold(job, [_answer(job.chosen, bands(t.checks[job.chosen]))])
    raise AssertionError(f"no verdict after {asked}")


def _answer(check, band):
    if band is None:
        return ev.CheckPassed(check, "skip")
    return ev.ReadingTaken(check, Answered(band), band, "typed", band, {band: 1.0})


def by_the_course(t, bands):
    """Returns asked, verdict, and the minutes of what was asked."""
    course = Course(t)
    standing, asked, minutes = course.start(), [], 0.0
    while not isinstance(onward := course.next(standing), Verdict):
        asked.append(onward.id)
        minutes += course.minutes(standing, onward)
        band = bands(onward)
        standing = course.answered(standing, onward, band) if band else course.passed(standing, onward)
    return asked, onward, minutes


def same(t, digits, passed=0):
    """The band of a check by the digits of a number, so that any course gets the same answers; the bits of `passed`
    tell which are passed over."""

    def bands(c):
        place = list(t.checks).index(c.id) % 9
        return None if passed >> place & 1 else c.bands[digits // 7**place % len(c.bands)].name

    asked, job = by_the_job(t, bands)
    asked_too, verdict, minutes = by_the_course(t, bands)
    assert asked == asked_too
    assert (job.verdict.cause, job.verdict.causes) == (verdict.cause, verdict.causes)
    if not job.passed:  # what was passed over cost something, but is no answer that counts
        assert spent_minutes(job) == pytest.approx(minutes)


SOME_PASSED = st.one_of(st.just(0), st.integers(0, 2**9 - 1))


@given(st.integers(0, 10**6), st.integers(0, 7**9), SOME_PASSED, st.sampled_from([0.0, 0.6]))
@example(456, 642705, 0, 0.0)  # two checks of equal price, told apart by the last digit of odds added in another order
@settings(max_examples=60, deadline=None)
def test_the_course_asks_what_the_job_asks_and_ends_where_it_ends(seed, digits, passed, behind):
    same(random_tree(seed, 5, 6, bands=3, other=0.2, behind=behind), digits, passed)


@given(random_trees(), st.integers(0, 7**9), SOME_PASSED)
@settings(max_examples=60, deadline=None)
def test_the_course_of_trees_with_routes_and_afters_is_the_jobs(t, digits, passed):
    same(t, digits, passed)


@given(st.sampled_from(shipped()), st.integers(0, 7**9), SOME_PASSED)
@settings(max_examples=25, deadline=None)
def test_the_course_of_shipped_trees_is_the_jobs(tree_id, digits, passed):
    same(shipped_tree(tree_id)[0], digits, passed)


def test_a_check_passed_over_keeps_to_the_authors_way_where_every_answer_leads_alike():
    """The job and its course alike: `first` leads to `dear` whatever it shows, so a skip does too."""
    first = check("first", ("good", "bad"), normal=("good",), then={"good": "dear", "bad": "dear"})
    dear = check("dear", ("good", "bad"), normal=("good",), expect={"a": ("bad",)}, minutes=9.0)
    cheap = check("cheap", ("good", "bad"), normal=("good",), expect={"a": ("bad",)})
    t = tree({"a": 1, "none": 1}, (first, dear, cheap), start="first")
    bands = {"first": None, "dear": "bad", "cheap": "bad"}
    assert by_the_course(t, lambda c: bands[c.id])[0] == ["first", "dear"]
    assert by_the_job(t, lambda c: bands[c.id])[0] == ["first", "dear"]


def test_a_check_passed_over_goes_where_the_author_sends_what_was_not_seen():
    """The job and its course alike: the answers part, and a skip keeps to the unpowered check all the same."""
    then = {"good": "powered", "bad": "plan", UNSEEN: "unpowered"}
    look = check("look", ("good", "bad"), normal=("good",), expect={"a": ("bad",)}, then=then)
    unpowered = check("unpowered", ("good", "bad"), normal=("good",), expect={"a": ("bad",)}, minutes=9.0, hazard="off")
    powered = check("powered", ("good", "bad"), normal=("good",), expect={"a": ("bad",)}, hazard="on")
    t = tree({"a": 1, "none": 1}, (look, unpowered, powered), start="look")
    bands = {"look": None, "unpowered": "bad", "powered": "bad"}
    assert by_the_course(t, lambda c: bands[c.id])[0] == ["look", "unpowered"]
    assert by_the_job(t, lambda c: bands[c.id])[0] == ["look", "unpowered"]


def test_rehearsals_follow_the_route_of_what_was_not_seen():
    then = {"good": "cheap", "bad": "cheap", UNSEEN: "dear"}
    look = check("look", ("good", "bad"), normal=("good",), then=then)
    dear = check("dear", ("good", "bad"), normal=("good",), expect={"a": ("bad",)}, minutes=9.0)
    cheap = check("cheap", ("good", "bad"), normal=("good",), expect={"a": ("bad",)})
    t = tree({"a": 1, "none": 1}, (look, dear, cheap), start="look")
    assert rehearse(t, runs=50).minutes.p50 == pytest.approx(1 + 1)
    assert rehearse(t, runs=50, unseen=("look",)).minutes.p50 == pytest.approx(1 + 9)
