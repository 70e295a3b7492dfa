"""What a verdict is worth, and a technician who answers only from the listed answers."""

import pytest

from tests.physics import maps
from tests.physics.driver import Bench, Sight
from tests.physics.score import Score, named, score

RAIL = maps.load("d_shorted_rail")


@pytest.mark.parametrize(
    ("fault", "causes", "graded"),
    [
        ("c2_short", {"cap-2"}, Score.RIGHT),
        ("c1_short", {"regulator"}, Score.RIGHT),  # no stored reading separates the two
        ("c1_short", {"cap-1", "regulator"}, Score.GROUP),
        ("c2_short", {"cap-2", "cap-9"}, Score.GROUP),  # this board has no ninth capacitor
        ("c2_short", {"cap-2", "cap-3"}, Score.UNSURE),  # a reading could have told them apart
        ("c2_short", {"cap-2", "none"}, Score.UNSURE),
        ("c2_short", {"other"}, Score.UNSURE),
        ("c2_short", {"cap-3"}, Score.WRONG),
        ("c2_short", {"none"}, Score.WRONG),
        ("c2_short", {"cap-9"}, Score.WRONG),
        ("none", {"none"}, Score.RIGHT),
        ("none", {"cap-2"}, Score.WRONG),
    ],
)
def test_a_verdict_is_graded_by_what_could_have_been_known(fault, causes, graded):
    assert score(RAIL, fault, causes) is graded


def test_a_verdict_of_several_names_them_all():
    assert named({"cause": "a", "separable": True}) == ("a",)
    assert named({"cause": "a", "separable": False, "causes": ["a", "b"]}) == ("a", "b")


def _asked(**more):
    return {"type": "ask", "check": "x", "measure": "volts_dc", "power": "on", "setup": "inject-feed", **more}


def test_a_reading_is_refused_in_the_wrong_power_state():
    bench = Bench(RAIL.section.board("none", 0), RAIL, Sight.SEES)
    with pytest.raises(AssertionError, match="bench unknown"):
        bench.answer(_asked(red="cap-1", black="far"))


def test_what_the_board_has_not_cannot_be_reached():
    bench = Bench(RAIL.section.board("none", 0), RAIL, Sight.SEES, power="on")
    assert bench.answer(_asked(red="cap-9", black="far")) == "can't reach"
    assert bench.answer(_asked(red="cap-1", black="far", setup="elsewhere")) == "can't reach"
    assert bench.answer(_asked(red="cap-8", black="far")) == "0.00 mV"


def test_blind_eyes_see_nothing_but_remember():
    bench = Bench(RAIL.section.board("none", 0), RAIL, Sight.BLIND)
    look = {"type": "ask", "check": "look", "measure": "look", "answers": ["clean", "burnt", "can't see"]}
    asked = {"type": "ask", "check": "opened-before", "measure": "ask", "answers": ["yes", "no"]}
    felt = {"type": "ask", "check": "warm", "measure": "ask", "answers": ["cold", "chip"]}
    assert [bench.answer(m) for m in (look, asked, felt)] == ["can't see", "no", "skip"]


def test_an_answer_that_is_not_offered_is_never_given():
    bench = Bench(RAIL.section.board("none", 0), RAIL, Sight.SEES)
    with pytest.raises(AssertionError, match="not among"):
        bench.answer({"type": "ask", "check": "look", "measure": "look", "answers": ["burnt"]})


@pytest.mark.parametrize(("fault", "said"), [("none", "same"), ("heater_low", "lower"), ("heater_open", "higher")])
def test_what_is_worked_out_follows_the_meter_even_with_blind_eyes(fault, said):
    """A heater of 12 V and 24 W is 12 * 12 / 24 = 6 ohm (Joule); half shorted it reads 3.3 ohm, open OL."""
    heater = maps.load("i_heater_output")
    bench = Bench(heater.section.board(fault, 0), heater, Sight.BLIND)
    ask = {"type": "ask", "check": "load-label", "measure": "ask", "answers": ["same", "lower", "higher", "no-label"]}
    assert bench.answer(ask) == said
