"""What a report tells of a job, in Markdown and JSON; both against golden files for the demo job."""

import json
import os
from dataclasses import replace
from decimal import Decimal
from io import BytesIO, TextIOWrapper
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings, strategies as st

from guide import app
from guide.core.intent import Unclear, Utterance
from guide.core.jobs import events as ev
from guide.core.jobs.deciding import decide
from guide.core.jobs.folding import fold
from guide.core.jobs.phases import Phase
from guide.core.jobs.weighing import beliefs_of
from guide.core.meter import HANDHELD
from guide.core.quantity import Quantity, Unit
from guide.core.reading import Answered, Band, Measured, OverRange, placed
from guide.core.report import bench_text, customer_page, customer_text, document_of, report_of
from guide.core.report.model import Stage, Standing
from guide.core.report.readings import beside
from guide.core.report.strips import in_order, place, strip_of
from guide.core.report.wording import percent, tidy
from guide.core.tree import OTHER
from guide.edge.fakes import Technician
from guide.edge.terminal import Lines
from tests.reports import (
    answer_all,
    hostile_report,
    line_bench,
    line_tree,
    long_report,
    recorded,
    report_of_bench,
)
from tests.test_job_laws import answers_to, start
from tests.worlds import TestBench, random_trees

GOLDEN = Path(__file__).parent / "golden" / "report"


@pytest.fixture
def bench(tmp_path):
    return line_bench(tmp_path)


def demo_report(home):
    """The job `guide demo` plays, at a clock that stands still."""
    bench = TestBench(home)
    technician = Technician(bench.job.tree, "cable-broken", seed=1)
    while bench.job.closed is None:
        bench.said += bench.session.hear(Utterance(technician.answer(bench.last)))
    return report_of_bench(bench)


def golden(name: str, got: str) -> None:
    """Compare with the golden file; GUIDE_GOLDEN=write writes it, and then it is to be read."""
    path = GOLDEN / name
    if os.environ.get("GUIDE_GOLDEN") == "write":
        path.write_text(got, encoding="utf-8")
    assert got == path.read_text(encoding="utf-8")


def test_the_demo_job_reports_as_its_golden_files_say(tmp_path):
    report = demo_report(tmp_path)
    golden("demo-bench.md", bench_text(report))
    golden("demo-customer.md", customer_text(customer_page(report)))
    golden("demo-bench.json", json.dumps(document_of(report), ensure_ascii=False, indent=1) + "\n")
    golden("demo-customer.json", json.dumps(document_of(customer_page(report)), ensure_ascii=False, indent=1) + "\n")


def test_every_reading_is_there_in_order_with_what_became_of_it(bench):
    bench.hears("ready", "5.02", "go back", "5.3", "5.04")
    answer_all(bench)
    rows = report_of_bench(bench).rows
    taken = [r.event for r in bench.store.events("1") if isinstance(r.event, ev.ReadingTaken)]
    assert [r.check for r in rows] == [e.check for e in taken]
    assert [r.number for r in rows] == list(range(1, len(taken) + 1))
    assert rows[0].standing is Standing.WITHDRAWN
    assert rows[-1].standing is Standing.COUNTS
    assert all(r.stage is Stage.FINDING for r in rows)


def test_a_repeat_on_an_edge_keeps_both_takes(bench):
    bench.hears("ready", "5.251", "5.251")
    rows = report_of_bench(bench).rows
    assert [r.standing for r in rows] == [Standing.REPEATED, Standing.COUNTS]
    assert rows[0].borderline


def test_the_odds_told_are_those_of_the_job_at_that_moment(bench):
    """The second way: the same beliefs asked of the live job after each answer."""
    live = [dict(beliefs_of(bench.job))]
    for words in ("ready", "5.02", "unplugged"):
        before = len(bench.job.taken)
        bench.hears(words)
        if len(bench.job.taken) > before:
            live.append(dict(beliefs_of(bench.job)))
    told = report_of_bench(bench).odds
    assert len(told) == len(live)
    for point, beliefs in zip(told, live, strict=True):
        for cause, p in point.chances:
            assert p == pytest.approx(beliefs[cause], abs=1e-6)


def test_a_bypass_a_repair_and_an_override_are_told_apart(bench):
    answer_all(bench)
    bench.hears("enough")
    bench.hears("1")  # the bypass
    if bench.last["type"] == "caution":
        bench.hears("unplugged")
    bench.hears("done", "unplugged", "0.51", "works")
    assert bench.hears("1")[-1]["type"] == "caution", "the function test powered it up: no repair before it is off"
    bench.hears("unplugged", "done")
    while bench.last["type"] == "caution":
        bench.hears(bench.last["answers"][0])
    bench.hears("override", "works")
    report = report_of_bench(bench)
    bypass, lasting = report.repairs
    assert (bypass.option.bypass, bypass.proof, bypass.function) == (True, "passed", "works")
    assert (lasting.option.bypass, lasting.proof, lasting.function) == (False, "overridden", "works")
    assert len(report.overrides) == 1
    assert not report.ending.proven
    page = customer_page(report)
    assert any("without that proof" in c for c in page.cautions)
    assert "no lasting repair" in page.done[0]


