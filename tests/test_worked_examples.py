"""Worked examples against the trees: each figure is worked out again by a second method and must fall where trees say.

Figures and their ids are copied from the project's own sheet of worked electrical examples. `inputs` come with a
worked answer; the second method is not the sheet's formula read aloud but Kirchhoff's laws solved by bisection, steps
of time or temperature, or a sum, so a slip in either shows.
"""

from __future__ import annotations

from collections.abc import Callable
from math import log

import pytest

from guide.core.reading import Band
from tests.worlds import shipped, shipped_tree

IS, N, RS, VT = 4.352e-9, 1.906, 0.6458, 0.025692579  # 1N4148-like model, dio.1n4148.*; kT/q at 25 degC, w.dio.vt


def solved(balance: Callable[[float], float], low: float, high: float) -> float:
    """Return where `balance`, which falls with its argument, crosses zero between `low` and `high`."""
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if balance(middle) > 0 else (low, middle)
    return (low + high) / 2


def node(*branches: tuple[float, float]) -> float:
    """Return the volts of a node fed through (volts, ohms) branches: the currents into it sum to zero."""
    return solved(lambda v: sum((e - v) / r for e, r in branches), -1e3, 1e3)


def junction(amps: float, across: float | None = None) -> float:
    """Return the volts of the model diode at `amps`, a resistor of `across` ohm beside it."""

    def left(volts: float) -> float:
        through = solved(lambda i: volts - i * RS - N * VT * log(i / IS + 1), 0.0, 0.1)
        return amps - through - (volts / across if across else 0.0)

    return solved(left, 0.0, 3.0)


def regulated(reference: float, top: float, bottom: float) -> float:
    """Return the output at which the divider gives the reference, found by stepping the output to it."""
    return solved(lambda out: reference - node((out, top), (0.0, bottom)), 0.0, 100.0)


def discharged(farad: float, ohm: float, volts: float, seconds: float) -> float:
    """Return the volts left after bleeding, the capacitor followed through 100,000 steps of time."""
    step = seconds / 100_000
    for _ in range(100_000):
        volts -= volts / ohm / farad * step
    return volts


def warmed(ohm: float, b: float, start: float, end: float) -> float:
    """Return a thermistor's resistance, dR/dT = -B R / T^2 followed through 100,000 steps of temperature, degC."""
    step = (end - start) / 100_000
    for i in range(100_000):
        ohm -= b * ohm / (273.15 + start + i * step) ** 2 * step
    return ohm


def platinum(celsius: float) -> float:
    """Return the ohms of a PT100 at 0 degC and up (IEC 60751 coefficients, pt100.coef)."""
    return 100 * (1 + 3.9083e-3 * celsius - 5.775e-7 * celsius**2)


# id, the sheet's answer, its tolerance, the second method.
EXAMPLES: list[tuple[str, float, float, Callable[[], float]]] = [
    ("w.dio.1mA", 0.605175, 1e-3, lambda: junction(1e-3)),
    ("w.dio.0p5mA", 0.570909, 1e-3, lambda: junction(0.5e-3)),
    ("w.dio.0p1mA", 0.491838, 1e-3, lambda: junction(0.1e-3)),
    ("w.dio.par1k", 0.564144, 5e-3, lambda: junction(1e-3, 1000)),
    ("w.dio.par330", 0.328818, 5e-3, lambda: junction(1e-3, 330)),
    ("w.usb.idle", 3.0, 1e-3, lambda: node((3.3, 1500), (0.0, 15_000))),
    ("w.usb.idle_min", 2.701422, 1e-3, lambda: node((3.0, 1575), (0.0, 14_250))),
    ("w.usbc.1a5", 0.940959, 1e-3, lambda: node((5.0, 22_000), (0.0, 5100))),
    ("w.usbc.default", 0.417349, 1e-3, lambda: node((5.0, 56_000), (0.0, 5100))),
    ("w.loading", 1.428571, 1e-3, lambda: node((3.0, 1e6), (0.0, 1e6), (0.0, 10e6))),
    ("w.can two", 60.0, 1e-9, lambda: solved(lambda r: 1 / r - 1 / 120 - 1 / 120, 1.0, 1e3)),
    ("w.can.nodes", 56.603774, 1e-3, lambda: 1 / (1 / 60 + sum(1 / 30_000 for _ in range(30)))),
    ("w.buck", 3.314932, 1e-3, lambda: regulated(0.6, 100e3, 22.1e3)),
    ("w.ldo", 3.2, 1e-3, lambda: solved(lambda out: min(3.3, 3.5 - 0.3) - out, 0.0, 5.0)),
    ("w.ldo.p", 0.68, 1e-3, lambda: 5.0 * 0.4 - 3.3 * 0.4),
    ("w.short.drop", 5.9112e-3, 1e-2, lambda: sum(1.7241e-8 / 35e-6 for _ in range(12))),
    ("w.bleed", 10.0, 5e-3, lambda: discharged(2200e-6, 1448.874289, 48.0, 5.0)),
    ("w.spk low", 5.2, 1e-9, lambda: solved(lambda r: 0.65 - r / 8, 0, 100)),
    ("w.spk high", 7.2, 1e-9, lambda: solved(lambda r: 0.90 - r / 8, 0, 100)),
    ("w.bl", 24.8, 1e-9, lambda: sum([3.1] * 8)),
    ("w.relay", 400.0, 1e-3, lambda: solved(lambda r: 12 * 12 / r - 0.36, 1.0, 1e4)),
    ("w.heater", 14.4, 1e-3, lambda: solved(lambda r: 24 * 24 / r - 40, 1.0, 1e4)),
    ("w.ntc.40", 5758.763243, 5e-3, lambda: warmed(10_000, 3435, 25.0, 40.0)),
    ("w.pt.inv", 29.992449, 1e-3, lambda: solved(lambda t: 111.67 - platinum(t), 0.0, 99.0)),
]  # fmt: skip
ANSWERS = {name: answer for name, answer, _, _ in EXAMPLES}


