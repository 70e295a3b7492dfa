"""A proof reading that was taken back leads into the proof again: the repair stays done, and the verdict behind it."""

import pytest

from guide.core.report import bench_text, report_of
from tests.worlds import TestBench

FIELD_BUS = "fernleaf-gh2/field-bus-no-data"
FUSE_FITTED = ("ready", "0.1", "unplugged", "OL", "enough", "1", "done", "unplugged", "0.3")
CLAMP_FITTED = ("fitted", "unplugged", "512", "512", "3", "enough", "1", "done", "unplugged")
CLAMP_LEFT_OFF = ("fitted", "unplugged", "512", "512", "3", "enough", "2", "done", "unplugged")


def report(bench):
    return report_of(bench.job.tree, bench.store.events(bench.job.id))


def test_between_two_readings_of_a_proof_the_cause_is_not_forgotten(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*FUSE_FITTED, "go back")
    assert (bench.last["check"], bench.last["proof"]) == ("fuse-ohms", True)
    assert "proves this repair" in bench.hears("why")[0]["say"]
    bench.hears("0.2", "ready", "12", "works")
    assert (bench.last["type"], bench.last["cause"], bench.last["proven"]) == ("closed", bench.job.verdict.cause, True)
    told = report(bench)
    assert told.verdict is not None
    assert told.verdict.fate == "accepted"
    assert "taken back" not in [p.label for p in told.odds]


def test_no_odds_are_told_in_the_middle_of_a_proof(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*FUSE_FITTED)
    assert "odds" not in [m["type"] for m in bench.hears("go back")]


def test_a_bypass_stays_a_bypass(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.hears(*CLAMP_LEFT_OFF, "500", "go back", "unplugged", "510")
    assert bench.last["check"] == "function-test"
    assert "close" not in bench.last["answers"]
    bench.hears("works")
    assert bench.last["type"] == "repair"
    assert bench.job.closed is None


def test_at_the_function_test_a_mistyped_reading_can_be_taken_back(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.hears(*CLAMP_FITTED, "500", "go back")
    assert bench.last["type"] == "caution", "it was to be put together meanwhile"
    bench.hears("unplugged", "30")
    assert [m for m in bench.said if m["type"] == "prove"][-1]["passed"] is False
    assert "proof failed" in bench_text(report(bench))


def test_a_proof_that_failed_by_a_slip_is_taken_again_and_passes(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.hears(*CLAMP_FITTED, "5")
    assert bench.job.repair is None
    bench.hears("go back")
    assert (bench.last["check"], bench.last["proof"]) == ("b-drop", True)
    bench.hears("500", "works")
    assert (bench.last["cause"], bench.last["proven"]) == ("clamp-b-short", True)
    told = report(bench)
    assert [v.fate for v in told.verdicts] == ["accepted"]
    assert [(r.proof, r.function) for r in told.repairs] == [("passed", "works")]


def test_a_proof_that_fails_over_days_names_every_reading_and_takes_the_old_one_again(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*FUSE_FITTED[:-1], "OL")
    bench.comes_back(at="2026-01-12T09:00:00+00:00")
    failed = next(m for m in bench.hears("ready", "0.1") if m["type"] == "prove")
    assert failed["checks"] == ["fuse-ohms", "feed-volts"]
    assert "OL, open" in failed["say"]
    assert "100 mV, dead" in failed["say"]
    assert (bench.job.chosen, bench.job.chosen_by) == ("fuse-ohms", "stale")


def test_what_must_be_seen_to_prove_a_repair_is_not_offered_as_unseen(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    assert "can't see" in bench.last["answers"]
    bench.hears("torn off", "enough", "enough", "1", "unplugged", "done")
    assert (bench.last["check"], bench.last["proof"]) == ("clamps-seen", True)
    assert "can't see" not in bench.last["answers"]
    assert "proves the repair" in bench.hears("can't see")[0]["say"]


def test_back_past_a_verdict_given_since_the_proof_failed(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.hears(*CLAMP_FITTED, "5", "enough")
    assert bench.last["type"] == "verdict"
    bench.hears("go back")
    assert bench.last["proof"]
    bench.hears("500", "works")
    assert bench.last["proven"]
    assert [v.fate for v in report(bench).verdicts] == ["accepted", "taken back"]


def test_answers_since_the_proof_are_taken_back_one_by_one_before_it(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.hears(*CLAMP_FITTED, "5", "skip", "go back")
    assert "proof" not in bench.last
    bench.hears("go back")
    assert bench.last["proof"]


@pytest.mark.parametrize("ended", ["still faulty", "works"])
def test_what_the_function_test_said_stands(tmp_path, ended):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.hears(*CLAMP_FITTED, "500", ended)
    bench.hears("go back")
    assert not bench.job.proof


def test_a_shown_cause_is_forgotten_with_the_reading_that_led_to_it_and_shown_again(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.hears(*CLAMP_LEFT_OFF, "500", "works")
    assert bench.job.shown
    bench.hears("go back")
    assert not bench.job.shown
    bench.hears("unplugged", "500", "works")
    assert bench.job.shown == "clamp-b-short"


def test_coming_back_in_between_changes_nothing(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.hears(*CLAMP_FITTED, "5")
    bench.comes_back()
    bench.hears("go back")
    bench.comes_back()
    bench.hears("unplugged", "500", "works")
    assert (bench.last["cause"], bench.last["proven"]) == ("clamp-b-short", True)