def test_a_cause_short_of_a_verdict_is_told_to_nobody_as_what_it_was(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.1", "enough", "enough")
    report = report_of_bench(bench)
    assert report.verdict.p < bench.job.tree.decide_at
    assert customer_page(report).found.startswith("Not settled yet. Likeliest so far: ")
    assert ", not settled: accepted" in bench_text(report)


def test_none_of_those_we_know_is_said_of_a_settled_verdict_alone(bench):
    bench.hears("ready", "12.1", "enough", "enough")
    report = report_of_bench(bench)
    assert (report.verdict.cause, report.verdict.settled) == (OTHER, False)
    assert customer_page(report).found == "We have not found the cause yet."


def test_readings_after_the_repair_are_proof_and_move_no_odds(bench):
    answer_all(bench)
    told = len(report_of_bench(bench).odds)
    bench.hears("enough", "2", "done", "unplugged", "0.51", "works")
    report = report_of_bench(bench)
    assert [r.stage for r in report.rows if r.epoch == 1] == [Stage.PROOF]
    assert len(report.odds) == told
    assert report.ending.proven
    assert report.verdict.fate == "accepted"


def test_a_proof_that_fails_refutes_the_verdict_and_starts_the_odds_anew(bench):
    answer_all(bench)
    bench.hears("enough", "2", "done", "unplugged", "0.003")
    report = report_of_bench(bench)
    assert report.repairs[0].proof == "failed"
    assert report.verdicts[0].fate == "refuted"
    assert report.odds[-1].label == "the proof failed"


def test_twins_are_compared_with_both_errors_and_two_bands_speak_for_themselves(bench):
    answer_all(bench, b="0.498")
    (pair,) = report_of_bench(bench).pairs
    assert pair.apart == pytest.approx(0.014)
    assert pair.band == "alike"
    assert (pair.first.label, pair.second.label) == ("line A", "line B")
    # handheld diode: 0.8 % + 2 counts of 1 mV, last digit 0.5 mV, U = 2 sqrt((a1^2 + a2^2)/3)
    assert pair.first.error == pytest.approx(2 * ((0.512 * 0.008 + 0.002) ** 2 / 3 + 0.0005**2 / 3) ** 0.5)


def test_waits_notes_and_time_worked_are_told():
    tree = line_tree()
    events = [
        ev.Recorded(1, "2026-01-05T09:00:00+00:00", ev.Opened("1", tree.id, "0" * 64, "dead", "VL-1")),
        ev.Recorded(2, "2026-01-05T09:10:00+00:00", ev.Held("part", "Friday")),
        ev.Recorded(3, "2026-01-09T09:00:00+00:00", ev.Resumed()),
        ev.Recorded(4, "2026-01-09T09:05:00+00:00", ev.NoteAdded("smells burnt")),
    ]
    report = report_of(tree, events)
    assert report.minutes_worked == 15
    assert (report.waits[0].reason, report.waits[0].until) == ("part", "Friday")
    assert report.waits[0].resumed == "2026-01-09T09:00:00+00:00"
    assert report.notes[0].text == "smells burnt"


def test_a_check_the_adopted_tree_no_longer_has_is_still_reported():
    tree = line_tree()
    gone = ev.ReadingTaken("long-gone", Measured(Quantity(1.0, Unit.VOLT), 0.1), "one", "typed", "good", {})
    report = report_of(tree, recorded(ev.Opened("1", tree.id, "0" * 64), gone, ev.NoteAdded("x")))
    assert report.rows[0].check == "long-gone"
    assert report.rows[0].strip is None


def test_the_record_of_a_job_in_any_state_can_be_reported(bench):
    """Every prefix of a long job's events is a job someone may ask a report of."""
    bench.hears("ready", "5.02", "go back", "skip")
    answer_all(bench)
    bench.hears("enough", "2", "done", "unplugged", "0.003")
    events = bench.store.events("1")
    for end in range(1, len(events) + 1):
        report = report_of(bench.job.tree, events[:end])
        assert bench_text(report)
        assert customer_text(customer_page(report))


# --- strips ---------------------------------------------------------------------------------------------------------

EDGES = st.lists(st.floats(-1e6, 1e6, allow_subnormal=False), min_size=1, max_size=5, unique=True).map(sorted)


def bands_between(edges):
    inner = [Band(f"b{i}", a, b) for i, (a, b) in enumerate(pairwise(edges))]
    return (Band("under", None, edges[0]), *inner, Band("over", edges[-1], None))


@given(EDGES, st.floats(-1e7, 1e7), st.floats(-1e7, 1e7))
def test_further_right_on_a_strip_reads_higher(edges, a, b):
    bands = bands_between(edges)
    low, high = sorted((a, b))
    assert place(bands, low) <= place(bands, high) + 1e-12


@given(EDGES, st.floats(-1e7, 1e7))
def test_a_value_stands_in_the_cell_of_its_band(edges, value):
    bands = in_order(bands_between(edges))
    at = place(bands, value) * len(bands)
    home = next(i for i, b in enumerate(bands) if b.holds(value))
    assert home - 1e-9 <= at <= home + 1 + 1e-9


def test_ol_stands_at_the_end_of_its_band_and_a_word_in_the_middle():
    bands = (Band("low", None, 1.0), Band("high", 1.0, None, over_range=True))
    assert strip_of(OverRange(Unit.VOLT), bands, ("low",), "high", Unit.VOLT, 0.0).at > 0.9
    words = (Band("yes", words=("yes",)), Band("no", words=("no",)))
    drawn = strip_of(Answered("no"), words, ("yes",), "no", None, 0.0)
    assert (drawn.at, drawn.shape) == (0.75, "square")
    assert strip_of(OverRange(Unit.VOLT), words, (), "x", Unit.VOLT, 0.0) is None


# --- words ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "error", "told"),
    [(12.1, 0.1123, "0.11 V"), (0.003, 0.00241, "2.4 mV"), (4700.0, 52.0, "0.052 kΩ"), (60.2, 0.97, "0.97 Ω")],
)
def test_an_error_is_told_with_two_figures_in_the_unit_of_its_reading(value, error, told):
    unit = Unit.OHM if "Ω" in told else Unit.VOLT
    assert beside(Quantity(value, unit), error) == told
    assert Decimal(told.split()[0]).as_tuple().digits.__len__() <= 2