@pytest.mark.parametrize(("name", "answer", "tolerance", "second"), EXAMPLES, ids=[e[0] for e in EXAMPLES])
def test_a_second_method_finds_the_worked_answer(name, answer, tolerance, second):
    assert second() == pytest.approx(answer, rel=tolerance)


# id of the example, tree, check, the band the worked answer must fall in.
HOMES = [
    ("w.dio.1mA", "power/dc-input-no-power", "protection-diode", "silicon"),
    ("w.dio.0p5mA", "power/dc-input-no-power", "protection-diode", "silicon"),
    ("w.dio.0p1mA", "display/backlight-dark", "diode-forward", "junction"),
    ("w.dio.1mA", "display/backlight-dark", "diode-forward", "junction"),
    ("w.usb.idle", "ports/usb2-device-not-recognised", "dp-volts", "high"),
    ("w.usb.idle_min", "ports/usb2-device-not-recognised", "dp-volts", "high"),
    ("w.can two", "buses/rs485-or-can-dead", "bus-ohms", "pair"),
    ("w.can.nodes", "buses/rs485-or-can-dead", "bus-ohms", "pair"),
    ("w.buck", "power/buck-converter-wrong-output", "output-volts", "above"),
    ("w.buck", "power/dc-input-no-power", "rail-one-volts", "three-three-rail"),
    ("w.ldo", "power/linear-regulator-wrong-output", "output-volts", "up"),
    ("w.spk low", "audio/no-sound", "speaker-ohms", "coil"),
    ("w.spk high", "audio/no-sound", "speaker-ohms", "coil"),
]


def home(tree_id: str, check: str, value: float) -> Band:
    tree, _ = shipped_tree(tree_id)
    return next(b for b in tree.checks[check].bands if b.holds(value))


@pytest.mark.parametrize(("name", "tree_id", "check", "band"), HOMES)
def test_a_worked_answer_falls_in_the_band_of_a_good_unit(name, tree_id, check, band):
    tree, _ = shipped_tree(tree_id)
    assert home(tree_id, check, ANSWERS[name]).name == band
    assert band in tree.checks[check].normal


def test_a_regulator_in_drop_out_leaves_less_than_the_edge_of_its_tree():
    """w.ldo: 3.5 V in and 3.2 V out leave 0.3 V; 5 V in and 3.3 V out, as in w.ldo.p, leave 1.7 V."""
    regulator = "power/linear-regulator-wrong-output"
    assert home(regulator, "drop-volts", 3.5 - ANSWERS["w.ldo"]).name == "little"
    assert home(regulator, "drop-volts", 5.0 - 3.3).name == "some"


def test_a_lit_string_reads_as_boosting_from_every_usual_feed_and_an_idle_boost_as_idle():
    """w.bl: 24.8 V over 3.7, 5 and 12 V. Idle, the output is the input less one diode (bl.boost.in), here w.dio.1mA."""
    for feed in (3.7, 5.0, 12.0):
        assert home("display/backlight-dark", "boost-volts", ANSWERS["w.bl"] - feed).name == "boosting"
    assert home("display/backlight-dark", "boost-volts", -ANSWERS["w.dio.1mA"]).name == "idle"


def test_lead_resistance_alone_never_moves_a_speaker_or_a_fuse_to_another_band():
    """w.leads: 0.22 ohm of leads on 5.2 ohm and on 0.15 ohm (w.polyfuse)."""
    assert home("audio/no-sound", "speaker-ohms", 5.2 + 0.22).name == "coil"
    assert home("display/backlight-dark", "fuse-ohms", 0.15 + 0.22).name == "shut"


# Numbers a tree states in words, and the example they repeat.
STATED = [
    ("w.buck", "power/buck-converter-wrong-output", "gives 3.31 V", 3.31, 0.005),
    ("w.ldo", "power/linear-regulator-wrong-output", "gives 3.2 V", 3.2, 0.005),
    ("w.ldo.p", "power/linear-regulator-wrong-output", "is 0.68 W", 0.68, 0.005),
    ("w.bl", "display/backlight-dark", "take 24.8 V", 24.8, 0.05),
    ("w.spk low", "audio/no-sound", "so 5.2 to", 5.2, 0.05),
    ("w.spk high", "audio/no-sound", "to 7.2 ohm", 7.2, 0.05),
]


@pytest.mark.parametrize(("name", "tree_id", "words", "number", "last_digit"), STATED)
def test_a_number_a_tree_states_is_the_worked_one(name, tree_id, words, number, last_digit):
    assert tree_id in shipped()
    _, text = shipped_tree(tree_id)
    assert words in text
    assert number == pytest.approx(ANSWERS[name], abs=last_digit)
