"""Coming back, `where are we` and `why`: the state of the job at any stage, in the words of the bench."""

import pytest

from guide.core.jobs import events as ev
from guide.core.jobs.wording import place_alone
from guide.core.report import customer_page, report_of
from tests.worlds import TestBench

FIELD_BUS = "fernleaf-gh2/field-bus-no-data"
SHORTED_LINE = ("fitted", "unplugged", "512", "505", "3", "enough")
CLAMP, BYPASS = "Fit clamp part 0533 on line B", "Leave the clamp off line B"


@pytest.fixture
def bench(tmp_path):
    return TestBench(tmp_path, FIELD_BUS)


def both(bench):
    """What is told on coming back and to `where are we`."""
    return bench.comes_back()[0]["say"], bench.hears("where are we")[0]["say"]


def test_answers_given_and_checks_left_are_told(bench):
    bench.hears("fitted", "unplugged", "512")
    for said in both(bench):
        assert "2 answers so far, 6 checks left." in said


def test_a_repair_in_hand_is_told(bench):
    bench.hears(*SHORTED_LINE, "1")
    for said in both(bench):
        assert f"Chosen: {CLAMP}." in said
        assert "Leading: The surge clamp on line B is shorted" in said


def test_a_repair_being_proven_is_told_and_no_odds_of_the_mended_bench(bench):
    bench.hears(*SHORTED_LINE, "1", "done")
    for said in both(bench):
        assert "4 answers so far. " in said
        assert f"Done: {CLAMP}. To be proven, 1 reading left." in said
        assert "Leading" not in said
    assert [m["type"] for m in bench.hears("where are we")] == ["told"]


def test_a_proof_on_an_edge_still_has_its_reading_left(bench):
    bench.hears(*SHORTED_LINE, "1", "done", "unplugged", "300")
    assert bench.last["retake"]
    for said in both(bench):
        assert "To be proven, 1 reading left." in said


@pytest.mark.parametrize(("proof", "said"), [
    ("500", "The readings after it are good, the function test is left."),
    ("override", "Its proof was passed over, the function test is left."),
])  # fmt: skip
def test_a_function_test_that_waits_is_told_with_what_was_done(bench, proof, said):
    bench.hears(*SHORTED_LINE, "1", "done", "unplugged", proof)
    for told in (*both(bench), bench.hears("why")[0]["say"]):
        assert f"Done: {CLAMP}. {said}" in told
        assert "Leading" not in told


def test_what_a_bypass_has_shown_is_told_while_a_lasting_repair_is_chosen(bench):
    bench.hears(*SHORTED_LINE, "2", "done", "unplugged", "500", "works")
    for said in both(bench):
        assert "The bypass has shown it: The surge clamp on line B is shorted." in said
        assert "Leading" not in said


def test_a_repair_that_did_not_cure_it_is_told_with_the_odds_of_now(bench):
    bench.hears(*SHORTED_LINE, "2", "done", "unplugged", "3")
    for said in both(bench):
        assert f"Done without success: {BYPASS}." in said
        assert "Leading" in said


def test_a_fault_that_outlives_its_proven_repair_is_told_so(bench):
    bench.hears(*SHORTED_LINE, "1", "done", "unplugged", "500", "still faulty")
    for said in both(bench):
        assert f"Done without success: {CLAMP}." in said


def test_causes_of_no_account_are_not_among_the_leading(bench):
    bench.hears("fitted", "unplugged", "512", "505", "3", "take it", "unplugged", "120")
    assert " 0 percent" not in bench.hears("where are we")[0]["say"]


def test_old_readings_are_taken_again_only_while_the_cause_is_looked_for(bench):
    bench.hears("fitted", "unplugged", "512", "505")
    said = bench.comes_back(at="2026-01-07T09:00:00+00:00")[0]["say"]
    assert "3 of them are old and are taken again where it matters." in said
    bench.hears("unplugged", "3")
    while bench.last["type"] != "verdict":
        bench.hears({"a-drop": "505", "clamps-seen": "fitted"}.get(bench.last.get("check", ""), "512"))
    assert "old." in (said := bench.comes_back(at="2026-01-09T09:00:00+00:00")[0]["say"])
    assert "taken again" not in said


def test_a_pair_that_is_apart_is_what_the_verdict_rests_on_and_is_not_called_good(bench):
    bench.hears("fitted", "unplugged", "512", "505", "600")
    assert bench.last["cause"] == "transceiver-dead"
    assert bench.hears("why")[0]["say"].startswith("It rests most on: Bus A against bus B: 95 mV apart; ")
    for said in both(bench):
        assert "Not as in a good unit: Bus A against bus B: 95 mV apart." in said
        assert "Each by itself" not in said


def test_the_customer_reads_which_points_a_pair_compares(bench):
    bench.hears("fitted", "unplugged", "512", "505", "600")
    page = customer_page(report_of(bench.job.tree, bench.store.events("1")))
    assert page.how[0] == "Bus A against bus B: 95 mV apart. In a sound unit: below 50 mV."


def test_a_proof_passed_over_does_not_taint_the_repair_after_it(bench):
    bench.hears(*SHORTED_LINE, "1", "done", "unplugged", "override", "still faulty")
    bench.session.apply((ev.VerdictGiven("clamp-b-short", 0.95, ("clamp-b-short",), (), separable=True),))
    bench.hears("enough", "1", "unplugged", "done", "unplugged", "500", "works")
    assert bench.last["proven"]
    page = customer_page(report_of(bench.job.tree, bench.store.events("1")))
    assert not any("without that proof" in line for line in page.cautions)


@pytest.mark.parametrize(
    ("ask", "place"),
    [
        ("Diode mode, red on ground. Bus B.", "Bus B"), ("Ohms. Rail to ground.", "Rail to ground"),
        ("Volts D C, pin to ground.", "Pin to ground"), ("Ohms across the coil.", "Ohms across the coil"),
        ("Diode. Red source lead, black load side. Unplugged.", "Red source lead, black load side. Unplugged"),
        ("Each string in turn. Lowest volts.", "Each string in turn. Lowest volts"), ("Ohms.", "Ohms"),
    ],
)  # fmt: skip
def test_a_reading_is_told_by_its_place_and_its_unit_tells_the_mode(ask, place):
    assert place_alone(ask) == place