def test_what_is_not_certain_never_reads_as_certain():
    assert percent(0.99999) == "> 99.9 %"
    assert percent(1e-9) == "< 0.1 %"
    assert percent(0.5) == "50.0 %"


@given(st.text())
def test_tidied_text_is_one_line_of_valid_characters(text):
    told = tidy(text)
    told.encode("utf-8")
    assert "\n" not in told
    assert not any(ord(c) < 32 or 0x202A <= ord(c) <= 0x202E or 0x2066 <= ord(c) <= 0x2069 for c in told)
    assert tidy(told) == told


def test_hostile_text_stays_text_in_markdown():
    """Read by an independent CommonMark parser: no HTML, no links, no headings but ours, tables keep their columns."""
    markdown_it = pytest.importorskip("markdown_it", reason="markdown-it-py is not installed")
    report = hostile_report()
    for text in (bench_text(report), customer_text(customer_page(report))):
        tokens = markdown_it.MarkdownIt("commonmark").enable("table").parse(text)
        flat = [t for token in tokens for t in (token, *(token.children or ()))]
        kinds = {t.type for t in flat}
        assert not kinds & {"html_inline", "html_block", "link_open", "image", "code_inline", "fence", "em_open"}
        headings = [tokens[i + 1].content for i, t in enumerate(tokens) if t.type == "heading_open"]
        assert len(headings) <= 10
        assert not any(h == "heading" for h in headings)
    assert not any(ord(c) < 32 and c != "\n" for c in bench_text(report))
    assert "\u202e" not in bench_text(report)


def test_a_customer_is_not_told_what_the_customer_told_us(tmp_path):
    """What kind of motor it is and what it does wrong are no news to them; and a device without a name is theirs."""
    bench = TestBench(tmp_path, "outputs/fan-motor-stepper")
    bench.hears("brushed", "jerks", "nothing", "unplugged", "clean", "free", "motor off", "OL")
    page = customer_page(report_of_bench(bench))
    assert page.device == "Your device"
    assert page.how[0].startswith("Ohms. Across the brushed motor at its plug")
    assert not any(words in " ".join(page.how) for words in ("Which is it", "It stands still", "Before that"))


LATER = "2026-01-05T10:00:00+00:00"


def test_the_customers_page_is_bounded_whatever_the_job_was():
    for report in (hostile_report(), long_report(300)):
        page = customer_page(report)
        said = [page.found, page.sure, *page.how, *page.done, *page.leaves, *page.cautions]
        assert len(said) <= 24
        assert max(len(s) for s in said) <= 420


