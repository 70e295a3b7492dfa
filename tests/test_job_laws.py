"""Laws of the job over random trees and random words: the interlock, the fold, the phases, the odds."""

import json
from math import isclose

import pytest
from hypothesis import HealthCheck, given, settings, strategies as st

from guide.core.intent import Command, Do, Pick, Say, Unclear
from guide.core.jobs import events as ev
from guide.core.jobs.coding import from_json, to_json
from guide.core.jobs.deciding import decide
from guide.core.jobs.folding import evolve, fold
from guide.core.jobs.job import opened
from guide.core.jobs.onward import advance
from guide.core.jobs.phases import TABLE, Phase, legal, next_phase
from guide.core.jobs.prompts import messages
from guide.core.jobs.questions import expecting, question
from guide.core.jobs.weighing import beliefs_of
from guide.core.quantity import Measure, Quantity
from guide.core.reading import Measured, OverRange, Source
from guide.core.tree import NO_HAZARD, Power
from tests.worlds import THOROUGH, random_trees, shipped, shipped_tree

# Past the authored routes the planner may lead anywhere; this many states of each tree are walked, depth first.
MOST_STATES = 250
COMMANDS = st.sampled_from([Do(c, "words") for c in Command])


def answers_to(job):
    """Every kind of thing a technician may say now: right answers mostly, commands and nonsense too."""
    wants = expecting(job)
    choices = [COMMANDS, st.just(Pick("no such answer", "nonsense"))]
    if wants.answers:
        named = st.sampled_from(sorted(wants.answers)).map(lambda a: Pick(a, a))
        choices += [named, named, named]
    if wants.measure is not None:
        unit = wants.measure.unit
        number = st.floats(0, 1).map(lambda v: Say(Measured(Quantity(round(v, 3), unit), 0.001), f"{v}"))
        spoken = st.floats(0, 1).map(lambda v: Say(Measured(Quantity(round(v, 3), unit), 0.001), f"{v}", Source.SPOKEN))
        choices += [number, number, spoken, st.just(Say(OverRange(unit), "o l"))]
    return st.one_of(choices)


def start(tree):
    job = evolve(opened(tree), ev.Opened("1", tree.id, "0" * 64))
    first = advance(job)
    return fold(job, first), [ev.Opened("1", tree.id, "0" * 64), *first]


def assert_safe(job):
    """The interlock: nothing is asked, made or mended in the wrong power state or before its cautions and steps."""
    if job.told in job.tree.access or (job.told in job.tree.setups and job.tree.setups[job.told].power is Power.OFF):
        assert job.power is Power.OFF, "hands go to the board with the power off"
    if job.phase is Phase.REPAIRING and job.repair is not None and not job.told:
        hazard = job.tree.causes[job.repair.cause].repairs[job.repair.option].hazard
        assert hazard in job.cleared, "no repair before its caution"
        assert job.tree.hazards[hazard].power in (Power.UNKNOWN, job.power)
    if job.phase is Phase.VERIFYING:
        assert job.power is Power.UNKNOWN, "the function test powers it up"
        assert not job.opened, "it was put together"
    if job.phase not in (Phase.ASKING, Phase.CONFIRMING) or job.check is None:
        return
    check = job.check
    if check.hazard == NO_HAZARD:
        return
    needed = job.tree.hazards[check.hazard].power
    assert check.hazard in job.cleared
    assert needed in (Power.UNKNOWN, job.power)
    assert check.setup == "as_found" or check.setup == job.setup
    assert set(check.access) <= job.opened


