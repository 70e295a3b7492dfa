"""Words to trees: right tree first whatever the order and the slips, ties told, nothing for talk of something else."""

import random
from functools import cache

import pytest
from hypothesis import given, strategies as st

from guide.core.symptoms import FITS, LONGEST_WORD, Head, _distance, leading, likeness, match, tokens

HEADS = (
    Head("bus", "Fernleaf GH-2 greenhouse controller", "Every probe shows dashes, the sensor bus is dead",
         ("sensor bus dead", "probes all dashes")),
    Head("input", "any board with a DC input", "No power, the board is dead on its DC input",
         ("no power", "dead board", "does not turn on", "no lights")),
    Head("port", "any device with a USB port", "USB port is dead, the computer does not recognise the device",
         ("usb not recognised", "usb device not detected", "computer does not see it", "usb dead")),
    Head("rail", "any board with a low rail", "A supply rail is shorted to ground",
         ("rail shorted", "short on a rail", "supply trips", "draws too much current", "one part gets hot")),
    Head("valve", "Fernleaf GH-2 greenhouse controller", "The valve hums and stays shut", ("valve hums",)),
)  # fmt: skip
PHRASES = [(h.id, text) for h in HEADS for text in (h.symptom, *h.heard_as)]


def first(said):
    found = match(said, HEADS)
    return found[0].tree if found and len(leading(found)) == 1 else None


@pytest.mark.parametrize(
    ("said", "tree"),
    [("usb dead", "port"), ("USB not recognized", "port"), ("usb is not detectd", "port"), ("Won't turn on!", "input"),
     ("nopower", "input"), ("powr", "input"), ("board ded", "input"), ("short to groud on the rail", "rail"),
     ("probs all dashes", "bus"), ("dashes, on all the probes", "bus"), ("valve is humming", "valve"),
     ("it draws to much current and gets hot", "rail"), ("green house controller, sensor bus", "bus"),
     ("the customer dropped it and now the computer doesn't see it any more", "port")],
)  # fmt: skip
def test_words_as_people_type_them_find_their_tree(said, tree):
    assert first(said) == tree


@pytest.mark.parametrize(
    "said", ["", "   ", "?!", "the", "not", "no", "coffee machine leaks water", "🙂", "0", "xyzzy " * 500]
)
def test_words_that_say_nothing_a_tree_knows_find_none(said):
    assert match(said, HEADS) == ()


@pytest.mark.parametrize(("tree", "phrase"), PHRASES)
def test_a_trees_own_words_find_it_with_the_full_score(tree, phrase):
    found = match(phrase, HEADS)
    assert (found[0].tree, found[0].phrase) == (tree, phrase)
    assert found[0].score == pytest.approx(1.0)


@pytest.mark.parametrize(("tree", "phrase"), PHRASES)
def test_a_trees_own_words_find_it_in_any_order(tree, phrase):
    words, draw = phrase.split(), random.Random(phrase)
    for _ in range(5):
        draw.shuffle(words)
        assert match(" ".join(words), HEADS)[0].tree == tree


@pytest.mark.parametrize(("tree", "phrase"), PHRASES)
def test_one_slip_in_a_word_of_five_letters_or_more_still_finds_it(tree, phrase):
    """Every letter left out, doubled or changed over with the next, in every such word."""
    for word in (w for w in phrase.split() if len(w) >= 5 and w.isalpha()):
        for i in range(1, len(word)):
            for wrong in (
                word[:i] + word[i + 1 :],
                word[:i] + word[i] + word[i:],
                word[: i - 1] + word[i] + word[i - 1] + word[i + 1 :],
            ):
                assert tree in {m.tree for m in leading(match(phrase.replace(word, wrong), HEADS))}, wrong


def test_a_device_alone_finds_its_trees_as_a_tie():
    found = match("fernleaf", HEADS)
    assert [m.tree for m in leading(found)] == ["bus", "valve"]
    assert [m.tree for m in leading(match("GH2", HEADS))] == ["bus", "valve"]


def test_trees_that_fit_alike_are_all_told():
    assert {m.tree for m in leading(match("dead", HEADS))} == {"input", "port"}
    twice = (*HEADS, Head("valve-2", "another", "The valve hums and stays shut", ("valve hums",)))
    found = leading(match("valve hums", twice))
    assert [(m.tree, m.score) for m in found] == [("valve", 1.0), ("valve-2", 1.0)]


def test_a_symptom_turned_round_by_not_is_another():
    heads = (Head("on", "d", "light on", ("lights",)), Head("off", "d", "no light", ()))
    assert match("no light", heads)[0].tree == "off"
    assert match("light on", heads)[0].tree == "on"


def test_ranking_does_not_depend_on_the_order_of_the_library():
    for said in ("dead", "port", "fernleaf", "it is dead and hot"):
        assert match(said, HEADS) == match(said, HEADS[::-1])


@given(st.text(max_size=300))
def test_any_text_gets_scores_between_the_threshold_and_one_best_first(said):
    found = match(said, HEADS)
    scores = [m.score for m in found]
    assert all(FITS <= s <= 1 + 1e-9 for s in scores)
    assert scores == sorted(scores, reverse=True)
    assert all(len(w) <= LONGEST_WORD for w in tokens(said))


WORD = st.text(alphabet="abcdes", min_size=1, max_size=7)


@given(WORD, WORD)
def test_likeness_is_the_same_both_ways_and_one_only_for_the_same_word(one, other):
    assert likeness(one, other) == likeness(other, one)
    assert (likeness(one, other) == 1.0) == (one == other)


@given(WORD, WORD)
def test_the_distance_is_that_of_its_definition(one, other):
    """Second method: the recurrence of optimal string alignment as defined, top down."""

    @cache
    def by_definition(i, j):
        if not i or not j:
            return i + j
        choices = [by_definition(i - 1, j) + 1, by_definition(i, j - 1) + 1,
                   by_definition(i - 1, j - 1) + (one[i - 1] != other[j - 1])]  # fmt: skip
        if i > 1 and j > 1 and one[i - 1] == other[j - 2] and one[i - 2] == other[j - 1]:
            choices.append(by_definition(i - 2, j - 2) + 1)
        return min(choices)

    exact = by_definition(len(one), len(other))
    assert _distance(one, other, 9) == exact
    assert _distance(one, other, 1) == min(exact, 2)
