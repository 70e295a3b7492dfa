"""Tree files: the sample file, every key, and what a broken file is told."""

from hashlib import sha256
from pathlib import Path

import pytest

from guide.core.errors import TreeError
from guide.core.quantity import Measure
from guide.core.tree import NO_HAZARD, NONE, Power
from guide.edge.trees import treefile

TREES = Path(__file__).parents[1] / "trees"
SAMPLE = TREES / "fernleaf-gh2" / "sensor-bus-dead.yaml"

SMALL = """\
version: 1
device: Fernleaf GH-2
symptom: The valve hums
sources: {sheet: Fernleaf sheet, invented}
hazards:
  unplugged: {power: off, say: Unplug it. Say unplugged., until: unplugged}
points: {coil-a: coil end A, coil-b: coil end B}
setups: {hose-off: {say: Take the hose off.}}
access: {lid: {say: Take the lid off., until: open, minutes: 4}}
checks:
  coil:
    ask: Ohms across the coil.
    measure: ohm
    hazard: unplugged
    bands: {short: below 20 ohm, good: 20 ohm to 60 ohm, open: 60 ohm and up or OL}
    source: sheet
    normal: good
    expect: {coil-open: open}
    red: coil-a
    black: coil-b
    setup: hose-off
    access: lid
  history:
    ask: Was it dropped?
    answer: {dropped: [yes, it fell], never: no}
    hazard: none
    p: {coil-open: {dropped: 0.6, never: 0.4}, default: {dropped: 0.2, never: 0.8}}
causes:
  coil-open:
    weight: 3
    say: The coil is open.
    repair: [{do: Fit a new coil, minutes: 20, hazard: unplugged, parts: coil, proof: no}]
    verify: {check: coil, band: good, else: stop}
  other: {weight: 2, say: Something else.}
sweeps: {valve: {say: Along the valve., checks: [coil]}}
""".replace("Fernleaf sheet, invented", '"Fernleaf sheet, invented"')


def read(text):
    return treefile.read(text, "t.yaml", "t")


def faults(text):
    _, findings = treefile.load(text, "t.yaml", "t")
    return [f"{f.where.line}: {f.rule} {f.message}" for f in findings]


def test_the_sample_tree_loads_as_written():
    tree = treefile.read(SAMPLE.read_text(), "sensor-bus-dead.yaml", "fernleaf-gh2/sensor-bus-dead")
    assert list(tree.checks) == ["feed-volts", "fuse-ohms", "probes-off", "bus-ohms"]
    volts = tree.checks["feed-volts"]
    assert volts.measure is Measure.VOLTS_DC
    assert [(b.name, b.low, b.high, b.over_range) for b in volts.bands] == [
        ("dead", None, 1.0, False), ("low", 1.0, 11.4, False), ("good", 11.4, 12.6, False), ("high", 12.6, None, True),
    ]  # fmt: skip
    assert volts.expect == {"fuse-open": ("dead",), "feed-shorted": ("dead", "low")}
    assert volts.sources == ("sheet-7",)
    assert tree.checks["probes-off"].measure is Measure.ASK
    assert tree.checks["probes-off"].band("back").words == ("yes", "it comes back")
    assert tree.hazards["one-hand"].power is Power.ON
    assert [r.minutes for r in tree.causes["fuse-open"].repairs] == [15.0, 5.0]
    assert tree.causes["fuse-open"].verify.otherwise == "probes-off"


def test_every_datum_knows_its_line():
    tree = treefile.read(SAMPLE.read_text(), "f.yaml", "x")
    lines = SAMPLE.read_text().splitlines()
    check = tree.checks["bus-ohms"]
    assert str(check.where) == f"f.yaml:{lines.index('  bus-ohms:') + 1}"
    assert lines[check.mark("bands.lone").line - 1].startswith("    bands: {short")
    assert check.mark("no such key") == check.where
    assert lines[tree.mark("start").line - 1] == "start: feed-volts"
    assert lines[tree.sources["two-120"].where.line - 1].startswith("  two-120:")
    repair = tree.causes["fuse-open"].repairs[1]
    assert "Swap the whole" in lines[repair.where.line - 1]
    assert "else: probes-off" in lines[tree.causes["fuse-open"].verify.where.line - 1]


