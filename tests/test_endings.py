"""How a job ends: what it is said to have been, what its page tells of the device, and what it teaches."""

import pytest

from guide import app, cli
from guide.core.jobs import events as ev
from guide.core.jobs.coding import from_json
from guide.core.jobs.job import EVERY_READING
from guide.core.report import bench_text, customer_page, report_of
from tests.worlds import FERNLEAF, TestBench, carried_over, shipped_tree

FIELD_BUS = "fernleaf-gh2/field-bus-no-data"
FOUND = ("ready", "12.1", "unplugged", "OL", "enough")
REPAIRED = (*FOUND, "1", "done", "unplugged", "60.1")
SHORTED_LINE = ("fitted", "unplugged", "512", "512", "3", "enough")


def skip_all(bench):
    while bench.last["type"] != "verdict":
        bench.hears("skip")


def lessons(bench):
    return [body for _, _, body in bench.store.lessons(bench.job.tree.id)]


def page(bench):
    return customer_page(report_of(bench.job.tree, bench.store.events(bench.job.id)))


def bench_page(bench):
    return bench_text(report_of(bench.job.tree, bench.store.events(bench.job.id)))


def test_a_job_closed_with_nothing_read_names_no_cause_and_teaches_none(tmp_path):
    bench = TestBench(tmp_path)
    skip_all(bench)
    bench.hears("enough", "close")
    assert bench.last["type"] == "closed"
    assert bench.last["cause"] == ""
    assert "not known" in bench.last["say"]
    assert lessons(bench) == []
    told = page(bench)
    assert told.found == "We have not found the cause."
    assert told.sure == ""


def test_a_leading_cause_that_is_not_settled_is_not_what_it_was(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.1", "enough")
    assert not bench.job.tree.settles(bench.last["p"])
    bench.hears("enough")
    assert page(bench).found.startswith("Not settled yet. Likeliest so far: ")
    bench.hears("close")
    assert page(bench).found.startswith("It was not settled. Likeliest: ")
    assert bench.job.outcome == ""
    assert lessons(bench) == []


def test_a_settled_cause_that_nobody_repaired_is_told_and_does_not_teach(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*FOUND, "close")
    assert bench.last["cause"] == "cable-broken"
    assert lessons(bench) == []
    bench.session.apply((ev.OutcomeSet("cable-broken"),))
    assert [body["cause"] for body in lessons(bench)] == ["cable-broken"]


def test_a_device_that_nobody_tried_is_not_said_to_work(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*REPAIRED, "close")
    assert "not tested" in bench.last["say"]
    told = page(bench)
    assert not any("works" in line for line in told.done)
    assert any("has not been tried" in line for line in told.cautions)
    assert not any("not been proven by readings" in line for line in told.cautions)
    assert "its function not tested" in bench_page(bench)
    assert lessons(bench) == []


def test_what_was_done_is_not_offered_again(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*REPAIRED, "close")
    said = [line for line in page(bench).done if "Remake the end" in line]
    assert said == ["Done: Remake the end or replace the cable."]


def test_a_device_that_works_without_its_proof_teaches_its_cause_and_no_reference(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*FOUND, "1", "done", "override", "works")
    assert any("works again" in line for line in page(bench).done)
    [body] = lessons(bench)
    assert body["cause"] == "cable-broken"
    assert body["good"] == {}


def test_what_a_bypass_has_shown_is_what_it_was_and_teaches(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.hears(*SHORTED_LINE, "2", "done", "unplugged", "500", "works", "close")
    assert bench.last["cause"] == "clamp-b-short"
    assert [body["cause"] for body in lessons(bench)] == ["clamp-b-short"]


def test_a_known_good_board_is_learned_from_though_its_verdict_is_short_of_settled(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS, sweep=EVERY_READING)
    bench.hears("unplugged", "512", "505", "507", "120")
    assert not bench.job.tree.settles(bench.last["p"]) or not bench.last["separable"]
    bench.hears("enough")
    assert bench.last["cause"] == "none"
    [body] = lessons(bench)
    assert set(body["good"]) == {"feed-drop", "a-drop", "b-drop", "bus-ohms"}


def test_a_board_called_good_that_reads_wrong_is_not_closed_as_good(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS, sweep=EVERY_READING)
    bench.hears("unplugged", "512", "505", "3", "120")
    skip_all(bench)
    bench.hears("enough", "close")
    assert bench.last["cause"] == "clamp-b-short"
    assert all(body["good"] == {} for body in lessons(bench))


def test_a_closed_job_without_a_reading_is_written_up(tmp_path, monkeypatch, capsys):
    bench = TestBench(tmp_path)
    skip_all(bench)
    bench.hears("note the case was glued shut", "enough", "close")
    bench.store.close()
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path))
    for whom in ("bench", "customer"):
        assert cli.run(["report", "1", "--for", whom]) == 0
    assert "glued shut" in capsys.readouterr().out
    for form in ("html", "json", "md"):
        assert cli.run(["report", "1", "--to", str(tmp_path / f"r.{form}")]) == 0


