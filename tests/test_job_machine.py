"""The whole session as a machine over a real store: any words, crashes and returns in any order, and the laws hold."""

import json
import shutil
import tempfile
from math import isclose
from pathlib import Path

from hypothesis import HealthCheck, settings, strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from guide import app
from guide.core.intent import Command, Do, Pick, Say, Utterance
from guide.core.jobs import events as ev
from guide.core.jobs.folding import fold
from guide.core.jobs.job import EVERY_READING, opened
from guide.core.jobs.phases import Phase, legal
from guide.core.jobs.questions import expecting, question
from guide.core.jobs.repairing import CLOSE, DONE
from guide.core.jobs.weighing import beliefs_of
from guide.core.meter import HANDHELD
from guide.core.quantity import Quantity
from guide.core.reading import Measured, OverRange, Source
from guide.edge.jobs.store import Store
from tests.test_job_laws import assert_safe
from tests.worlds import THOROUGH, shipped, shipped_tree

AT = "2026-01-05T09:00:00+00:00"
NEXT_DAY = "2026-01-06T09:00:00+00:00"
OTHER_METER = HANDHELD.nulled(0.5)


class Bench(RuleBasedStateMachine):
    """`session` is the live job; the store on disk is the other witness, asked after every step."""

    def __init__(self) -> None:
        super().__init__()
        self.home = Path(tempfile.mkdtemp())
        self.at, self.meter = AT, HANDHELD

    def teardown(self) -> None:
        self.store.close()
        shutil.rmtree(self.home)

    @initialize(
        tree_id=st.sampled_from(shipped()),
        how=st.sampled_from([(app.Intake.FIRST, ""), (app.Intake.LATER, ""), (app.Intake.LATER, EVERY_READING)]),
    )
    def begin(self, tree_id, how):
        """At the counter, straight to the tree, or as `guide learn` begins: over every reading of a good board."""
        intake, whole = how
        self.store = Store(self.home)
        self.tree, text = shipped_tree(tree_id)
        self.session, _ = app.begin(self.store, self.tree, text, clock=self.clock, intake=intake, sweep=whole)

    def clock(self) -> str:
        return self.at

    @property
    def job(self):
        return self.session.job

    def open(self) -> bool:
        return self.job.phase is not Phase.CLOSED

    @precondition(open)
    @rule(data=st.data(), source=st.sampled_from(Source), many=st.integers(1, 12))
    def answers(self, data, source, many):
        """What the questions take, several in a row: chance alone never gets to a verdict, a repair and its proof."""
        for _ in range(many):
            if self.open():
                self.session.act(self.answer(data, source))

    def answer(self, data, source):
        wants = expecting(self.job)
        ahead = next((name for name in ("1", DONE) if name in wants.answers), "")
        if self.job.waits_for_yes:
            return Do(Command.YES)
        if self.job.phase in (Phase.CONCLUDED, Phase.INTAKE) and not self.job.told:
            return Do(Command.ENOUGH)
        if ahead:
            return Pick(ahead, ahead, source)
        if wants.measure is not None:
            value = Quantity(round(data.draw(st.floats(-1, 60)), 3), wants.measure.unit)
            taken = data.draw(st.sampled_from([Measured(value, 0.001), OverRange(wants.measure.unit)]))
            return Say(taken, "a reading", source)
        named = data.draw(st.sampled_from(sorted(wants.answers))) if wants.answers else CLOSE
        return Pick(named, named, source)

    @precondition(open)
    @rule(
        command=st.sampled_from(Command), text=st.sampled_from(["", "for the customer until Friday", "o l", "4 7 2"]),
        source=st.sampled_from(Source),
    )  # fmt: skip
    def commands(self, command, text, source):
        self.session.act(Do(command, text, source))

    @precondition(open)
    @rule()
    def takes_it_back(self):
        self.session.act(Do(Command.GO_BACK))

    @precondition(open)
    @rule(line=st.text(max_size=40), source=st.sampled_from([Source.TYPED, Source.SPOKEN]))
    def says_anything(self, line, source):
        assert self.session.hear(Utterance(line, source))

    @precondition(open)
    @rule()
    def crashes_and_comes_back(self):
        """The process is gone without a word; another one opens the store."""
        self.store, old = Store(self.home), self.store
        old.close()
        self.session, told = app.resume(self.store, "1", clock=self.clock, meter=self.meter)
        assert told[-1].get("answers"), "something waits for an answer"

    @precondition(open)
    @rule(meter=st.sampled_from([HANDHELD, OTHER_METER]))
    def a_night_goes_by(self, meter):
        """The bench may have another meter in the morning."""
        self.at, self.meter = NEXT_DAY, meter
        self.session, _ = app.resume(self.store, "1", clock=self.clock, meter=meter)
        assert self.job.power.value == "unknown"

    @rule(data=st.data())
    def learns_what_it_was(self, data):
        cause = data.draw(st.sampled_from(sorted(self.tree.causes)))
        self.session.apply((ev.OutcomeSet(cause),))

    @invariant()
    def what_is_on_disk_is_what_is_live(self):
        recorded = self.store.events("1")
        assert [r.seq for r in recorded] == list(range(1, self.job.seq + 1))
        assert fold(opened(self.job.tree), [r.event for r in recorded]) == self.job

    @invariant()
    def every_event_was_legal_where_it_happened(self):
        job = opened(self.job.tree)
        for recorded in self.store.events("1"):
            assert recorded.event.kind in legal(job.phase), f"{recorded.event.kind} in {job.phase}"
            job = fold(job, (recorded.event,))

    @invariant()
    def readings_are_taken_with_the_meter_that_is_on_the_bench(self):
        assert self.job.meter == self.meter

    @invariant()
    def the_interlock_holds(self):
        assert_safe(self.job)

    @invariant()
    def the_odds_sum_to_one(self):
        assert isclose(sum(beliefs_of(self.job).values()), 1, abs_tol=1e-9)

    @invariant()
    def something_waits_for_an_answer_until_the_job_is_closed(self):
        standing = question(self.job)
        assert (standing is None) == (not self.open())
        assert standing is None or (standing["answers"] and json.dumps(standing, allow_nan=False))

    @invariant()
    def the_list_of_jobs_says_the_same(self):
        kept = self.store.summary("1")
        assert kept.answers == self.job.answers
        assert (kept.state == "closed") == (not self.open())
        # A cause the tree does not have is listed with the technician's words.
        assert kept.outcome.partition(": ")[0] == self.job.outcome


TestBenchMachine = Bench.TestCase
TestBenchMachine.settings = settings(
    max_examples=6 * THOROUGH, stateful_step_count=20, deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)  # fmt: skip