def test_keys_left_out_have_the_documented_values():
    tree = read(SMALL)
    coil, history = tree.checks["coil"], tree.checks["history"]
    assert (tree.start, tree.decide_at, tree.family) == ("", 0.9, "")
    assert (coil.minutes, coil.reliability, coil.then) == (2.0, 0.98, {})
    assert (history.setup, history.access, history.hazard) == ("as_found", (), NO_HAZARD)
    assert (tree.setups["hose-off"].until, tree.setups["hose-off"].minutes) == ("ready", 1.0)
    assert tree.access["lid"].minutes == 4.0
    assert history.table["default"] == {"dropped": 0.2, "never": 0.8}
    assert (coil.red, coil.black, coil.access) == ("coil-a", "coil-b", ("lid",))
    assert tree.sweeps["valve"].checks == ("coil",)


def test_a_good_unit_is_a_cause_even_where_the_file_does_not_name_it():
    assert read(SMALL).causes[NONE].weight == read(SMALL).causes["other"].weight == 2.0
    named = SMALL.replace("  other:", "  none: {weight: 5, say: All is well.}\n  other:")
    assert read(named).causes[NONE].weight == 5.0


def test_words_that_yaml_calls_booleans_or_numbers_stay_words():
    odd = SMALL.replace("[yes, it fell], never: no", "[yes, on, 1:30, 012, ~], never: [no, off, null]")
    bands = read(odd).checks["history"].bands
    assert bands[0].words == ("yes", "on", "1:30", "012", "~")
    assert bands[1].words == ("no", "off", "null")


@pytest.mark.parametrize(
    ("spelled", "measure"),
    [("V dc", "volts_dc"), ("V ac", "volts_ac"), ("A dc", "amps_dc"), ("ohm", "ohms"), ("diode", "diode"),
     ("continuity", "continuity"), ("Hz", "hertz"), ("degC", "celsius"), ("ohms", "ohms"), ("volts_dc", "volts_dc")],
)  # fmt: skip
def test_a_measure_is_spelled_as_the_trade_or_the_contract_does(spelled, measure):
    unit = Measure(measure).unit
    text = SMALL.replace("measure: ohm", f"measure: {spelled}").replace("0 ohm", f"0 {unit}")
    tree, findings = treefile.load(text, "t.yaml", "t")
    assert findings == ()
    assert tree.checks["coil"].measure == measure


def test_a_twin_measures_what_its_halves_do_and_touches_nothing():
    twin = "  pair: {twin: [coil, coil-2], bands: {alike: below 2 ohm, apart: 2 ohm and up}, normal: alike}\n"
    tree, _ = treefile.load(SMALL.replace("  history:", twin + "  history:"), "t.yaml", "t")
    assert tree.checks["pair"].twin == ("coil", "coil-2")
    assert (tree.checks["pair"].measure, tree.checks["pair"].hazard) == (Measure.OHMS, NO_HAZARD)