@settings(max_examples=120 * THOROUGH, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(random_trees(), st.data())
def test_any_words_keep_the_interlock_the_fold_and_the_odds(tree, data):
    job, history = start(tree)
    for _ in range(25):
        assert_safe(job)
        if job.phase is Phase.CLOSED:
            break
        assert question(job) is not None, "something always waits for an answer"
        decided = decide(job, data.draw(answers_to(job)))
        if isinstance(decided, Unclear):
            assert decided.reason
            continue
        before = job
        for event in decided:
            assert event.kind in legal(job.phase), f"{event.kind} in {job.phase}"
            job = evolve(job, event)
        history += decided
        json.dumps(messages(before, decided, job), allow_nan=False)
        if data.draw(st.integers(0, 9)) == 0 and job.phase is not Phase.CLOSED:
            again = (ev.Resumed(), *advance(evolve(job, ev.Resumed())))
            job, history = fold(job, again), [*history, *again]
            assert job.power is Power.UNKNOWN
    assert isclose(sum(beliefs_of(job).values()), 1, abs_tol=1e-9)
    stored = [from_json(e.kind, e.v, json.loads(json.dumps(to_json(e)))) for e in history]
    assert fold(opened(tree), stored) == job


@settings(max_examples=60 * THOROUGH, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(random_trees(), st.data())
def test_a_willing_technician_always_reaches_closed(tree, data):
    """Every right answer leads on: no loop, no dead end, on any tree."""
    job, _ = start(tree)
    for _ in range(120):
        if job.phase is Phase.CLOSED:
            return
        job = fold(job, decide(job, data.draw(willing(job))))
    pytest.fail(f"still {job.phase} after 120 answers")


def willing(job):
    if job.phase is Phase.CONCLUDED:
        return st.just(Do(Command.ENOUGH))
    if job.phase is Phase.REPAIRING and job.repair is None:
        return st.just(Pick("close", "close"))
    wants = expecting(job)
    if wants.answers:
        return st.sampled_from(sorted(wants.answers)).map(lambda a: Pick(a, a))
    return st.floats(0, 1).map(lambda v: Say(Measured(Quantity(round(v, 3), wants.measure.unit), 0.001), f"{v}"))


@pytest.mark.parametrize("phase", [p for p in Phase if p is not Phase.CLOSED])
def test_every_phase_can_reach_closed(phase):
    seen, frontier = {phase}, [phase]
    while frontier:
        here = frontier.pop()
        for kind in legal(here):
            there = next_phase(here, kind)
            if there not in seen:
                seen.add(there)
                frontier.append(there)
    assert Phase.CLOSED in seen


def test_the_table_names_every_event_kind_and_no_other():
    assert {trigger for trigger, _, _ in TABLE} == set(ev.KINDS)


@pytest.mark.parametrize("tree_id", shipped())
def test_every_path_of_a_shipped_tree_keeps_the_interlock(tree_id):
    """Walk band by band: from every reachable check, every band, in depth order, without repeating a state."""
    tree, _ = shipped_tree(tree_id)
    job, _ = start(tree)
    seen, frontier, asked = set(), [job], set()
    while frontier and len(seen) < MOST_STATES:
        job = frontier.pop()
        if job.told:
            frontier.append(fold(job, decide(job, Pick(next(iter(expecting(job).answers)), ""))))
            continue
        assert_safe(job)
        if job.phase is not Phase.ASKING:
            continue
        asked.add(job.chosen)
        for band in job.check.bands:
            # One representative a band is enough: routes and power depend on bands alone.
            after = fold(job, decide(job, representative(job.check.measure, band)))
            state = (after.chosen, after.phase, after.power, after.cleared, after.setup, band.name, job.chosen)
            if state not in seen:
                seen.add(state)
                frontier.append(after)
    assert asked, "the walk asked something"


def representative(measure, band):
    if not measure.takes_a_reading:
        return Pick(band.name, band.name)
    if band.low is None and band.high is None:
        return Say(OverRange(measure.unit), "o l")
    low = band.low if band.low is not None else (0.0 if measure in (Measure.OHMS, Measure.DIODE) else band.high - 1)
    high = band.high if band.high is not None else low * 2 + 1
    return Say(Measured(Quantity((low + high) / 2, measure.unit), 1e-6), "")


@pytest.mark.parametrize("tree_id", shipped())
def test_a_resumed_job_starts_from_unknown_power(tree_id):
    tree, _ = shipped_tree(tree_id)
    job, _ = start(tree)
    while job.phase is not Phase.ASKING or job.power is Power.UNKNOWN:
        answer = next(iter(expecting(job).answers))
        job = fold(job, decide(job, Pick(answer, answer)))
    asked = job.chosen
    job = evolve(job, ev.Resumed())
    assert job.power is Power.UNKNOWN
    assert not job.cleared
    job = fold(job, advance(job))
    assert job.told, "its caution comes first again"
    assert job.chosen == asked, "the same question follows"
