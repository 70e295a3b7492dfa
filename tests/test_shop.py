"""What closed jobs teach, against closed forms, and how a new job uses it."""

import io
from math import isclose

from hypothesis import given, strategies as st

from guide import cli
from guide.core.jobs import shop
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure, Quantity
from guide.core.reading import Measured, standard_uncertainty
from tests.worlds import FERNLEAF, TestBench, random_trees, shipped_tree

FOUND_BROKEN = ("ready", "12.1", "unplugged", "OL", "enough", "1", "done", "unplugged", "60.2", "works")


def lesson(cause="fuse-open", **bands):
    return shop.Lesson("1", cause, bands, {})


@given(random_trees(), st.lists(st.integers(0, 5), max_size=30))
def test_learned_weights_are_the_dirichlet_mean(tree, picks):
    """Closed form: (a_i + n_i) / (sum a + n), with a_i the tree's weights scaled to PRIOR_JOBS."""
    causes = list(tree.causes)
    lessons = [lesson(causes[i % len(causes)]) for i in picks]
    learned = shop.weights(tree, lessons)
    total = sum(c.weight for c in tree.causes.values())
    for cause, p in learned.items():
        a = shop.PRIOR_JOBS * tree.causes[cause].weight / total
        n = sum(one.cause == cause for one in lessons)
        assert isclose(p, (a + n) / (shop.PRIOR_JOBS + len(lessons)))
    assert isclose(sum(learned.values()), 1)


def test_learned_reliability_is_the_beta_mean():
    """Closed form: (a + hits) / (a + b + n) with a = 0.98 · 50; here 3 hits and 1 miss."""
    tree, _ = shipped_tree(FERNLEAF)
    bands = ["dead", "dead", "dead", "good"]
    lessons = [lesson("fuse-open", **{"feed-volts": band}) for band in bands]
    assert isclose(shop.reliability(tree, lessons)["feed-volts"], (49 + 3) / 54)


def test_a_closed_job_teaches_its_cause_its_bands_and_the_good_readings_after_the_repair(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*FOUND_BROKEN)
    [(job, model, body)] = bench.store.lessons(FERNLEAF)
    assert (job, model) == ("1", "fernleaf gh-2 greenhouse controller")
    assert body["cause"] == "cable-broken"
    assert body["bands"] == {"feed-volts": "good", "bus-ohms": "none"}
    assert body["good"]["bus-ohms"][:2] == [60.2, "ohm"]


def test_the_next_job_starts_from_what_was_learned_and_keeps_to_it(tmp_path):
    for _ in range(4):
        bench = TestBench(tmp_path)
        before = bench.job
        bench.hears(*FOUND_BROKEN)
    assert before.shop is not None
    assert before.shop.jobs == 3
    tree, _ = shipped_tree(FERNLEAF)
    plain = tree.causes["cable-broken"].weight / sum(c.weight for c in tree.causes.values())
    assert before.shop.weights["cable-broken"] > plain


def test_a_new_job_says_which_cause_closed_jobs_raise_and_what_the_tree_alone_gives_it(tmp_path, monkeypatch, capsys):
    """Weights 5, 2, 4, 1 and none 1: the cable has 4 of 13 by the tree; three more of 23 make (20 * 4/13 + 3) / 23."""
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path))
    monkeypatch.setattr("sys.stdin", io.StringIO(""))

    def first_words():
        assert cli.run(["begin", "--tree", FERNLEAF]) == 0
        return capsys.readouterr().out.splitlines()[0]

    assert "taught" not in first_words()
    for _ in range(3):
        bench = TestBench(tmp_path)
        bench.hears(*FOUND_BROKEN)
        bench.store.close()
    said = "What 3 closed jobs here taught counts: cable broken 40 percent, by the tree alone 31."
    assert first_words().endswith(said)


