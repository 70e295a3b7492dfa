"""A job keeps the meter each reading was taken with: another one on the bench changes nothing that was read."""

from dataclasses import replace
from math import inf

import pytest

from guide import app
from guide.core.errors import StoreError
from guide.core.jobs import events as ev
from guide.core.jobs.adopting import placed_anew
from guide.core.jobs.coding import from_json, to_json
from guide.core.jobs.evidence import evidence
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.core.report import report_of
from tests.worlds import TestBench, carried_over

FIELD_BUS = "fernleaf-gh2/field-bus-no-data"
_DIODE = HANDHELD.modes[Measure.DIODE]
COARSE = replace(HANDHELD, name="coarse", modes={**HANDHELD.modes, Measure.DIODE: replace(_DIODE, percent=10.0)})
NULLED = HANDHELD.nulled(0.5)


def back_with(bench, meter):
    bench.session, told = app.resume(
        bench.store, bench.job.id, meter=meter, clock=lambda: "2026-01-05T10:00:00+00:00"
    )
    bench.said += told


def report(bench, meter=HANDHELD):
    return report_of(bench.job.tree, bench.store.events(bench.job.id), meter=meter)


@pytest.mark.parametrize("meter", [HANDHELD, COARSE, NULLED, replace(HANDHELD, modes={})])
def test_a_meter_comes_back_from_the_log_as_it_went_in(meter):
    event = ev.MeterUsed(meter)
    assert from_json(event.kind, event.v, to_json(event)) == event


@pytest.mark.parametrize("wrong", [
    {"tops": []}, {"tops": [2.0, 1.0]}, {"tops": [0.0]}, {"display_counts": 0}, {"percent": -1.0}, {"percent": "1"},
    {"counts": inf}, {"signed": 1}, {"compliance_v": -1.0},
])  # fmt: skip
def test_a_meter_that_cannot_be_is_a_damaged_event(wrong):
    body = to_json(ev.MeterUsed(HANDHELD))
    body["meter"]["modes"]["diode"] |= wrong
    with pytest.raises(StoreError, match="damaged"):
        from_json("meter_used", 1, body)


def test_the_report_of_a_job_does_not_change_with_the_next_meter(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.hears("fitted", "unplugged", "512")
    assert report(bench, COARSE) == report(bench)
    assert report(bench, COARSE).meter == HANDHELD.name


def test_each_reading_is_told_with_the_error_of_its_own_meter(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.hears("fitted", "unplugged", "512")
    back_with(bench, COARSE)
    bench.hears("unplugged", "512")
    told = report(bench)
    fine, coarse = (row.error for row in told.rows if row.measure == "diode")
    assert coarse > 5 * fine
    assert told.meter == f"{HANDHELD.name}, then coarse"


def test_a_job_loaded_with_another_meter_on_the_bench_has_the_same_odds(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.hears("fitted", "unplugged", "512", "505", "560")
    again = app.load(bench.store, "1", meter=COARSE)
    assert evidence(again) == evidence(bench.job)
    assert again.meter == HANDHELD


def test_a_pair_is_compared_with_the_errors_of_both_its_meters(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.hears("fitted", "unplugged", "512", "505")
    back_with(bench, COARSE)
    bench.hears("unplugged", "560")
    [mixed] = [e for e in evidence(bench.job) if e.check == "a-b-apart"]
    fine = TestBench(tmp_path, FIELD_BUS)
    fine.hears("fitted", "unplugged", "512", "505", "560")
    [both] = [e for e in evidence(fine.job) if e.check == "a-b-apart"]
    assert both.weights["apart"] > mixed.weights["apart"] > 0.5


def test_the_same_meter_is_noted_once(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.comes_back()
    bench.comes_back()
    assert sum(r.event.kind == "meter_used" for r in bench.store.events("1")) == 1


def test_taking_back_done_keeps_the_meter_that_is_on_the_bench_now(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.1", "unplugged", "OL", "enough", "1", "done")
    back_with(bench, COARSE)
    bench.hears("go back")
    assert bench.job.phase == "repairing"
    assert bench.job.meter == COARSE


def test_leads_nulled_later_place_no_earlier_reading_anew(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "0.1", "unplugged", "2.1")
    assert "fuse-ohms" in bench.job.taken
    back_with(bench, NULLED)
    assert bench.job.meter == NULLED
    assert placed_anew(bench.job) == ()


def test_an_imported_job_keeps_its_meter(tmp_path, monkeypatch):
    bench = TestBench(tmp_path / "here", FIELD_BUS, meter=COARSE)
    bench.hears("fitted", "unplugged", "512", "hold")
    before = report(bench)
    bench.store.close()
    there = carried_over(tmp_path, monkeypatch)
    assert report_of(bench.job.tree, there.events("1")).rows == before.rows
    there.close()
