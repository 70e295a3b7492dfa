"""A reading beside the known-good boards of its model, wherever it is told."""

import pytest

from guide.core.jobs.job import EVERY_READING
from guide.core.report import bench_text, customer_page, report_of
from guide.edge.screen.facts import last_reading
from tests.worlds import TestBench

FIELD_BUS = "fernleaf-gh2/field-bus-no-data"
GOOD = [("512", "505", "507"), ("514", "506", "508"), ("511", "504", "506"), ("513", "506", "507")]
EARLIER = ("fitted", "unplugged", "512", "505")


@pytest.fixture
def bench(tmp_path):
    for feed, a, b in GOOD:
        board = TestBench(tmp_path, FIELD_BUS, device="GH-2", sweep=EVERY_READING)
        board.hears("unplugged", feed, a, b, "120", "enough")
        assert board.last["say"].endswith("Its readings count as those of a good board.")
        board.store.close()
    return TestBench(tmp_path, FIELD_BUS, device="gh-2")


def report(bench):
    return report_of(bench.job.tree, bench.store.events(bench.job.id))


def test_a_reading_unlike_them_is_told_with_what_they_read(bench):
    told = bench.hears(*EARLIER, "560")
    assert told[0]["unlike"]
    assert not told[0]["borderline"]
    row = report(bench).rows[-1]
    assert (row.band, row.normal, row.borderline) == ("drop", False, False)
    assert row.boards == "485 mV to 529 mV"
    assert "good boards of this model read 485 mV to 529 mV" in bench_text(report(bench))


def test_the_customer_does_not_read_that_it_is_as_in_a_sound_unit(bench):
    bench.hears(*EARLIER, "560")
    [line] = [said for said in customer_page(report(bench)).how if "560 mV" in said]
    assert line == "Diode mode, red on ground. Bus B: 560 mV. In a sound unit: 485 mV to 529 mV."


def test_where_are_we_and_coming_back_name_it(bench):
    bench.hears(*EARLIER, "560")
    for said in (bench.hears("where are we")[0]["say"], bench.comes_back()[0]["say"]):
        assert "Bus B: 560 mV, drop, unlike good boards of this model" in said
        assert "Each by itself" not in said


def test_the_screen_calls_it_not_usual_and_not_near_an_edge(bench):
    bench.hears(*EARLIER, "560")
    last = last_reading(bench.job)
    assert (last.band, last.verdict, last.on_edge, last.usual) == ("drop", "NOT USUAL", False, "485 mV to 529 mV")


@pytest.mark.parametrize("value", ["507", "510"])
def test_a_reading_like_them_is_told_as_ever(bench, value):
    bench.hears(*EARLIER, value)
    row = report(bench).rows[-1]
    assert (row.boards, row.normal) == ("", True)
    assert last_reading(bench.job).verdict == "usual"
