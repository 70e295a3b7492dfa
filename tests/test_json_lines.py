"""What a rig reads is what DEVELOPERS says of it: every type, every key, and no key that is never sent."""

import re

import pytest

from guide import app
from guide.core.errors import StoreError
from tests.worlds import FERNLEAF, ROOT, TestBench, shipped

FIELD_BUS = "fernleaf-gh2/field-bus-no-data"
EVERYWHERE = {"type", "job", "say"}


def documented():
    """Return the keys of each type, those that always stand there and all of them, from the table in DEVELOPERS."""
    section = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("## JSON lines")[2].partition("\n## ")[0]
    always, known = {}, {}
    for types, keys in re.findall(r"^\| (`[^|]*) \|[^|]*\| ([^|]*) \|$", section, re.MULTILINE):
        for name in re.findall(r"`(\w+)`", types):
            known[name] = set(re.findall(r"`(\w+)`", keys)) | EVERYWHERE
            always[name] = known[name] - set(re.findall(r"\(`(\w+)`\)", keys))
    known["error"].remove("say")
    always["error"].remove("say")
    return always, known


def passed_over(home, tree):
    """Return what is said where cautions and steps are answered and every check is skipped, up to the verdict."""
    bench = TestBench(home, tree)
    while bench.last["type"] != "verdict":
        standing, asked = bench.last, bench.job.check
        must = standing["type"] == "caution" or (asked is not None and asked.must_be_known)
        bench.hears(standing["answers"][0] if must else "skip")
    return bench.said


@pytest.fixture(scope="module")
def said(tmp_path_factory):
    """Conversations in which everything happens that a rig may meet."""
    home = tmp_path_factory.mktemp("said")
    bus = TestBench(home, FIELD_BUS, intake=app.Intake.FIRST)
    bus.hears(*["skip"] * 6, "fitted", "unplugged", "512", "blue", "505", "3", "where are we", "enough", "1", "done")
    bus.hears("unplugged", "500", "works")
    feed = TestBench(home)
    feed.hears("ready", "12.1", "go back", "-12.05", "no", "11.4", "11.4", "note rust")
    feed.store.append = lambda *_, **__: (_ for _ in ()).throw(StoreError("the disk is full"))
    feed.hears("skip")
    del feed.store.append
    feed.hears("hold for the part until Friday")
    ended = TestBench(home)
    ended.hears("ready", "12.1", "unplugged", "OL")
    ended.hears("something else, rust", spoken=True)
    ended.hears("yes")
    walks = [m for tree in shipped() if tree.startswith(("fernleaf", "general")) for m in passed_over(home, tree)]
    return [*bus.said, *feed.said, *ended.said, *walks]


def test_every_type_of_message_is_documented_and_sent(said):
    _, known = documented()
    assert {m["type"] for m in said} == set(known)


def test_a_message_has_the_keys_that_are_documented_and_no_others(said):
    always, known = documented()
    for message in said:
        assert always[message["type"]] <= set(message) <= known[message["type"]], message


def test_no_key_is_documented_that_is_never_sent(said):
    _, known = documented()
    assert {kind: {key for m in said if m["type"] == kind for key in m} for kind in known} == known


def test_what_waits_for_an_answer_names_the_words_it_takes(tmp_path):
    bench = TestBench(tmp_path, FERNLEAF)
    for line in ("ready", "12.1", "unplugged", "OL", "enough", "1", "done", "unplugged", "60.1"):
        assert bench.last["answers"]
        bench.hears(line)
    assert bench.hears("works")[-1]["type"] == "closed"
