"""A job goes on with a newer version of its tree: what was read is placed in its bands, loudly, and nothing is lost."""

import pytest

from guide import app
from guide.core.errors import BadInput
from guide.core.jobs.adopting import placed_anew
from guide.core.report import bench_text, customer_page, report_of
from guide.edge.trees import treefile
from tests.worlds import FERNLEAF, TestBench, shipped_tree

_, TEXT = shipped_tree(FERNLEAF)
NARROWED = (
    TEXT.replace("low: 1 V to 11.4 V", "low: 1 V to 11.0 V")
    .replace("good: 11.4 V to 12.6 V", "good: 11.0 V to 11.9 V")
    .replace("high: 12.6 V and up", "high: 11.9 V and up")
)  # fmt: skip
# A band of a check that leads to the repair goes by another name.
RENAMED = (
    TEXT.replace("none: 132 ohm and up or OL", "gone: 132 ohm and up or OL")
    .replace("[lone, none]", "[lone, gone]")
    .replace("none: cable-broken}", "gone: cable-broken}")
)  # fmt: skip
REPAIRED = ("ready", "12.3", "unplugged", "OL", "enough", "1", "done")
WORDED = TEXT.replace("Ohms, terminal A to terminal B.", "Ohms, terminal A against B.")


def adopts(bench, text):
    newer = treefile.read(text, "newer.yaml", FERNLEAF), text
    bench.session, told = app.resume(
        bench.store, bench.job.id, newer=newer, clock=lambda: "2026-01-05T10:00:00+00:00"
    )
    bench.said += told
    return told


def report(bench):
    return report_of(bench.job.tree, bench.store.events(bench.job.id))


def test_a_reading_that_falls_into_another_band_is_told_and_counts_there(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.3")
    assert bench.job.taken["feed-volts"].band == "good"
    told = adopts(bench, NARROWED)
    placed = [m["say"] for m in told if m["say"].startswith("Placed anew")]
    assert placed == ["Placed anew: J four, pin one to pin two: 12.3 V, high; it was good."]
    assert bench.job.taken["feed-volts"].band == "high"
    assert bench.last["type"] == "caution", "the standing check came of the old band; the planner goes on from the new"
    assert bench.job.chosen_by == "plan"


def test_it_is_told_once_and_stays_through_the_next_return(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.3")
    adopts(bench, NARROWED)
    assert not any("Placed anew" in m["say"] for m in bench.comes_back())
    assert bench.job.taken["feed-volts"].band == "high"
    assert app.load(bench.store, "1").taken == bench.job.taken


def test_a_verdict_that_rested_on_the_old_band_falls(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.3", "unplugged", "OL")
    assert bench.last["cause"] == "cable-broken"
    adopts(bench, NARROWED)
    assert bench.job.verdict is None
    assert bench.last["type"] == "caution", "another check is asked first"
    assert [v.fate for v in report(bench).verdicts] == ["taken back"]
    assert customer_page(report(bench)).found == "We have not found the cause yet."


def test_the_bench_report_shows_the_band_it_counts_with_and_the_one_before(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.3")
    adopts(bench, NARROWED)
    [row] = report(bench).rows
    assert (row.band, row.normal) == ("high", False)
    assert "placed anew, high and not good" in bench_text(report(bench))


def test_new_words_place_nothing_anew(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.3", "unplugged")
    told = adopts(bench, WORDED)
    assert not any("Placed anew" in m["say"] for m in told)
    bench.hears("unplugged")
    assert bench.last["say"] == "Ohms, terminal A against B."


@pytest.mark.parametrize("said", [
    ("ready", "12.1", "unplugged", "OL"), ("ready", "11.4", "11.41"), ("ready", "about 11.4", "OL"), ("ready", "OL"),
])  # fmt: skip
def test_on_its_own_tree_no_reading_of_a_job_is_placed_anew(tmp_path, said):
    bench = TestBench(tmp_path)
    bench.hears(*said)
    assert bench.job.taken
    assert placed_anew(bench.job) == ()


def test_a_tree_without_the_repair_in_hand_is_not_adopted(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.1", "unplugged", "OL", "enough", "1")
    other = TEXT.replace("do: Remake the end or replace the cable", "do: Replace the cable")
    with pytest.raises(BadInput, match="no place for the repair `Remake the end"):
        adopts(bench, other)
    assert bench.job.repair is not None


def test_a_proof_under_way_keeps_its_repair(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "0.1", "unplugged", "OL", "enough", "1", "done", "unplugged", "0.3", "ready", "12.3")
    assert bench.job.phase == "verifying"
    adopts(bench, NARROWED)
    assert bench.job.repair is not None
    assert bench.job.taken["feed-volts"].band == "high"
    assert "Not as in a good unit" in next(m["say"] for m in bench.said[::-1] if m.get("say", "").startswith("Back on"))


def test_a_reading_that_would_count_again_once_done_is_taken_back_needs_its_home_too(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*REPAIRED)
    assert not bench.job.taken
    with pytest.raises(BadInput, match="no place for bus-ohms"):
        adopts(bench, RENAMED)


def test_a_reading_that_counts_again_is_placed_in_the_bands_of_the_tree_adopted_since(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*REPAIRED)
    assert not any("Placed anew" in m.get("say", "") for m in adopts(bench, NARROWED))
    said = [m.get("say", "") for m in bench.hears("go back")]
    assert said[:2] == [
        "Taken back: done.", "Placed anew: J four, pin one to pin two: 12.3 V, high; it was good.",
    ]  # fmt: skip
    assert (bench.job.taken["feed-volts"].band, bench.job.repair) == ("high", None)
    assert app.load(bench.store, "1") == bench.job
    assert report(bench).verdict is None