@pytest.mark.parametrize("proven", [True, False])
def test_a_job_closed_by_an_earlier_version_worked_where_it_was_proven(proven):
    old = from_json("closed", 1, {"cause": "fuse-open", "note": "", "proven": proven})
    assert old == ev.Closed("fuse-open", proven=proven, works=proven)


def test_causes_told_alike_to_the_customer_are_told_apart_on_the_bench(tmp_path):
    bench = TestBench(tmp_path, FIELD_BUS)
    skip_all(bench)
    bench.hears("enough")
    assert "line B is shorted; or The surge clamp on line A" in bench_page(bench)
    bench = TestBench(tmp_path, FIELD_BUS)
    bench.session.apply((
        ev.VerdictGiven("clamp-a-short", 0.96, ("clamp-a-short", "clamp-b-short"), (), separable=False),
        ev.VerdictAccepted(),
    ))  # fmt: skip
    said = page(bench).found
    assert said.count("took a surge") <= 1


def test_an_imported_job_keeps_how_it_ended(tmp_path, monkeypatch):
    bench = TestBench(tmp_path / "here")
    bench.hears(*FOUND, "1", "done", "override", "works")
    bench.store.close()
    there = carried_over(tmp_path, monkeypatch)
    assert app.load(there, "1").closed.works
    assert len(there.lessons(FERNLEAF)) == 1
    there.close()


def test_a_rail_is_proven_by_whatever_a_good_one_of_its_kind_reads(tmp_path):
    """A drifted divider is mended on a board of 3.3 V as on one of 5 V."""
    tree, text = shipped_tree("power/dc-input-no-power")
    for volts, passed in (("3.3", True), ("5.0", True), ("4.2", False)):
        bench = TestBench(tmp_path, tree=tree, text=text)
        bench.session.apply((ev.VerdictGiven("feedback-top-high", 0.95, ("feedback-top-high",), (), True),))
        bench.hears("enough", "1", "unplugged", "done")
        while bench.last.get("check") != "rail-one-volts":
            bench.hears(bench.last["answers"][0])
        bench.hears(f"{volts} volts")
        assert [m["passed"] for m in bench.said if m["type"] == "prove" and "passed" in m] == [passed]


@pytest.mark.parametrize(("said", "closes"), [
    ("works", True), ("it works", True), ("yes", True),
    ("faulty", False), ("still faulty", False), ("no", False),
])  # fmt: skip
def test_the_function_test_is_answered_in_the_words_it_asks_with(tmp_path, said, closes):
    bench = TestBench(tmp_path)
    bench.hears(*REPAIRED)
    assert bench.last["say"].endswith(": works, or faulty?")
    bench.hears(said)
    assert (bench.job.closed is not None) is closes
    assert bench.job.verdict is None or closes


def test_a_spoken_close_of_an_unsettled_job_is_taken_elsewhere(tmp_path, monkeypatch):
    bench = TestBench(tmp_path / "here")
    bench.hears("ready", "12.1", "enough", "enough")
    bench.hears("close", spoken=True)
    bench.hears("yes", spoken=True)
    assert bench.job.closed.cause == ""
    bench.store.close()
    carried_over(tmp_path, monkeypatch).close()


@pytest.mark.parametrize(("cause", "note"), [("fuse-open", "seen under the microscope"), ("other", "cracked via")])
@pytest.mark.parametrize("said", [(), ("1", "done", "unplugged", "60.1")])
def test_what_the_technician_said_it_was_stands_when_the_job_is_closed_later(tmp_path, cause, note, said):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.1", "unplugged")
    bench.session.apply((ev.OutcomeSet(cause, note),))
    bench.hears("OL", "enough", *said, "close")
    assert (bench.job.outcome, bench.job.outcome_note) == (cause, note)
    assert [body["cause"] for body in lessons(bench)] == [cause]
    [listed] = bench.store.jobs()
    assert listed.outcome.startswith(cause)


def test_a_job_that_is_open_is_not_reported_closed_because_it_is_known_what_it_was(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.1", "unplugged")
    bench.session.apply((ev.OutcomeSet("fuse-open", "seen under the microscope"),))
    report = report_of(bench.job.tree, bench.store.events("1"))
    text = bench_text(report)
    assert "Still open. What it was, as said " in text
    assert "Closed " not in text
    assert customer_page(report).state == "still open"


def test_a_corrected_outcome_does_not_move_the_time_the_job_was_closed(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*FOUND, "close")
    closed = bench.store.events("1")[-1].at
    bench.session.clock = lambda: "2031-01-12T09:00:00+00:00"
    bench.session.apply((ev.OutcomeSet("fuse-open"),))
    ending = report_of(bench.job.tree, bench.store.events("1")).ending
    assert (ending.at, ending.outcome) == (closed, "fuse-open")


def test_a_proven_repair_stands_over_what_was_said_before(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.1", "unplugged")
    bench.session.apply((ev.OutcomeSet("fuse-open", ""),))
    bench.hears("OL", "enough", "1", "done", "unplugged", "60.1", "works")
    assert bench.job.outcome == "cable-broken"
