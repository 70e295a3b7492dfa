"""A reading beside the known-good boards of its model, wherever it is told."""

import pytest

from guide import cli
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


def test_what_was_learned_is_listed_with_units_and_for_each_model_alone(bench, tmp_path, monkeypatch, capsys):
    """Boards of another model read otherwise: taken together they would make an interval that fits neither."""
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path))
    bench.store.close()
    for feed, a, b in [("712", "705", "707"), ("714", "706", "708"), ("711", "704", "706")]:
        board = TestBench(tmp_path, FIELD_BUS, device="GH-3", sweep=EVERY_READING)
        board.hears("unplugged", feed, a, b, "120", "fitted", "enough", "enough", "close")
        board.store.close()
    assert cli.run(["trees", "--learned", FIELD_BUS]) == 0
    listed = [line.split() for line in capsys.readouterr().out.splitlines() if "good boards" in line]
    a_drops = [" ".join(words[1:]) for words in listed if words[0] == "a-drop"]
    assert [told.split(",")[0] for told in a_drops] == ["4 good boards of gh-2", "3 good boards of gh-3"]
    lows = [float(told.split(", ")[1].split()[0]) for told in a_drops]
    assert 450 < lows[0] < 505 < 650 < lows[1] < 705
    assert all(told.count(" mV") == 2 for told in a_drops)
