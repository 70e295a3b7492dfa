"""The technician's own meter: kept once it has been read through, used by every job from then on."""

import pytest

from guide import cli
from guide.commands import common
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def test_without_one_a_usual_handheld_is_taken(home):
    assert common.profile() == HANDHELD


def test_a_profile_is_kept_and_used(home, tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text('name = "bench 6000"\n[ohms]\npercent = 0.2\n')
    assert cli.run(["meter", "--profile", str(file)]) == 0
    own = common.profile()
    assert own.name == "bench 6000"
    assert own.spec(Measure.OHMS).percent == 0.2
    assert (home / "meter.toml").stat().st_mode & 0o777 == 0o600


def test_a_broken_profile_leaves_the_one_before(home, tmp_path, capsys):
    file = tmp_path / "mine.toml"
    file.write_text("[ohms]\npercent = -3\n")
    assert cli.run(["meter", "--profile", str(file)]) == 2
    assert "mine.toml:2" in capsys.readouterr().err
    assert common.profile() == HANDHELD


def test_leads_once_nulled_are_taken_off(home):
    assert cli.run(["meter", "--leads", "0.31"]) == 0
    assert cli.run(["meter", "--leads", "0.12"]) == 0
    assert common.profile().spec(Measure.OHMS).lead_ohm == 0.12
    assert cli.run(["meter", "--leads", "40"]) == 2