def test_the_customer_is_told_what_it_was_where_no_procedure_had_it(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.1", "unplugged", "OL", "enough", "something else, ants in the junction box")
    assert bench.job.phase is Phase.CLOSED
    page = customer_page(report_of(bench.job.tree, bench.store.events(bench.job.id)))
    assert "ants in the junction box" in page.found


def test_the_customer_sees_first_that_what_told_most_is_mended(tmp_path):
    """Of three readings after the repair two are told, and the short that was found is one of them."""
    bench = TestBench(tmp_path, "ports/usb2-device-not-recognised")
    bench.hears("wet", "unplugged", "all there", "512 mV", "498 mV", "1 ohm", "enough", "1", "done", "unplugged")
    bench.hears("4k7", "950 mV", "951 mV", "works")
    page = customer_page(report_of(bench.job.tree, bench.store.events(bench.job.id)))
    after = [line for line in page.how if line.startswith("After the repair")]
    assert after[0] == "After the repair: Ohms. Three point three volt rail to ground: 4.7 kΩ, as in a sound unit."
    assert len(after) == 2
    assert not any("wet" in line for line in page.how), "it spoke for nothing"


def test_a_question_on_the_customers_page_does_not_list_the_answers_it_could_have_had(tmp_path):
    bench = TestBench(tmp_path, "ports/usb2-device-not-recognised")
    bench.hears("nothing", "unplugged", "choke", "enough")
    page = customer_page(report_of(bench.job.tree, bench.store.events(bench.job.id)))
    assert page.how[0] == "Parts torn off, or rework: choke. In a sound unit: all there."


def test_time_away_from_the_bench_is_no_time_worked(tmp_path):
    """Put aside over an hour and told a week later what it was, with another meter than it began with."""
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.1", "hold")
    bench.session, _ = app.resume(bench.store, "1", meter=replace(HANDHELD, name="another"), clock=lambda: LATER)
    bench.hears("unplugged", "OL", "enough", "close")
    bench.session.clock = lambda: "2026-01-12T09:00:00+00:00"
    bench.session.apply((ev.OutcomeSet("cable-broken"),))
    report = report_of(bench.job.tree, bench.store.events("1"))
    assert report.minutes_worked == 0


def test_the_customer_sees_the_readings_after_the_last_repair_and_not_those_of_a_bypass(tmp_path):
    bench = TestBench(tmp_path, "fernleaf-gh2/field-bus-no-data")
    bench.hears("fitted", "unplugged", "512", "512", "3", "enough", "2", "done", "unplugged", "505", "works")
    bench.hears("1", "unplugged", "done", "unplugged", "508", "works")
    page = customer_page(report_of(bench.job.tree, bench.store.events("1")))
    assert [line for line in page.how if "After the repair" in line] == [
        "After the repair: Diode mode, red on ground. Bus B: 508 mV, as in a sound unit."
    ]


# --- laws -------------------------------------------------------------------------------------------------------------


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(random_trees(), st.data())
def test_the_report_of_any_conversation_agrees_with_the_job(tree, data):
    """What counts in the report is what counts in the fold, the last odds are the job's, and every form can be made."""
    job, history = start(tree)
    for _ in range(25):
        if job.phase is Phase.CLOSED:
            break
        decided = decide(job, data.draw(answers_to(job)))
        if not isinstance(decided, Unclear):
            job, history = fold(job, decided), [*history, *decided]
    report = report_of(tree, recorded(*history))
    assert len(report.rows) == sum(isinstance(e, ev.ReadingTaken) for e in history)
    live = {r.check for r in report.rows if r.epoch == job.epoch and r.standing is Standing.COUNTS}
    assert live == set(job.taken)
    last = [r for r in report.rows if r.standing is Standing.COUNTS and r.epoch == job.epoch]
    assert {r.check: r.band for r in last} == {c: placed(t.weights, t.band) for c, t in job.taken.items()}
    if not job.epoch:
        told = dict(report.odds[-1].chances)
        assert all(told.get(c, 0.0) == pytest.approx(p, abs=0.0051) for c, p in beliefs_of(job).items())
    assert (report.ending is None) == (job.closed is None)
    assert bench_text(report)
    assert customer_text(customer_page(report))
    json.dumps(document_of(report), allow_nan=False)


def test_a_terminal_without_the_signs_still_gets_the_units(tmp_path):
    """`60.2 ?` would be no reading; an ASCII terminal is told ohm and +/-."""
    out = TextIOWrapper(BytesIO(), encoding="ascii")
    Lines(out=out).tell("60.2 Ω ± 0.97 Ω → pair, 25 °C …")
    out.seek(0)
    assert out.read() == "60.2 ohm +/- 0.97 ohm -> pair, 25 deg C ...\n"
