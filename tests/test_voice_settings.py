"""The voice's settings file: what it sets, and how mistakes in it are told."""

import pytest

from guide import cli
from guide.commands import doctor
from guide.core.errors import BadInput
from guide.edge.voice import devices, listeners
from guide.edge.voice.devices import Device
from guide.edge.voice.settings import KEYS, Duplex, Listens, VoiceSettings, settings
from guide.edge.voice.speaker import Verbosity
from tests.worlds import FERNLEAF


def written(tmp_path, text):
    (tmp_path / "voice.toml").write_text(text, encoding="utf-8")
    return settings(tmp_path)


def test_without_a_file_everything_has_its_default(tmp_path):
    assert settings(tmp_path) == VoiceSettings()
    assert settings(tmp_path).duplex is Duplex.HALF


def test_what_is_written_is_used(tmp_path):
    found = written(
        tmp_path, 'microphone = "headset"\nrate = 130\nduplex = "full"\nlisten = "key"\nsay = "short"\n'
    )
    assert found == VoiceSettings(
        microphone="headset", rate=130, duplex=Duplex.FULL, listen=Listens.KEY, say=Verbosity.SHORT
    )


MISTAKES = [
    ("rate = 1000\n", 1, "80 to 300"),
    ("# pace\n\nrate = true\n", 3, "whole number"),
    ('rate = 130\nduplex = "both"\n', 2, "half or full"),
    ("duplex = [1]\n", 1, "half or full"),
    ('\nlisten = "always"\n', 2, 'write listen = "open"'),
    ('say = "nothing"\n', 1, "full or short"),
    ("microphone = 3\n", 1, "quotes"),
    ('voice = "America"\nmicrofone = "x"\n', 2, "microphone"),
    ("[duplex]\nx = 1\n", 1, "half or full"),
    ("\n\nrate 130\n", 3, "not TOML"),
]


@pytest.mark.parametrize(("text", "line", "told"), MISTAKES)
def test_a_mistake_is_one_line_that_names_file_and_line(tmp_path, text, line, told):
    with pytest.raises(BadInput, match=told) as raised:
        written(tmp_path, text)
    assert f"voice.toml:{line}: " in str(raised.value)
    assert "\n" not in str(raised.value)


def test_a_file_that_is_no_text_is_told_with_its_line(tmp_path):
    (tmp_path / "voice.toml").write_bytes(b'rate = 130\nvoice = "\xff"\n')
    with pytest.raises(BadInput, match=r"voice\.toml:2: not UTF-8"):
        settings(tmp_path)


@pytest.mark.parametrize("command", [["begin", "--tree", FERNLEAF, "--voice"], ["resume", "--voice"]])
def test_with_a_mistake_nothing_is_begun_and_the_exit_code_says_so(tmp_path, monkeypatch, capsys, command):
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path))
    (tmp_path / "voice.toml").write_text("rate = 7\n", encoding="utf-8")
    assert cli.run(command) == 2
    assert "voice.toml:1: rate" in capsys.readouterr().err
    assert not list(tmp_path.glob("*.sqlite3"))


def test_every_setting_is_told_in_the_help_and_by_the_doctor(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path))
    (tmp_path / "voice.toml").write_text('rate = 95\nsay = "short"\nlisten = "key"\n', encoding="utf-8")
    for command in (["help", "voice"], ["doctor"]):
        assert cli.run(command) == 0
        told = capsys.readouterr().out
        assert [key for key in KEYS if key not in told] == []
    assert "95 words a minute; say short" in told
    assert "listen key" in told


@pytest.mark.parametrize("key", KEYS)
def test_a_setting_of_the_wrong_kind_is_never_taken(tmp_path, key):
    with pytest.raises(BadInput, match=key):
        written(tmp_path, f"{key} = 2026-01-05\n")


HEADSET, WEBCAM = Device("USB headset"), Device("Webcam")


@pytest.mark.parametrize(
    ("wanted", "state", "advice"),
    [
        ("", "the system's choice; there is: USB headset; Webcam", ""),
        ("webcam", "Webcam (voice.toml); there is: USB headset; Webcam", ""),
        ("studio", "trouble", "no sound device is called 'studio'; there is: USB headset; Webcam; mend microphone in "
         "voice.toml"),
    ],
)  # fmt: skip
def test_the_doctor_says_which_device_is_used_and_which_there_are(monkeypatch, tmp_path, wanted, state, advice):
    pytest.importorskip("miniaudio")
    (tmp_path / "voice.toml").write_text(f'microphone = "{wanted}"')
    monkeypatch.setattr(devices, "microphones", lambda: (HEADSET, WEBCAM))
    monkeypatch.setattr(devices, "loudspeakers", lambda: (HEADSET,))
    lines = {name: (said, more) for name, said, more in doctor._sound(tmp_path, [])}
    assert lines["microphone"] == (state, advice)
    assert lines["loudspeaker"][0].startswith("the system's choice")


def test_the_doctor_tells_how_a_vosk_model_is_added(tmp_path, monkeypatch):
    monkeypatch.setattr(listeners, "VOSK_PLACES", ())
    monkeypatch.delenv("VOSK_MODEL_PATH", raising=False)
    lines = {name: (said, more) for name, said, more in doctor._listening(tmp_path, [])}
    assert lines["Vosk"][0] == "no model"
    assert str(tmp_path / "models") in lines["Vosk"][1]
