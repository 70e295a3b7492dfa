"""The job as a technician meets it: words in, messages out, over a real store."""

from dataclasses import replace

import pytest

from guide.core.errors import BadInput
from guide.core.jobs.questions import question
from guide.core.jobs.recap import readings_line
from guide.core.quantity import Measure
from guide.core.tree import Power
from guide.edge.screen.facts import last_reading, table_of_readings
from tests.reports import report_of_bench
from tests.worlds import TestBench, shipped_tree

FOUND_BROKEN = ("ready", "12.1", "unplugged", "OL")
NEXT_WEEK = "2026-01-12T09:00:00+00:00"


@pytest.fixture
def bench(tmp_path):
    return TestBench(tmp_path)


def test_the_caution_comes_before_the_check_that_needs_it(bench):
    assert bench.types() == ["caution"]
    bench.hears("12.1")
    assert bench.types()[-1] == "unclear"
    bench.hears("ready")
    assert bench.last["measure"] == "volts_dc"
    assert bench.job.power is Power.ON


def test_a_spoken_reading_waits_for_yes_and_a_typed_one_does_not(bench):
    bench.hears("ready")
    bench.hears("twelve point one", spoken=True)
    assert bench.last["type"] == "confirm"
    assert bench.job.taken == {}
    bench.hears("yes", spoken=True)
    assert bench.job.taken["feed-volts"].band == "good"


@pytest.mark.parametrize(
    ("before", "said", "told"),
    [
        ((), "no", "That is no answer here. Say ready."),
        (("ready",), "no", "That is no answer here. Say the reading, like twelve point one volts."),
        (("ready", "0.5", "unplugged", "0.3", "ready"), "take it", "That is no answer here. Say back, or still low."),
        (("ready", "0.1", "unplugged", "OL"), "no", "That is no answer here. Say take it, or enough."),
        (("ready", "0.1", "unplugged", "OL"), "fuse it is", "I did not understand. Say take it, or enough."),
        (("ready", "0.1", "unplugged", "OL", "enough", "1"), "no", "That is no answer here. Say done, or close."),
    ],
)
def test_words_that_answer_something_else_are_told_what_would_answer(bench, before, said, told):
    bench.hears(*before)
    assert bench.hears(said)[-1]["say"] == told


@pytest.mark.parametrize(
    ("tree", "said"),
    [
        ("general/liquid-damage-triage", ("swollen",)),
        ("general/liquid-damage-triage", ("sound", "mains")),
        ("outputs/fan-motor-stepper", ("mains",)),
        ("power/external-adapter", ("scorched",)),
    ],
)
def test_where_the_work_is_handed_over_no_further_check_is_offered(tmp_path, tree, said):
    """`Stop here, leave it` and `one more check would help` do not go together."""
    bench = TestBench(tmp_path, tree)
    bench.hears(*said)
    assert bench.last["type"] == "verdict"
    assert (bench.last["next_best"], bench.last["answers"]) == (None, ["enough"])
    assert bench.last["say"].endswith("Say enough.")
    assert bench.hears("take it")[-1]["type"] == "unclear"
    bench.hears("enough")
    assert "take it" not in bench.last["answers"]


def test_coming_back_tells_what_the_job_waited_for(bench):
    bench.hears("ready", "12.1", "hold for the fuse until Monday")
    told = bench.comes_back()
    assert "It was put aside for fuse until Monday. 1 answer so far, 3 checks left." in told[0]["say"]
    assert "put aside" not in bench.comes_back()[0]["say"]


def test_why_at_a_caution_names_what_it_stands_before(bench):
    assert bench.hears("why")[-1]["say"] == "The next check needs this first: Volts D C. J four, pin one to pin two."
    bench.hears("ready", "0.1", "unplugged", "OL", "enough", "1")
    bench.hears("done")
    assert bench.last["type"] == "caution"
    assert bench.hears("why")[-1]["say"].startswith("The next check needs this first: ")


def test_a_job_on_any_device_of_a_kind_is_told_by_its_symptom_alone(tmp_path):
    bench = TestBench(tmp_path, "outputs/fan-motor-stepper")
    symptom = "Fan, motor or stepper does not move, or moves badly"
    assert bench.comes_back()[0]["say"].startswith(f"Back on job 1, {symptom}. 0 answers")
    named = TestBench(tmp_path, "outputs/fan-motor-stepper", device="Fernleaf vent 3")
    assert named.comes_back()[0]["say"].startswith(f"Back on job 2, Fernleaf vent 3, {symptom}. 0 answers")


