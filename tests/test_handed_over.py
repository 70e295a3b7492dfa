"""Mains inside, a swollen pack, a picture tube: the work ends there; nothing is proved, put together or switched on."""

import pytest

from guide.core.jobs.prompts import BEFORE_HEAT
from guide.core.jobs.wording import cause_say
from guide.core.report.customer import customer_page
from guide.core.report.gather import report_of
from guide.edge.screen.facts import headline, progress
from guide.edge.trees import treefile
from tests.worlds import TestBench, shipped, shipped_tree

PACK = "power/battery-dead-or-not-charging"


def ends():
    """Every answer of every shipped tree that ends the work."""
    trees = [shipped_tree(name)[0] for name in shipped()]
    answers = [(tree, check.id, band.name) for tree in trees for check in tree.checks.values() for band in check.bands]
    return [(tree.id, check, band) for tree, check, band in answers if tree.hands_over(check, band)]


def asked_for(bench, check):
    """Answer as a good unit would until `check` is asked."""
    while (standing := bench.last).get("check") != check:
        good = bench.job.check.normal if standing["type"] == "ask" else ()
        bench.hears(good[0] if good else standing["answers"][0])


def led_to(bench, check, answer):
    """Answer until `check` is asked and has got `answer`."""
    asked_for(bench, check)
    bench.hears(answer)


@pytest.mark.parametrize(("tree", "check", "answer"), ends(), ids=lambda v: str(v))
def test_work_that_is_handed_over_ends_with_it_and_nothing_is_switched_on(tmp_path, tree, check, answer):
    bench = TestBench(tmp_path, tree)
    led_to(bench, check, answer)
    assert bench.last["type"] == "verdict"
    assert bench.last["say"].endswith(". Say enough.")
    assert "percent" not in bench.last["say"]
    assert headline(bench.job).what == "STOP HERE"
    assert progress(bench.job).endswith("handed over"), "no check is left"
    bench.hears("enough", "1")
    while bench.last["type"] == "caution":
        bench.hears(bench.last["answers"][0])
    before = len(bench.said)
    bench.hears("done")
    told = bench.said[before:]
    assert [m["type"] for m in told] == ["closed"], "no proof, no reassembly, no function test"
    assert "handed over" in told[0]["say"]
    assert told[0]["proven"] is False
    cause = bench.job.tree.checks[check].then[answer]
    assert cause_say(bench.job, cause) in told[0]["say"]


def test_a_swollen_pack_is_not_to_be_unplugged_first(tmp_path):
    bench = TestBench(tmp_path, PACK)
    bench.hears("swollen", "enough", "1")
    assert bench.last["type"] == "caution"
    assert "Hands off" in bench.last["say"]
    assert "nplug" not in bench.last["say"]


def test_the_customer_is_told_that_nothing_was_repaired(tmp_path):
    bench = TestBench(tmp_path, PACK)
    bench.hears("swollen", "enough", "1", "clear", "done")
    report = report_of(bench.job.tree, bench.store.events("1"), meter=bench.job.meter)
    page = customer_page(report)
    assert "Nothing on it was repaired here: it is for specially trained people." in page.cautions
    assert not any("works again" in line or "proven" in line for line in (*page.done, *page.cautions))
    assert page.done[0].startswith("Done: Hand over to specially trained people")


def test_what_the_work_was_handed_over_for_is_what_it_closes_with_however_the_odds_stand(tmp_path):
    _, text = shipped_tree(PACK)
    strict = treefile.read(text.replace("decide_at: 0.85", "decide_at: 0.999"), "strict.yaml", PACK)
    bench = TestBench(tmp_path, tree=strict, text=text)
    told = bench.hears("swollen", "enough", "close")
    assert not strict.settles(bench.job.verdict.p)
    assert (told[0]["type"], told[0]["cause"]) == ("closed", "refused-swollen-pack")
    assert cause_say(bench.job, "refused-swollen-pack") in told[0]["say"]


def test_a_look_that_must_be_known_is_not_offered_as_unseen(tmp_path):
    bench = TestBench(tmp_path, "fernleaf-gh2/clock-loses-time")
    asked_for(bench, "look-cell")
    assert "can't see" not in bench.last["answers"]
    assert "must be known" in bench.hears("can't see")[0]["say"]


def test_before_heat_the_usual_cautions_are_told_once_and_not_where_nothing_is_to_be_touched(tmp_path):
    bench = TestBench(tmp_path / "bus")
    bench.hears("ready", "12.1", "unplugged", "OL", "enough", "1")
    assert [m["say"] for m in bench.said].count(BEFORE_HEAT) == 1
    bench.hears("done", "unplugged", "OL", "unplugged", "enough", "enough", "1")
    assert [m["say"] for m in bench.said].count(BEFORE_HEAT) == 1, "a second repair"
    unsafe = TestBench(tmp_path / "pack", PACK)
    unsafe.hears("swollen", "enough", "1")
    assert BEFORE_HEAT not in [m["say"] for m in unsafe.said]
