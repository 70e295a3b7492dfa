"""A slip after the repair is taken back at once: `done`, an override, what the function test said."""

import pytest

from guide import app
from guide.core.jobs import events as ev
from guide.core.jobs.folding import fold
from guide.core.jobs.job import opened
from guide.core.jobs.phases import Phase
from guide.core.report.customer import customer_page
from guide.core.report.gather import report_of
from guide.core.tree import OTHER
from tests.worlds import FERNLEAF, TestBench

REPAIRED = ("ready", "12.1", "unplugged", "OL", "enough", "1", "done")
PROVEN = (*REPAIRED, "unplugged", "60.1")


@pytest.fixture
def bench(tmp_path):
    return TestBench(tmp_path)


def report(bench):
    return report_of(bench.job.tree, bench.store.events("1"), meter=bench.job.meter)


def said(messages):
    return [m.get("say") for m in messages]


def test_done_said_too_soon_is_taken_back_with_all_that_was_known_before(bench):
    bench.hears(*REPAIRED[:-1])
    known, odds = bench.job.taken, bench.job.verdict
    told = bench.hears("done", "go back")
    assert said(told)[0] == "Taken back: done."
    assert bench.job.phase is Phase.REPAIRING
    assert (bench.job.taken, bench.job.verdict) == (known, odds)
    assert bench.last["answers"] == ["unplugged"], "nobody knows whether it is"
    assert not report(bench).repairs[-1].done_at
    bench.hears("unplugged", "done", "unplugged", "60.1", "works")
    assert bench.job.outcome == "cable-broken"


def test_the_bench_is_not_taken_to_be_as_it_was_when_done_is_taken_back(bench):
    bench.hears(*REPAIRED)
    assert bench.job.power.value == "unknown"
    assert bench.hears("go back")[-1]["type"] == "caution"
    assert bench.hears("unplugged")[-1]["answers"] == ["done", "close"]


def test_readings_of_the_proof_are_taken_back_before_done_is(bench):
    bench.hears("ready", "0", "unplugged", "OL", "enough", "1", "done", "unplugged", "0.3")
    assert bench.job.taken
    told = bench.hears("go back")
    assert said(told)[0].startswith("Taken back: Zero point three ohms")
    assert "odds" not in [m["type"] for m in told], "they tell nothing of a mended bench"
    assert bench.hears("go back")[0]["say"] == "Taken back: done."


def test_an_override_is_taken_back_and_the_proof_goes_on(bench):
    bench.hears(*REPAIRED, "unplugged", "override")
    assert bench.job.phase is Phase.VERIFYING
    told = bench.hears("go back")
    assert said(told)[0] == "Taken back: override."
    bench.hears("unplugged", "60.1")
    assert not report(bench).overrides
    assert bench.hears("works")[-1]["proven"] is True


def test_still_faulty_said_by_a_slip_is_taken_back_to_the_function_test(bench):
    bench.hears(*PROVEN, "still faulty")
    told = bench.hears("go back")
    assert said(told)[0] == "Taken back: still faulty."
    assert bench.last["check"] == "function-test"
    assert bench.hears("works")[-1]["proven"] is True
    assert "works again" in " ".join(customer_page(report(bench)).done)


def test_what_was_taken_back_survives_a_crash(bench):
    bench.hears(*PROVEN, "go back")
    bench.comes_back()
    assert bench.job.proof == ("bus-ohms",)
    assert "bus-ohms" not in bench.job.taken


def test_what_it_was_said_to_be_stays_said_in_its_words(bench):
    bench.hears(*REPAIRED)
    bench.session.apply((ev.OutcomeSet(OTHER, "a cracked via"),))
    bench.hears("go back", "unplugged", "close")
    assert (bench.job.outcome, bench.job.closed.note) == (OTHER, "a cracked via")


BUS = "fernleaf-gh2/field-bus-no-data"
SHORTED = ("fitted", "unplugged", "512", "505", "3", "enough")
STEPS = {
    "an answer at the counter": (FERNLEAF, ("skip", "it got wet")),
    "a question skipped at the counter": (FERNLEAF, ("skip",)),
    "a reading": (FERNLEAF, ("enough", "ready", "12.1")),
    "a reading on an edge": (FERNLEAF, ("enough", "ready", "11.4")),
    "a reading taken once more": (FERNLEAF, ("enough", "ready", "11.4", "11.41")),
    "a reading that waits for a yes": (FERNLEAF, ("enough", "ready", "-12")),
    "a check passed over": (FERNLEAF, ("enough", "ready", "can't reach")),
    "a point of a sweep": (BUS, ("enough", *SHORTED[:4])),
    "a verdict asked for": (FERNLEAF, ("enough", "ready", "12.1", "enough")),
    "a check taken at the verdict": (FERNLEAF, ("enough", *REPAIRED[:4], "take it")),
    "a repair chosen": (FERNLEAF, ("enough", *REPAIRED[:-1])),
    "done": (FERNLEAF, ("enough", *REPAIRED)),
    "a proof that passed": (FERNLEAF, ("enough", *PROVEN)),
    "a proof that failed": (FERNLEAF, ("enough", *PROVEN[:-1], "OL")),
    "an override": (FERNLEAF, ("enough", *REPAIRED, "override")),
    "still faulty": (FERNLEAF, ("enough", *PROVEN, "still faulty")),
    "a bypass that works": (BUS, ("enough", *SHORTED, "2", "done", "unplugged", "500", "works")),
}


@pytest.mark.parametrize("step", STEPS)
def test_whatever_is_taken_back_down_to_the_first_answer_the_disk_tells_the_same_job(step, tmp_path):
    tree, lines = STEPS[step]
    bench = TestBench(tmp_path, tree, intake=app.Intake.FIRST)
    bench.hears(*lines)
    stood, back = bench.job, 0
    while bench.hears("go back")[0]["type"] != "unclear":
        back += 1
        assert fold(opened(bench.job.tree), (r.event for r in bench.store.events("1"))) == bench.job
        assert back < 30, "each going back takes something back"
    assert back
    assert bench.job != stood
    assert not bench.job.taken
