"""The technician's meter as a file: what it may say, and one clear line with its place for what it may not."""

import pytest

from guide.core.errors import BadInput
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.edge import profilefile
from guide.edge.profilefile import profile_from


def loaded(tmp_path, text):
    path = tmp_path / "meter.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return profile_from(path)


def test_the_example_that_help_shows_is_a_profile(tmp_path):
    found = loaded(tmp_path, profilefile.EXAMPLE)
    ohms = found.modes[Measure.OHMS]
    assert found.name == "bench 6000"
    assert (ohms.percent, ohms.counts, ohms.lead_ohm, ohms.lead_margin_ohm) == (0.5, 3, 0.15, 0.15)
    assert ohms.resolution_at(500) == pytest.approx(0.1)
    assert found.modes[Measure.CONTINUITY].beep_below_ohm == 30
    assert found.modes[Measure.CONTINUITY].lead_ohm == 0.15
    assert found.modes[Measure.VOLTS_DC] == HANDHELD.modes[Measure.VOLTS_DC]


def test_an_empty_file_is_the_default_handheld(tmp_path):
    assert loaded(tmp_path, "") == HANDHELD


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("name = 'x'\n[omhs]\npercent = 1\n", 2, "a meter has no omhs; use"),
        ("[ohms]\npercent = 1\nprecent = 2\n", 3, "ohms has no precent; use ranges, percent"),
        ("[ohms]\npercent = 'one'\n", 2, "percent is a number"),
        ("[ohms]\npercent = nan\n", 2, "percent is a number"),
        ("[ohms]\npercent = true\n", 2, "percent is a number"),
        ("[ohms]\npercent = -1\n", 2, "percent is between 0 and 50"),
        ("\n[ohms]\nranges = [600, 60]\n", 3, "ranges rise"),
        ("[ohms]\nranges = []\n", 2, "ranges is a list"),
        ("[ohms]\nbeep_below = 30\n", 2, "ohms has no beep_below"),
        ("[diode]\ntest_current = 0\n", 2, "test_current is between"),
        ("leads = 99\n", 1, "leads is between 0 and 10"),
        ("name = 3\n", 1, "name is a word"),
        ("ohms = 3\n", 1, "ohms is a section"),
        ("name = 'x'\n[ohms\n", 2, "not TOML"),
        (b"name = 'x'\n\xff\n", 2, "not UTF-8"),
    ],
)
def test_what_a_profile_may_not_say_is_told_with_its_line(tmp_path, text, line, said):
    with pytest.raises(BadInput) as told:
        loaded(tmp_path, text)
    assert str(told.value).startswith(f"{tmp_path / 'meter.toml'}:{line}: ")
    assert said in str(told.value)
    assert "\n" not in str(told.value)


def test_a_missing_or_huge_file_is_told(tmp_path):
    with pytest.raises(BadInput, match="No such file"):
        profile_from(tmp_path / "none.toml")
    with pytest.raises(BadInput, match="larger than 64 KiB"):
        loaded(tmp_path, "#" * 70_000)
