"""The voice's settings file: what it sets, and how mistakes in it are told."""

import pytest

from guide.core.errors import BadInput
from guide.edge.voice.ear import Duplex
from guide.edge.voice.settings import VoiceSettings, settings


def written(tmp_path, text):
    (tmp_path / "voice.toml").write_text(text, encoding="utf-8")
    return settings(tmp_path)


def test_without_a_file_everything_has_its_default(tmp_path):
    assert settings(tmp_path) == VoiceSettings()
    assert settings(tmp_path).duplex is Duplex.HALF


def test_what_is_written_is_used(tmp_path):
    found = written(tmp_path, 'microphone = "headset"\nrate = 130\nduplex = "full"\n')
    assert found == VoiceSettings(microphone="headset", rate=130, duplex=Duplex.FULL)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("rate = 1000\n", "80 to 300"),
        ("rate = true\n", "whole number"),
        ('duplex = "both"\n', "half or full"),
        ("duplex = [1]\n", "half or full"),
        ("microphone = 3\n", "quotes"),
        ('microfone = "x"\n', "microphone"),
        ("rate 130\n", "not read"),
    ],
)
def test_a_mistake_is_one_line_that_names_the_file(tmp_path, text, told):
    with pytest.raises(BadInput, match=told) as raised:
        written(tmp_path, text)
    assert "voice.toml" in str(raised.value)
