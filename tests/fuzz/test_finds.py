"""Every target on a few hundred mutations, always the same ones; and what fuzzing has found, kept."""

import pytest

from tests.fuzz.mutate import run
from tests.fuzz.run import summary
from tests.fuzz.seeds import seeds
from tests.fuzz.targets import TARGETS

RUNS = {"words": 2000, "event": 6000, "tree": 150, "job": 400, "history": 250}


@pytest.mark.parametrize("name", TARGETS)
def test_no_seed_of_a_target_fails(name):
    for seed in list(seeds(name))[:400]:
        TARGETS[name](seed)


@pytest.mark.parametrize("name", TARGETS)
def test_no_mutation_of_a_seed_fails(name):
    assert run(name, runs=RUNS[name], seed=3, pool=list(seeds(name))) == RUNS[name]


# Inputs that once ended in an error that is not documented, by target.
FINDS = (
    ("history", b"3\x07\xa8\xa8\x17"),  # a reading of the check named ""
    ("history", b"\x05\x07z\x13]\x018"),
    ("tree", b"\xedersioards:\n  u~pl ugged: {powerhazardunsd"),  # the fault was the target's
    ("tree", b"\xed\xa0\x80: \xed\xa0\x80"),
)


@pytest.mark.parametrize(("name", "data"), FINDS)
def test_what_fuzzing_found_stays_mended(name, data):
    TARGETS[name](data)


LOG = """INFO: seed corpus: files: 2
#2\tINITED cov: 544 ft: 544 corp: 1/3002b exec/s: 0 rss: 77Mb
#4096\tpulse  cov: 600 ft: 900 corp: 40/9Kb lim: 60 exec/s: 1150 rss: 78Mb
"""


def test_the_figures_of_a_campaign_are_those_of_its_log_and_one_cut_short_says_so():
    cut = summary(LOG)
    assert (cut["executions"], cut["edges"], cut["features"], cut["a second"]) == (4096, 600, 900, 1150)
    assert cut["interrupted"]
    whole = summary(LOG + "stat::number_of_executed_units: 5000\n")
    assert whole["executions"] == 5000
    assert "interrupted" not in whole
    assert "failed" in summary("no module named atheris")


def test_the_fuzzer_sees_a_target_that_fails(monkeypatch):
    def brittle(data: bytes) -> None:
        assert b"9" not in data

    monkeypatch.setitem(TARGETS, "brittle", brittle)
    with pytest.raises(AssertionError):
        run("brittle", runs=500, seed=1, pool=[b"seed"])
