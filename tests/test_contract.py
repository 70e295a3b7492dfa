"""The JSON-lines contract, object by object: which fields each type carries, and of what kind."""

import json
from numbers import Real

import pytest

from guide import app
from guide.core.quantity import Measure
from tests.worlds import TestBench

TEXT, NUMBER, TRUTH, WORDS, THINGS = str, Real, bool, list, dict
OR_NONE = type(None)
FIELDS = {
    "caution": {"id": TEXT, "say": TEXT, "power": TEXT, "answers": WORDS},
    "ask": {
        "check": TEXT, "tree": TEXT, "say": TEXT, "measure": TEXT, "power": TEXT, "setup": TEXT, "red": (TEXT, OR_NONE),
        "black": (TEXT, OR_NONE), "answers": WORDS, "minutes": NUMBER, "retake": TRUTH,
    },
    "read": {
        "check": TEXT, "value": (NUMBER, TEXT, OR_NONE), "unit": (TEXT, OR_NONE), "over_range": TRUTH, "band": TEXT,
        "borderline": TRUTH, "between": WORDS,
    },
    "confirm": {"say": TEXT, "answers": WORDS},
    "odds": {"causes": WORDS},
    "verdict": {
        "cause": TEXT, "p": NUMBER, "rivals": WORDS, "separable": TRUTH, "checks": NUMBER, "minutes": NUMBER,
        "next_best": (THINGS, OR_NONE), "answers": WORDS,
    },
    "repair": {"options": WORDS, "answers": WORDS},
    "prove": {"say": TEXT, "checks": WORDS},
    "closed": {},
    "unclear": {"say": TEXT, "heard": TEXT},
    "held": {"say": TEXT, "reason": TEXT, "until": TEXT},
    "told": {"say": TEXT},
    "sweep": {"rows": WORDS},
}  # fmt: skip
LINES = (
    "yes", "fitted", "nonsense", "unplugged", "0.495", "0.602", "~0.003", "yes", "why", "enough", "2", "done",
    "unplugged", "0.51", "works", "1", "unplugged", "done", "unplugged", "0.512", "works",
)  # fmt: skip


@pytest.fixture(scope="module")
def said(tmp_path_factory):
    """Every message of a whole job on the field bus: a sweep, a word not known, a bypass, a repair, a hold."""
    bench = TestBench(tmp_path_factory.mktemp("contract"), "fernleaf-gh2/field-bus-no-data")
    for line in LINES:
        bench.hears(line.removeprefix("~"), spoken=line.startswith("~"))
    other = TestBench(tmp_path_factory.mktemp("held"))
    other.hears("hold for the customer until Friday")
    return [json.loads(json.dumps(m)) for m in (*bench.said, *other.said)]


def test_the_job_says_every_type_and_no_unknown_one(said):
    assert {m["type"] for m in said} == set(FIELDS)


def test_every_object_carries_its_fields(said):
    for message in said:
        assert isinstance(message["job"], str)
        for name, kind in FIELDS[message["type"]].items():
            assert isinstance(message[name], kind), f"{name} of {message}"


def test_what_waits_lists_the_words_it_takes_and_a_reading_its_unit(said):
    for message in said:
        waits = message["type"] in ("caution", "ask", "confirm", "verdict", "repair")
        assert bool(message.get("answers")) == waits or message["type"] == "unclear"
        assert all(isinstance(word, str) for word in message.get("answers", ()))
        if message["type"] == "ask":
            measure = Measure(message["measure"])
            assert ("unit" in message) == measure.takes_a_reading
            assert message["power"] in ("off", "on", "any")


def test_odds_are_of_every_cause_and_sum_to_one(said):
    for message in said:
        if message["type"] == "odds":
            assert sum(c["p"] for c in message["causes"]) == pytest.approx(1, abs=1e-9)
            assert [set(c) for c in message["causes"]] == [{"id", "p"}] * len(message["causes"])


def test_the_words_listed_are_taken(tmp_path):
    """A rig that answers with the first word listed is always understood."""
    bench = TestBench(tmp_path, "fernleaf-gh2/field-bus-no-data", intake=app.Intake.FIRST)
    for _ in range(60):
        if not bench.last.get("answers"):
            break
        bench.hears(bench.last["answers"][0])
        assert bench.last["type"] not in ("unclear", "error"), bench.last
    assert bench.last["type"] == "closed"
