"""Answers with a hyphen in their name: words to people, the name alone to programs."""

import pytest

from guide import app
from guide.core.report.customer import customer_page
from guide.core.report.gather import report_of
from guide.core.report.markdown import bench_text, customer_text
from guide.core.report.readings import error_of, error_shown
from guide.edge.reporting.html import bench_html
from guide.edge.screen.cells import Charset
from guide.edge.screen.facts import last_reading
from guide.edge.screen.layout import Size, layout
from guide.edge.screen.scene import Scene, told
from guide.edge.terminal import render
from tests.screens import text_of
from tests.worlds import TestBench

NAME, WORDS = "torn-off", "torn off"


@pytest.fixture
def bench(tmp_path):
    """A bench at the look whose answers are `fitted`, `torn-off` and `unfitted`."""
    bench = TestBench(tmp_path, "fernleaf-gh2/field-bus-no-data")
    while NAME not in bench.last["answers"]:
        bench.hears(bench.last["answers"][0] if bench.last["type"] == "caution" else "skip")
    return bench


def screen(bench):
    """What a large screen shows of the job and of all that was said."""
    scene = Scene(bench.job, told(bench.said), clock="09:41")
    return "\n".join(text_of(layout(scene, Size(200, 60), Charset.UTF8)))


def lines(messages):
    return "\n".join(line for m in messages for line in render(m))


def test_programs_get_the_name_of_an_answer_and_people_its_words(bench):
    assert NAME in bench.last["answers"]
    assert WORDS in lines([bench.last])
    assert NAME not in lines([bench.last])
    told = bench.hears(f"what if {WORDS}", "help", NAME)
    read = next(m for m in told if m["type"] == "read")
    assert (read["band"], read["value"]) == (NAME, NAME)
    assert read["say"] == "Torn off."
    everything = [m for m in bench.said if m["type"] in ("read", "told", "unclear")]
    assert WORDS in lines(everything)
    assert NAME not in lines(everything) + "".join(m.get("say", "") for m in everything)


@pytest.mark.parametrize("typed", [NAME, WORDS])
def test_an_answer_is_typed_by_its_name_or_its_words(bench, typed):
    look = bench.last["check"]
    assert f"If {WORDS}" in bench.hears(f"what if {typed}")[0]["say"]
    bench.hears(typed)
    assert bench.job.taken[look].band == NAME


def test_the_screen_tells_an_answer_in_words(bench):
    assert NAME not in screen(bench)
    bench.hears(NAME)
    assert WORDS in screen(bench)
    assert NAME not in screen(bench)


def test_reports_tell_an_answer_in_words(bench):
    bench.hears(NAME, "enough")
    report = report_of(bench.job.tree, bench.store.events("1"), meter=bench.job.meter)
    written = bench_text(report) + bench_html(report) + customer_text(customer_page(report))
    assert WORDS in written
    assert NAME not in written


def test_the_screen_and_the_report_tell_the_same_error_of_a_reading(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "11.9 volts")
    report = report_of(bench.job.tree, bench.store.events("1"), meter=bench.job.meter)
    shown = last_reading(bench.job)
    assert shown.error == report.rows[-1].error_shown != ""
    assert shown.strip == report.rows[-1].strip
    reading = bench.job.taken["feed-volts"].readings[-1]
    assert error_shown(reading, error_of(reading, bench.job.meter.spec(bench.job.tree.checks["feed-volts"].measure)))


def test_coming_back_says_how_many_answers_do_not_tell_good_from_bad(tmp_path):
    bench = TestBench(tmp_path, "ports/usb2-device-not-recognised", intake=app.Intake.FIRST)
    bench.hears("skip", "skip", "it got wet", "enough")
    while bench.last["check"] != "look-parts" if bench.last["type"] == "ask" else True:
        bench.hears(bench.last["answers"][0])
    assert "good unit" not in bench.hears("where are we")[0]["say"]
    good = bench.job.tree.checks["look-parts"].usual[0]
    bench.hears(good)
    assert "Each by itself is that of a good unit, leaving out 1 that cannot tell." in bench.comes_back()[0]["say"]


def test_a_list_of_jobs_counts_every_answer_of_a_job_those_before_its_repair_too(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.1", "unplugged", "OL", "enough", "1", "done", "unplugged", "60.1", "works")
    assert bench.job.closed
    assert bench.store.summary("1").answers == 3