def test_a_corrected_outcome_is_unlearned(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears(*FOUND_BROKEN)
    from guide.core.jobs.events import OutcomeSet

    bench.session.apply((OutcomeSet("fuse-open", "it was the fuse after all"),))
    [(_, _, body)] = bench.store.lessons(FERNLEAF)
    assert body["cause"] == "fuse-open"


def good_boards(*values):
    tree, _ = shipped_tree(FERNLEAF)
    unit = Measure.OHMS.unit
    readings = [Measured(Quantity(v, unit), 0.1) for v in values]
    return tree, [shop.Lesson(str(i), "none", {}, {"bus-ohms": r}) for i, r in enumerate(readings)]


def test_two_good_boards_give_no_reference_and_three_do():
    tree, lessons = good_boards(60.0, 60.1)
    assert shop.references(tree, lessons) == {}
    tree, lessons = good_boards(60.0, 60.1, 60.2)
    reference = shop.references(tree, lessons)["bus-ohms"]
    assert (reference.boards, reference.centre) == (3, 60.1)
    assert reference.low < 60.0 < 60.2 < reference.high


@given(
    st.sampled_from([m for m in Measure if m.takes_a_reading]),
    st.lists(st.tuples(st.floats(-1000, 1000), st.sampled_from([0.0, 0.001, 0.1]), st.sampled_from([0.0, 0.5])),
             min_size=1, max_size=30),
)  # fmt: skip
def test_the_loosest_readings_hold_the_greatest_uncertainty_of_all(measure, told):
    readings = [Measured(Quantity(value, measure.unit), digit, margin) for value, digit, margin in told]
    few = list(shop._loosest(readings))
    assert len(few) <= 6
    spec = HANDHELD.spec(measure)
    assert max(standard_uncertainty(r, spec) for r in few) == max(standard_uncertainty(r, spec) for r in readings)


def test_an_odd_board_is_left_out_and_named():
    tree, lessons = good_boards(60.0, 60.1, 60.2, 60.1, 60.0, 60.1, 60.2, 65.9)
    reference = shop.references(tree, lessons)["bus-ohms"]
    assert reference.left_out == (65.9,)
    assert reference.boards == 7


@given(st.floats(0, 200), st.floats(0, 200))
def test_a_reference_narrows_the_normal_band_and_never_moves_an_edge_outward(a, b):
    tree, _ = shipped_tree(FERNLEAF)
    check = tree.checks["bus-ohms"]
    low, high = min(a, b), max(a, b)
    bands = {band.name: band for band in shop.narrowed(check, low, high)}
    was = check.band("pair")
    assert bands["pair"].low >= was.low
    assert bands["pair"].high <= was.high
    for value in (0.0, 53.9, 54.0, 60.0, 65.9, 66.0, 131.0, 500.0):
        assert sum(band.holds(value) for band in bands.values()) == 1, "still exactly one home"


def test_learning_a_model_reads_every_metered_point_and_closes_as_good(tmp_path):
    from guide.core.jobs.job import EVERY_READING
    from guide.edge.screen.facts import odds_of

    bench = TestBench(tmp_path, sweep=EVERY_READING)
    answers = {"fuse-ohms": "0.3", "bus-ohms": "60.1", "feed-volts": "12.0"}
    asked = []
    while bench.last["type"] != "verdict":
        if bench.last["type"] == "ask":
            asked.append(bench.last["check"])
            bench.hears(answers[bench.last["check"]])
        else:
            bench.hears(bench.last["answers"][0])
    assert asked == ["fuse-ohms", "bus-ohms", "feed-volts"]
    assert not odds_of(bench.job)
    assert "odds" not in bench.types()
    assert bench.last["answers"] == ["enough"], "a good board has no fault to look for"
    said = "Every point is read: 3 readings, each as on a good board. Say enough to keep this as the reference."
    assert bench.last["say"] == said
    bench.hears("enough")
    [(_, _, body)] = bench.store.lessons(FERNLEAF)
    assert body["cause"] == "", "a good board says nothing of how often what fails"
    assert set(body["good"]) == set(answers)
    tree, _ = shipped_tree(FERNLEAF)
    total = sum(c.weight for c in tree.causes.values())
    lessons = [shop.lesson_from("1", body)]
    assert shop.weights(tree, lessons) == {c: cause.weight / total for c, cause in tree.causes.items()}