def test_a_question_of_many_answers_names_them_to_who_asks_for_help(tmp_path):
    bench = TestBench(tmp_path, "ports/hdmi-no-picture")
    bench.hears("nothing known", "none", "unplugged")
    assert bench.hears("no")[-1]["say"] == "That is no answer here. Say help for what you can say."
    assert bench.hears("help")[-1]["say"].startswith("Say clean, bent, dirty, cracked, bridge, or can't see. Or: ")


def test_a_reading_said_again_is_a_new_reading_and_never_a_yes(bench):
    bench.hears("ready")
    bench.hears("twelve point one", "twelve point one", spoken=True)
    assert bench.last["type"] == "confirm"
    assert bench.job.taken == {}
    bench.hears("eleven point nine", "yes", spoken=True)
    assert bench.job.taken["feed-volts"].readings[0].quantity.value == 11.9


def test_no_to_the_read_back_asks_the_same_check_again(bench):
    bench.hears("ready")
    bench.hears("twelve point one", "no", spoken=True)
    assert bench.last["type"] == "ask"
    assert bench.last["check"] == "feed-volts"


def test_a_reading_on_an_edge_is_taken_once_more_and_then_splits_its_weight(bench):
    """11.4 V is the edge between low and good, which lead to different checks."""
    bench.hears("ready", "11.40")
    assert bench.last["retake"] is True
    told = bench.hears("11.40")
    read = next(m for m in told if m["type"] == "read")
    assert read["borderline"] is True
    weights = bench.job.taken["feed-volts"].weights
    assert weights["low"] == pytest.approx(0.5, abs=0.05)
    assert weights["good"] == pytest.approx(0.5, abs=0.05)


def test_a_reading_on_an_edge_is_between_two_bands_wherever_it_is_told(bench):
    """11.4 V is the edge itself: neither band weighs more, so none is named before the other and no route is led."""
    bench.hears("ready")
    for _ in range(2):
        read = next(m for m in bench.hears("11.40") if m["type"] == "read")
        assert read["between"] == ["low", "good"]
        assert read["say"] == "Eleven point four zero volts, between low and good."
        assert read["show"] == "11.40 V → between low and good"
    bench.hears("unplugged")
    assert bench.last["by"] == "plan"
    line = readings_line(bench.job)
    assert line == "On the edge of a good unit: J four, pin one to pin two: 11.40 V, between low and good."
    shown = last_reading(bench.job)
    assert (shown.band, shown.verdict) == ("between low and good", "")
    assert table_of_readings(bench.job)[1][0].band == "between low and good"
    row = report_of_bench(bench).rows[-1]
    assert (row.band, row.normal) == ("between low and good", None)


@pytest.mark.parametrize(
    ("tree", "answers", "asked"),
    [
        ("outputs/fan-motor-stepper", ("fan", "stands still"), "does"),
        ("processors/microcontroller-does-not-start", ("nothing known", "none"), "signs"),
    ],
)
def test_nothing_is_called_usual_of_an_answer_that_no_good_unit_gives(tmp_path, tree, answers, asked):
    """What is wrong with it is a symptom whatever the answer, and where every answer is a good unit's none is odd."""
    bench = TestBench(tmp_path, tree)
    bench.hears(*answers)
    shown = last_reading(bench.job)
    assert (shown.check, shown.verdict, shown.usual) == (asked, "", "")


def test_a_trial_that_cures_is_neither_usual_nor_unusual(bench):
    """That the twelve volts come back with the probes off is found out, yet no good unit does either."""
    bench.hears("ready", "0.5", "unplugged", "0.3", "ready", "it comes back")
    shown = last_reading(bench.job)
    assert (shown.check, shown.verdict, shown.usual) == ("probes-off", "", "")


def test_a_reading_near_an_edge_keeps_its_band(bench):
    read = next(m for m in bench.hears("ready", "11.43") if m["type"] == "read")
    assert (read["between"], read["band"], read["borderline"]) == ([], "good", True)


