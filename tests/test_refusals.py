"""What is never diagnosed here is told by words, with the reason, before a job is opened or at the counter."""

import re

import pytest

from guide import app, cli
from guide.core.errors import BadInput
from guide.core.jobs.refusals import refused
from guide.core.tree import Power
from guide.edge.jobs.store import Store
from guide.edge.trees.library import Library
from tests.worlds import FERNLEAF, TestBench, shipped, shipped_tree

DANGEROUS = [
    ("microwave oven dead", "capacitor"), ("the magnetron hums", "capacitor"), ("CRT monitor dark", "anode"),
    ("old tube television, no picture", "anode"), ("phone with a swollen battery", "burn"),
    ("the lithium cells are leaking", "burn"), ("li-ion pack punctured", "burn"),
    ("no volts on the primary side", "mains side"), ("mains fuse blown", "mains side"),
    ("SMPS primary blown", "mains side"), ("switch mode power supply primary", "mains side"),
    ("the hot side of the supply", "mains side"), ("old tv tube", "anode"), ("battery has expanded", "burn"),
    ("the pack vented", "burn"), ("battery is pillowing", "burn"), ("the phone battery got fat", "burn"),
]  # fmt: skip
HARMLESS = [
    "no power", "battery drains fast", "battery is not swollen", "dropped, no swollen battery", "microwave link module",
    "water leaking in, dead display", "cell phone does not charge", "sensor bus dead", "primary bus dead",
    "mains adapter dead", "primary school clock", "power supply primary bus", "hot side of the fan",
    "line side by side with the mains", "rectifier bridge shorted", "inflated tyre sensor",
]  # fmt: skip


@pytest.mark.parametrize(("words", "why"), DANGEROUS)
def test_what_is_dangerous_is_refused_with_its_reason(words, why):
    told = refused(words)
    assert why in told
    assert "licensed practice" in told
    assert "local codes" in told


@pytest.mark.parametrize("words", HARMLESS)
def test_what_is_not_is_taken(words):
    assert refused(words) is None


def test_no_job_is_opened_on_a_refused_device(tmp_path):
    store = Store(tmp_path)
    tree, text = shipped_tree(FERNLEAF)
    with pytest.raises(BadInput, match="microwave"):
        app.begin(store, tree, text, device="Microwave oven")
    assert store.jobs() == []
    store.close()


def test_the_command_line_refuses_in_one_line(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path))
    assert cli.run(["begin", "crt", "television", "no", "picture"]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert "cathode-ray" in err


def test_at_the_counter_the_question_stands(tmp_path):
    bench = TestBench(tmp_path, intake=app.Intake.FIRST)
    [told] = bench.hears("a microwave oven")
    assert told["type"] == "unclear"
    assert "capacitor" in told["say"]
    assert "device" not in bench.job.facts


def test_no_tree_is_found_by_words_that_are_refused(tmp_path):
    heads = Library(tmp_path).heads()
    assert heads
    caught = [words for h in heads for words in (h.symptom, *h.heard_as) if refused(words)]
    assert caught == ["pack is swollen or got fat"], "that tree hands a swollen pack over at its first question"


def test_a_note_of_a_swollen_pack_is_kept_and_answered(tmp_path):
    bench = TestBench(tmp_path)
    told = bench.hears("note the battery is swollen")[0]
    assert told["show"].startswith("Noted. A swollen")
    assert "licensed practice" in told["say"]
    assert bench.hears("note the battery is not swollen")[0]["show"] == "Noted."


@pytest.mark.parametrize(
    "said", [(), ("ready",), ("ready", "12.1", "unplugged", "OL"), ("ready", "0.1", "unplugged", "OL", "enough")]
)
def test_words_for_it_at_any_question_are_told_why(tmp_path, said):
    bench = TestBench(tmp_path)
    bench.hears(*said)
    stood = bench.last
    told = bench.hears("the lithium pack is swollen")[-1]
    assert told["type"] == "unclear"
    assert "burn at any touch" in told["say"]
    assert told["answers"] == stood["answers"]


@pytest.mark.parametrize("tree_id", shipped())
def test_a_caution_before_power_defers_to_local_codes_and_for_mains_to_licensed_practice(tree_id):
    tree, _ = shipped_tree(tree_id)
    live = [h.say.lower() for h in tree.hazards.values() if h.power is Power.ON]
    assert [say for say in live if "local codes" not in say] == []
    assert [say for say in live if "mains" in say and "licensed practice" not in say] == []


@pytest.mark.parametrize("tree_id", shipped())
def test_no_words_of_a_tree_promise_safety(tree_id):
    _, text = shipped_tree(tree_id)
    promise = r"\b(?:is|are|it's|now|then|perfectly|completely) safe\b|\bsafe to\b|\bno danger\b"
    assert re.findall(promise, text.lower()) == []


BANKS = [
    "audio/no-sound", "display/backlight-dark", "outputs/fan-motor-stepper", "outputs/heater-or-load-driver",
    "power/buck-converter-wrong-output", "power/dc-input-no-power", "power/linear-regulator-wrong-output",
    "power/shorted-low-voltage-rail",
]  # fmt: skip


@pytest.mark.parametrize("tree_id", BANKS)
def test_where_big_capacitors_stand_they_are_bled_through_a_resistor_and_verified_before_power_counts_as_off(tree_id):
    tree, _ = shipped_tree(tree_id)
    [off] = [h.say for h in tree.hazards.values() if h.power is Power.OFF]
    assert off.index("Bleed big capacitors through a resistor") < off.index("verify near zero volts") < off.index("Say")


@pytest.mark.parametrize(("tree_id", "said"), [
    ("general/liquid-damage-triage", ()), ("general/liquid-damage-triage", ("sound",)),
    ("outputs/fan-motor-stepper", ()), ("power/external-adapter", ()), ("display/backlight-dark", ()),
])  # fmt: skip
def test_enough_does_not_pass_over_what_must_be_known_before_anything_is_touched(tmp_path, tree_id, said):
    bench = TestBench(tmp_path, tree_id)
    bench.hears(*said)
    assert bench.job.check.must_be_known
    for word in ("skip", "enough"):
        [told] = bench.hears(word)
        assert told["type"] == "unclear"
        assert "must be known" in told["say"]
    assert bench.job.verdict is None