def test_the_hash_is_that_of_the_text():
    assert read(SMALL).sha256 == sha256(SMALL.encode()).hexdigest()
    assert read(SMALL).sha256 != read(SMALL + "# more\n").sha256


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("symptom: The valve hums\n", "", "1: T00 the tree has no `symptom`; add it"),
        ("weight: 3", "weigth: 3", "30: T00 causes coil-open weigth is not a key here; did you mean `weight`?"),
        ("weight: 3", "weight: heavy", "30: T00 causes coil-open weight wants a number, as in 0.85"),
        ("weight: 3", "weight: nan", "30: T00 causes coil-open weight wants a number with an end"),
        ("power: off", "power: of", "6: T00 hazards unplugged power wants one of off, on, any"),
        ("measure: ohm", "measure: ohmz", "13: T00 checks coil measure: `ohmz` is no measure; write one of V dc, "),
        ("    measure: ohm\n", "", "11: T00 coil: has bands but no measure; add one, as in `measure: ohm`"),
        ("    ask: Was it dropped?\n", "", "23: T00 history: has no `ask`; add the prompt"),
        ("below 20 ohm", "< 20 ohm", "15: T00 coil short: `< 20 ohm` is no band; write `below X`, "),
        ("below 20 ohm", "below 20 V", "15: T04 coil is measured in ohm, not V; write the edges of short in ohm"),
        ("  coil:", "  the coil:", "11: T00 checks the coil is no name; use letters, digits"),
        ("minutes: 20", "minutes: -1", "32: T00 causes coil-open repair 0 minutes: input should be greater"),
        ("proof: no", "proof: maybe", "32: T00 causes coil-open repair 0 proof wants yes or no"),
        ("checks:\n", "cheques:\n", "10: T00 cheques is not a key here; did you mean `checks`?"),
        ("do: Fit a new coil", "does: Fit", "32: T00 causes coil-open repair 0 does is not a key here; did you"),
        ("do: Fit a new coil, ", "", "32: T00 causes coil-open repair 0 has no `do`; add it"),
        ("measure: ohm", "measure: OHM", "13: T00 checks coil measure: `OHM` is no measure; write `ohm`"),
        ("below 20 ohm", "below 20 Ohm", "15: T00 coil short: `20 Ohm` is no quantity; write `20 ohm`"),
        ("below 20 ohm", "below 2,5 ohm", "15: T00 checks coil bands: if a comma stands before `5 ohm`, write dec"),
        ("do: Fit a new coil", "do: Wait, fit a new coil", "32: T00 causes coil-open repair 0: if a comma stands bef"),
        ("source: sheet", "twin: [a, b, c]", "16: T00 checks coil twin holds too many entries; name two"),
        ("say: The coil is open.", "say: ", "31: T00 causes coil-open say is empty; fill it in"),
        ("  other: {weight: 2, say: Something else.}", "  other: [1]", "34: T00 causes other wants a map of keys"),
        ("expect: {coil-open: open}", "expect: {coil-open: {open: 1}}", "18: T00 checks coil expect coil-open wants a"),
        ("source: sheet", "source: []", "16: T00 checks coil source holds too few entries"),
    ],
)  # fmt: skip
def test_a_broken_file_is_told_where_what_and_what_to_do(old, new, said):
    assert old in SMALL
    found = faults(SMALL.replace(old, new))
    assert any(f.startswith(said) for f in found), found


def test_all_mistakes_are_told_not_the_first_only():
    broken = SMALL.replace("weight: 3", "weight: x").replace("power: off", "power: of").replace("symptom:", "smell:")
    assert [f.split(":")[0] for f in faults(broken)] == ["1", "3", "6", "30"]
    with pytest.raises(TreeError) as told:
        read(broken)
    assert str(told.value).splitlines()[0] == "t.yaml:1: the tree has no `symptom`; add it"
    assert len(str(told.value).splitlines()) == 4


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("weight: 3", "wieght: 3"),  # lacking its weight is the same mistake
        ("below 20 ohm", "below 2,5 ohm"),  # the half behind the comma is no entry of its own
        ("sources: {sheet: ", "sources: {sheet: From, "),
        ("do: Fit a new coil", "do: Wait, fit a new coil"),
        ("  history:\n", "  coil:\n"),  # a part pasted and not renamed: none of its keys is a second mistake
    ],
)
def test_one_slip_is_told_once(old, new):
    assert old in SMALL
    assert len(faults(SMALL.replace(old, new, 1))) == 1