def test_a_skipped_check_is_no_evidence_and_is_not_asked_again(bench):
    bench.hears("ready", "skip")
    assert bench.job.passed == {"feed-volts": "skip"}
    asked = {m["check"] for m in bench.said if m["type"] == "ask"}
    while bench.last["type"] != "verdict":
        bench.hears(bench.last["answers"][0] if bench.last["type"] == "caution" else "skip")
        asked_now = [m["check"] for m in bench.said if m["type"] == "ask"]
        assert len(asked_now) == len(set(asked_now))
    assert asked == {"feed-volts"}


def test_go_back_withdraws_the_last_answer_and_asks_it_again(bench):
    bench.hears("ready", "12.1", "go back")
    assert bench.job.taken == {}
    assert bench.last["check"] == "feed-volts"
    assert [r.event.kind for r in bench.store.events("1")].count("reading_taken") == 1, "it stays in the record"


def test_enough_gives_the_verdict_on_what_is_known(bench):
    bench.hears("ready", "12.1", "unplugged", "enough")
    assert bench.last["type"] == "verdict"
    assert bench.last["cause"] == "cable-broken"


def test_take_it_goes_on_with_the_check_that_was_offered(bench):
    bench.hears(*FOUND_BROKEN)
    offer = bench.last["next_best"]
    if offer is None:
        pytest.skip("nothing left that tells more")
    bench.hears("take it")
    assert bench.job.chosen == offer["check"]


def test_a_proof_that_fails_goes_back_to_the_odds_with_the_readings_taken_after_the_repair(bench):
    bench.hears(*FOUND_BROKEN, "enough", "1", "done", "unplugged", "OL")
    assert any(m["type"] == "prove" and m.get("passed") is False for m in bench.said)
    assert set(bench.job.taken) == {"bus-ohms"}
    assert bench.job.epoch == 1
    assert bench.last["type"] in ("ask", "caution", "verdict")


def test_an_override_of_the_proof_is_recorded(bench):
    bench.hears(*FOUND_BROKEN, "enough", "1", "done", "unplugged", "override", "works")
    closed = bench.job.closed
    assert closed.cause == "cable-broken"
    assert closed.proven is False
    assert "proof_overridden" in [r.event.kind for r in bench.store.events("1")]


def test_a_proof_reading_cannot_be_skipped(bench):
    bench.hears(*FOUND_BROKEN, "enough", "1", "done", "unplugged", "skip")
    assert bench.last["type"] == "unclear"
    assert "override" in bench.last["say"]


def test_hold_with_a_reason_and_a_date_is_in_the_list_of_jobs(bench):
    bench.hears("ready", "hold for the customer until Friday")
    kept = bench.store.summary("1")
    assert (kept.state, kept.waits_for, kept.until) == ("aside", "customer", "Friday")


def test_what_a_job_waits_for_keeps_its_words(bench):
    bench.hears("ready", "hold for the customer who is on the road")
    assert bench.store.summary("1").waits_for == "customer who is on the road"


def test_a_verdict_that_would_rest_on_old_readings_takes_the_one_that_matters_again(bench):
    bench.hears("ready", "5.0")
    bench.comes_back(at=NEXT_WEEK)
    assert "old" in bench.said[-2]["say"]
    bench.hears("ready", "it comes back")
    assert "verdict" not in bench.types()
    assert (bench.job.chosen, bench.job.chosen_by) == ("feed-volts", "stale")
    assert bench.last["say"].startswith("Once more, the last one is old."), "else it seems to have been forgotten"
    assert "feed-volts" not in bench.job.taken


def test_an_old_reading_the_verdict_does_not_need_is_left_alone(bench):
    bench.hears("ready", "12.1")
    bench.comes_back(at=NEXT_WEEK)
    bench.hears("unplugged", "OL")
    assert bench.last["type"] == "verdict"


def test_fresh_readings_are_not_asked_again(bench):
    bench.hears("ready", "12.1")
    bench.comes_back()
    bench.hears("unplugged", "OL")
    assert bench.last["type"] == "verdict"


def test_why_names_numbers(bench):
    bench.hears("ready")
    told = bench.hears("why")
    assert "bits" in told[0]["say"]


