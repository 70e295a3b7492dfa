"""A closed job is not opened again: words that close it unproven, where they were only heard, wait for a yes."""

import pytest

from guide.core.jobs.phases import Phase
from guide.core.report.customer import customer_page
from guide.core.report.gather import report_of
from guide.core.report.markdown import customer_text
from guide.edge.screen.facts import headline
from tests.worlds import TestBench

TO_THE_VERDICT = ("ready", "12.1", "unplugged", "OL")
STAGES = {
    "verdict": TO_THE_VERDICT,
    "options": (*TO_THE_VERDICT, "enough"),
    "repair in hand": (*TO_THE_VERDICT, "enough", "1"),
    "function test": (*TO_THE_VERDICT, "enough", "1", "done", "unplugged", "60.1"),
}
SAID = "something else, ants in the junction box"


@pytest.fixture(params=STAGES)
def bench(request, tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*STAGES[request.param])
    return bench


def test_a_spoken_something_else_is_read_back_and_closes_only_after_a_yes(bench):
    told = bench.hears(SAID, spoken=True)
    assert [m["type"] for m in told] == ["confirm"]
    assert told[0]["say"] == "Close it, not proven: ants in the junction box. Yes?"
    assert headline(bench.job).what == "CLOSE IT ?"
    closed = bench.hears("yes", spoken=True)[-1]
    assert (closed["type"], closed["cause"], closed["proven"]) == ("closed", "other", False)
    assert "ants in the junction box" in closed["say"]


@pytest.mark.parametrize("slip", ["no", "scratch that", "go back"])
def test_a_slip_of_the_tongue_closes_nothing_and_the_question_stands_again(bench, slip):
    stood = bench.last
    bench.hears(SAID, spoken=True)
    told = bench.hears(slip, spoken=True)
    assert told[0]["say"] == "Not closed."
    assert told[-1] == stood
    assert not bench.job.closed


def test_what_was_misheard_is_said_again_in_place_of_no(bench):
    bench.hears(SAID, spoken=True)
    told = bench.hears("something else, rust in the junction box", spoken=True)
    assert told[-1]["say"] == "Close it, not proven: rust in the junction box. Yes?"


def test_other_words_do_not_close_and_are_told_what_would(bench):
    bench.hears(SAID, spoken=True)
    assert bench.hears("enough", spoken=True)[-1]["say"] == "That is no answer here. Say yes, or no."
    assert bench.hears("repeat", spoken=True)[-1]["type"] == "confirm"
    assert not bench.job.closed


def test_what_is_typed_is_meant_and_closes_at_once(bench):
    assert bench.hears(SAID)[-1]["type"] == "closed"


def test_a_closing_that_was_never_answered_is_forgotten_over_night(bench):
    phase = bench.job.phase
    bench.hears(SAID, spoken=True)
    told = bench.comes_back()
    assert told[-1]["type"] != "confirm"
    assert bench.job.phase is phase
    assert bench.hears("yes")[-1]["type"] != "closed" or phase is Phase.VERIFYING


def test_a_spoken_close_says_what_the_job_would_be_closed_as(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*STAGES["options"])
    told = bench.hears("close", spoken=True)
    assert told[-1]["say"] == "Close it, not proven: The bus cable is broken between A and B. Yes?"
    bench.hears("no", "close")
    assert bench.job.phase is Phase.CLOSED


@pytest.mark.parametrize(("said", "works"), [("works", True), ("close", False), (SAID, False)])
def test_only_a_device_that_was_said_to_work_is_reported_to_work(tmp_path, said, works):
    bench = TestBench(tmp_path)
    bench.hears(*STAGES["function test"], said)
    report = report_of(bench.job.tree, bench.store.events("1"), meter=bench.job.meter)
    assert (report.repairs[-1].function == "works") is works
    assert ("works again" in customer_text(customer_page(report))) is works


@pytest.mark.parametrize("words", ["skip", "don't know", "can't reach"])
def test_a_function_test_that_cannot_be_skipped_says_what_it_takes(tmp_path, words):
    bench = TestBench(tmp_path)
    bench.hears(*STAGES["function test"])
    say = bench.hears(words, spoken=True)[-1]["say"]
    assert say == "This step cannot be skipped. Say works, still faulty, or close."
