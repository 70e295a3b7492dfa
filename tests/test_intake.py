"""At the counter: free words, every question optional, and what was said there is not asked again."""

import pytest
from hypothesis import given, strategies as st

from guide import app
from guide.core.jobs import intake
from guide.core.jobs.phases import Phase
from tests.worlds import FERNLEAF, TestBench, shipped_tree

WITH_HISTORY = "    then: {dead: fuse-ohms, low: probes-off, good: bus-ohms, high: stop}\n"
QUESTION = """  past-surge:
    ask: Was there a surge?
    answer: {yes: [yes], no: [no]}
    hazard: none
    fact: surge
    p: {fuse-open: {yes: 0.7, no: 0.3}, default: {yes: 0.2, no: 0.8}}
"""


@pytest.fixture
def bench(tmp_path):
    from guide.edge.trees import treefile

    _, text = shipped_tree(FERNLEAF)
    text = text.replace("  fuse-ohms:\n", f"{QUESTION}  fuse-ohms:\n", 1)
    tree = treefile.read(text, "drawn.yaml", FERNLEAF)
    return TestBench(tmp_path, tree=tree, text=text, intake=app.Intake.FIRST)


def test_every_question_can_be_answered_skipped_or_ended(bench):
    assert bench.last["check"] == "intake-device"
    bench.hears("GH-2, the small one", "skip", "it fell into the pond")
    assert bench.job.facts == {"device": "GH-2, the small one", "marking": "", "history": "it fell into the pond"}
    bench.hears("enough")
    assert bench.job.phase is Phase.BRIEFING
    assert bench.last["type"] == "caution"


def test_what_was_said_at_the_counter_is_evidence_and_is_not_asked_again(bench):
    before = bench.job.tree.causes["fuse-open"].weight
    bench.hears("skip", "skip", "lightning, opened before", "enough")
    assert bench.job.taken["past-surge"].band == "yes"
    assert bench.job.taken["past-surge"].source == "intake"
    assert before
    odds = [m for m in bench.said if m["type"] == "odds"][-1]["causes"]
    assert odds[0]["id"] == "fuse-open"
    assert odds[0]["p"] > 0.6


def test_what_was_skipped_can_be_completed_later(bench):
    bench.hears("GH-2", "enough", "ready")
    bench.session, told = app.resume(bench.store, "1", intake=app.Intake.FIRST)
    assert told[-1]["check"] == "intake-marking"
    bench.hears("rev C", "enough")
    assert bench.job.facts["marking"] == "rev C"
    assert bench.last["type"] == "caution"


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("dropped it", {"dropped"}),
        ("coffee spilled, then it was opened", {"liquid", "opened"}),
        ("wrong adapter", {"surge"}),
        ("someone soldered on it", {"repaired"}),
        ("nothing", set()),
        ("no", set()),
        ("never opened, no water but dropped once", {"dropped"}),
        ("", set()),
    ],
)
def test_the_technicians_own_words_name_what_happened(words, found):
    assert set(intake.happened({"history": words})) == found


@given(st.text())
def test_no_words_break_the_counter(words):
    assert set(intake.happened({"history": words})) <= set(intake.HISTORY)


def test_a_slip_at_the_counter_is_taken_back_and_asked_again(bench):
    assert bench.hears("go back")[0]["type"] == "unclear"
    bench.hears("GH-3", "go back")
    assert bench.last["check"] == "intake-device"
    bench.hears("GH-2", "rev C")
    assert bench.job.facts == {"device": "GH-2", "marking": "rev C"}
    assert bench.store.summary("1").device == "GH-2"


def test_a_skipped_device_leaves_the_name_the_job_has(bench):
    named = bench.store.summary("1").device
    bench.hears("skip", "enough")
    assert bench.store.summary("1").device == named != ""


@pytest.mark.parametrize(
    ("told", "band"),
    [
        ("it got wet", "wet"), ("lightning", "surge"), ("somebody repaired it", "opened"),
        ("liquid, opened before", None), ("dropped", None), ("wet and dropped", None), ("nothing", None), ("", None),
    ],
)  # fmt: skip
def test_a_question_for_all_that_happened_is_answered_where_the_counter_left_no_doubt(tmp_path, told, band):
    bench = TestBench(tmp_path, "ports/usb2-device-not-recognised", intake=app.Intake.FIRST)
    bench.hears("skip", "skip", told or "skip", "enough")
    assert (bench.job.taken["happened"].band if band else None) == band
    if band:
        bench.hears("unplugged")  # the board is looked at with its power off
    assert bench.last["check"] == ("look-parts" if band else "happened")


def test_going_back_at_the_counter_goes_back_one_question_and_leaves_what_was_skipped_before_it(bench):
    bench.hears("GH-2", "skip", "it fell", "go back")
    assert bench.last["check"] == "intake-history"
    assert "Taken back: it fell." in [m.get("say") for m in bench.said]
    bench.hears("it got wet", "skip", "go back")
    assert bench.last["check"] == "intake-missing"
    assert bench.job.facts == {"device": "GH-2", "marking": "", "history": "it got wet"}


def test_a_slip_in_the_counters_last_answer_is_taken_back_from_the_first_check(bench):
    bench.hears("GH-2", "skip", "nothing", "no", "R 4411", "skip")
    assert bench.last["type"] == "caution"
    bench.hears("scratch that", "go back")
    assert bench.last["check"] == "intake-reference"


def test_at_a_verdict_without_a_reading_there_is_nothing_of_the_counters_to_take_back(bench):
    bench.hears("GH-2", "enough", "enough")
    assert bench.job.phase is Phase.CONCLUDED
    assert bench.hears("go back")[0]["type"] == "unclear"
    assert bench.job.phase is Phase.CONCLUDED


def test_an_answer_from_the_counter_is_told_as_such_and_once_taken_back_is_asked(tmp_path):
    bench = TestBench(tmp_path, "ports/usb2-device-not-recognised", intake=app.Intake.FIRST)
    bench.hears("skip", "skip", "it got wet", "enough")
    read = next(m for m in bench.said if m["type"] == "read")
    assert (read["say"], read["show"]) == ("From the counter: wet.", "From the counter: wet")
    bench.hears("go back")
    assert bench.last["check"] == "happened"
    bench.hears("surge", "unplugged")
    assert bench.job.taken["happened"].band == "surge"
    assert bench.last["check"] == "look-parts"


@pytest.mark.parametrize("said", ["none", "Nothing.", "unknown", "n/a"])
def test_no_name_is_no_device(bench, said):
    named = bench.store.summary("1").device
    bench.hears(said, said, said, said)
    assert bench.job.facts == {"device": "", "marking": "", "history": said, "missing": said}
    assert bench.store.summary("1").device == named


def test_a_photo_file_that_is_not_there_is_told_at_the_counter(bench, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "front.jpg").write_bytes(b"")
    bench.hears("GH-2", "skip", "skip", "skip", "skip")
    said = [m.get("say") for m in bench.hears("front.jpg, nope.jpg")]
    assert "There is no file nope.jpg. Say go back to name it again." in said
    bench.hears("go back")
    assert bench.last["check"] == "intake-photos"
    assert not any("no file" in str(m.get("say")) for m in bench.hears("front.jpg"))