def passed_over_all(bench):
    while bench.last["type"] != "verdict":
        bench.hears(bench.last["answers"][0] if bench.last["type"] == "caution" else "skip")


def test_what_was_passed_over_is_offered_once_nothing_else_is_left_and_counts_when_taken(bench):
    passed_over_all(bench)
    assert "A check that was passed over would tell them from the rest" in bench.last["say"]
    offered = bench.last["next_best"]["check"]
    assert offered in bench.job.passed
    bench.hears("take it", "unplugged")
    assert (bench.last["check"], bench.last["by"]) == (offered, "offer")
    bench.hears("OL")
    assert offered in bench.job.taken
    assert offered not in bench.job.passed


def test_what_is_passed_over_again_leads_to_the_verdict_again(bench):
    passed_over_all(bench)
    before = bench.job.verdict
    bench.hears("take it", "skip")
    assert bench.last["type"] == "verdict"
    assert bench.job.verdict == before


def test_where_the_cause_is_settled_nothing_passed_over_is_offered(bench):
    bench.hears("ready", "12.1", "unplugged", "OL")
    assert bench.last["next_best"]["check"] == "fuse-ohms"
    bench.hears("take it", "skip", "take it", "skip")
    assert bench.job.tree.settles(bench.job.verdict.p)
    assert set(bench.job.passed) >= {"fuse-ohms"}
    assert not bench.job.left()
    assert bench.last["next_best"] is None


def test_why_names_what_the_odds_would_ask_where_the_author_leads_elsewhere(tmp_path):
    bench = TestBench(tmp_path, "fernleaf-gh2/field-bus-no-data")
    assert bench.job.chosen_by == "start"
    said = bench.hears("why")[0]["say"]
    assert "By the odds alone, " in said
    assert "Next best" not in said, "it tells more than what the author asks"


def test_what_if_says_where_an_answer_would_lead(bench):
    bench.hears("ready")
    told = bench.hears("what if dead")
    assert "Fuse F two has opened" in told[0]["say"]
    assert "percent" in told[0]["say"]


def test_a_closed_job_is_not_resumed(bench):
    bench.hears(*FOUND_BROKEN, "enough", "close")
    with pytest.raises(BadInput, match="closed"):
        bench.comes_back()


@pytest.mark.parametrize("line", ["", " ", "\x00\x1b[31m", "x" * 100_000, "ä" * 300, "{}", "drop table jobs"])
def test_no_line_breaks_a_job(bench, line):
    bench.hears("ready")
    before = bench.job
    told = bench.hears(line)
    assert told
    assert bench.job.taken == before.taken
    assert bench.job.chosen == before.chosen


def test_every_message_that_waits_lists_what_it_takes(bench):
    bench.hears(*FOUND_BROKEN, "enough", "1", "done", "unplugged", "60.1", "works")
    waiting = ("caution", "ask", "confirm", "verdict", "repair", "unclear")
    for message in bench.said:
        assert message["job"] == "1"
        if message["type"] in waiting:
            assert message["answers"]
        if message["type"] == "ask" and Measure(message["measure"]).takes_a_reading:
            assert message["unit"]


def test_what_is_explains_a_marking_and_the_question_stands(bench):
    bench.hears("ready")
    told = bench.hears("what is 4 7 2")
    assert "4.7 kΩ" in told[0]["show"]
    assert "IEC 60062" in told[0]["show"]
    assert bench.job.chosen == "feed-volts"


@pytest.mark.parametrize(
    ("answer", "warned"),
    [("59", False), ("60", False), ("61", True), ("170", True), ("OL", True), ("12.1", False)],
)
def test_a_voltage_above_what_may_be_touched_is_warned_of_at_once(bench, answer, warned):
    """60 V DC: IEC 60204-1 6.2.4 (touchable parts after switch-off), IEC 61140 (bare contact)."""
    bench.hears("ready")
    told = bench.hears(answer)
    assert told[0]["type"] == "read"
    assert any("Switch off" in m["say"] or "switch off" in m["say"] for m in told if m["type"] == "told") is warned


def test_a_set_up_made_by_hand_is_not_left_in_the_way_of_the_next(tmp_path):
    tree, text = shipped_tree("power/buck-converter-wrong-output")
    bench = TestBench(tmp_path, tree=tree, text=text)
    step = tree.setups["coil-lifted"]
    job = replace(bench.job, told="coil-lifted")
    assert question(job)["say"] == step.say
    assert question(replace(job, setup="load-parted"))["say"].startswith("First undo what this does not need")
    assert question(replace(job, setup="load-parted"))["say"].endswith(step.say)
    assert question(replace(job, setup="coil-lifted"))["say"] == step.say


def test_a_set_up_that_only_runs_leaves_nothing_to_undo(tmp_path):
    tree, text = shipped_tree("buses/i2c-bus-stuck")
    job = replace(TestBench(tmp_path, tree=tree, text=text).job, told="reset", setup="idle")
    assert question(job)["say"] == tree.setups["reset"].say


def test_what_was_only_told_of_a_device_is_neither_good_nor_bad_and_is_said_without_its_other_answers(tmp_path):
    bench = TestBench(tmp_path, "general/liquid-damage-triage")
    bench.hears("sound", "low", "sweet")
    assert readings_line(bench.job) == "Last, Which liquid: sweet."
    bench.hears("unknown", "unplugged", "open", "dried", "crust", "3")
    assert readings_line(bench.job) == (
        "Not as in a good unit: Supply input to ground: 3 Ω, short; Magnifier. Worst place: crust; and 1 more."
    )


def test_what_is_taken_back_is_named_by_its_answer_since_its_question_follows(bench):
    bench.hears("ready", "12.05")
    told = bench.hears("go back")
    assert (told[0]["say"], told[0]["show"]) == ("Taken back: Twelve point zero five volts.", "Taken back: 12.05 V.")
    assert told[-1]["check"] == "feed-volts"
    bench.hears("skip", "go back")
    assert "Taken back: skip." in [m.get("say") for m in bench.said]


def test_why_does_not_say_again_what_is_asked(bench):
    bench.hears("ready")
    said = bench.hears("why")[0]["say"]
    assert bench.job.check.ask.rstrip(".") not in said
    assert "It tells whether" in said


def test_what_if_at_a_verdict_supposes_an_answer_to_the_check_it_offers(bench):
    bench.hears("ready", "12.1", "unplugged", "OL")
    assert bench.last["next_best"]["check"] == "fuse-ohms"
    told = bench.hears("what if open")[0]["say"]
    assert told.startswith("Ohms, across fuse F two. If open: ")
    assert "percent" in told
    assert bench.hears("what if")[0]["say"].startswith("Ohms, across fuse F two. Suppose a reading")
    bench.hears("enough", "1", "done", "unplugged", "60.1")
    assert bench.hears("what if open")[0]["say"] == "There is no check to suppose an answer for."


def test_hands_that_begin_a_repair_hear_its_risk_and_what_it_leaves(tmp_path):
    bench = TestBench(tmp_path, "fernleaf-gh2/field-bus-no-data")
    bench.hears("fitted", "unplugged", "512", "512", "3", "enough", "1")
    assert bench.last["say"] == "Fit clamp part 0533 on line B. Risk: lifted pad. Say done."
    bench.hears("go back", "2")
    assert bench.last["say"] == "Leave the clamp off line B. Leaves: line B without surge protection. Say done."


def test_a_note_is_said_again_since_free_words_are_easily_misheard(bench):
    told = bench.hears("note the customer hears a pop", spoken=True)[0]
    assert (told["say"], told["show"]) == ("Noted: the customer hears a pop.", "Noted.")
    assert bench.hears(f"note {'pop ' * 30}")[0]["say"].endswith("pop, and so on.")


@pytest.mark.parametrize(("said", "reason", "until"), [
    ("hold for the customer until Friday", "customer", "Friday"),
    ("hold until Friday for the customer", "customer", "Friday"),
    ("hold for part 0533 till next week", "part 0533", "next week"),
    ("hold for the part, until Friday", "part", "Friday"),
    ("hold till Monday", "", "Monday"),
    ("hold for approval by the owner until the 3rd", "approval by the owner", "the 3rd"),
    ("hold", "", ""),
])  # fmt: skip
def test_for_whom_and_until_when_is_told_apart_in_any_order(bench, said, reason, until):
    [told] = bench.hears(said)
    assert (told["reason"], told["until"]) == (reason, until)
