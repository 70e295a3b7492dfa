"""Recognisers behind one small interface: samples and a vocabulary in, words out.

Each is one engine. What their words mean, and whether they agree, is decided in `agreement`.
"""

from __future__ import annotations

import atexit
import json
import os
import re
from array import array
from collections.abc import Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, Protocol

from guide.core.errors import Unavailable
from guide.core.words.vocabulary import Vocabulary
from guide.edge.voice.audio import RATE, hushed
from guide.edge.voice.mending import plain_words
from guide.edge.voice.pronounce import PRONUNCIATIONS
from guide.edge.voice.sounds import spelled_out
from guide.edge.voice.votes import FREE


class Listener(Protocol):
    """One engine. `engine` names it; two passes of one engine share its errors, two engines do not."""

    engine: str
    # How well the last words fit their sound, above 0; it compares decodes of one utterance with one grammar, and
    # nothing else. 0 where the engine cannot tell.
    fit: float

    def prepare(self, vocabulary: Vocabulary) -> None:
        """Load a vocabulary ahead of its use, so that the change between steps takes no time."""

    def words(self, samples: bytes, vocabulary: Vocabulary) -> str:
        """Return what was said as plain lower-case words, empty where nothing was made out."""


# Of 523 tuning clips, readings and commands in six voices, clean and noisy, one pass hears 90.6 % with these; with a
# search for the best path through the lattice after it, as is usual, and narrower beams, 87.0 % in three times the time
# (of a slow clip 321 ms, not 112): the lattice of a grammar so small holds every way of cutting the sound and little
# else. A weight of the grammar of 6.5 hears less, one of 4 no more; a higher word penalty loses figures; with fewer
# states a frame short commands get lost. Without dither, digital silence undoes a word.
_SETTINGS = {"lw": 5.0, "wip": 0.001, "silprob": 0.05, "maxhmmpf": 800, "bestpath": False, "dither": True, "seed": 1}


_ANY_SOUND = "AH"  # of a word without a letter


def _nth(word: str, n: int) -> str:
    """The name of a word's nth way of sounding in a dictionary of the CMU kind."""
    return word if n == 1 else f"{word}({n})"


class Pocketsphinx:
    """The recogniser whose English model ships with it: nothing to download.

    It decodes whole utterances: chunk by chunk, with its mean normalisation catching up, 85 % right falls to 65 %.
    """

    engine = "pocketsphinx"

    def __init__(self) -> None:
        try:
            from pocketsphinx import Decoder
        except ImportError as error:
            raise Unavailable("listening needs the voice parts: pip install 'bench-guide[voice]'") from error
        self._decoder = Decoder(samprate=RATE, loglevel="FATAL", **_SETTINGS)
        self._names: dict[str, str] = {}
        self.fit = 0.0
        self._add_words()

    def _add_words(self) -> None:
        for word, sounds in PRONUNCIATIONS.items():
            n = 1
            for phones in sounds:
                while self._decoder.lookup_word(_nth(word, n)) is not None:
                    n += 1
                self._decoder.add_word(_nth(word, n), phones, False)

    def sounds(self, word: str) -> str | None:
        """Return the phones of `word` as its dictionary has them, None where it has not."""
        found = self._decoder.lookup_word(word)
        return str(found) if found is not None else None

    def prepare(self, vocabulary: Vocabulary) -> None:
        """Add the grammar under a name of its own; known ones cost nothing."""
        if vocabulary.jsgf not in self._names:
            name = f"g{len(self._names)}"
            self._learn(vocabulary.words)
            self._decoder.add_jsgf_string(name, vocabulary.jsgf)
            self._names[vocabulary.jsgf] = name

    def _learn(self, words: Iterable[str]) -> None:
        """Give a sound to words that no dictionary lists (a part's name, a numeral): the whole grammar would be refused
        for one of them."""
        for word in words:
            if self._decoder.lookup_word(word) is None:
                said = [self.sounds(w) or " ".join(spelled_out(w)) for w in plain_words(word)]
                self._decoder.add_word(word, " ".join(said).strip() or _ANY_SOUND, False)

    def words(self, samples: bytes, vocabulary: Vocabulary) -> str:
        """Decode `samples` whole with the grammar of `vocabulary`."""
        self.prepare(vocabulary)
        self._decoder.activate_search(self._names[vocabulary.jsgf])
        self._decoder.start_utt()
        self._decoder.process_raw(samples, full_utt=True)
        self._decoder.end_utt()
        found = self._decoder.hyp()
        self.fit = float(found.score) if found is not None else 0.0
        return found.hypstr if found is not None else ""


class Vosk:
    """Vosk with a model of the user's own, a folder found by `vosk_model`. Its phrase list is the narrow grammar."""

    engine = "vosk"
    fit = 0.0

    def __init__(self, folder: Path) -> None:
        """Load the model in `folder`. Raises Unavailable."""
        try:
            import vosk
        except ImportError as error:
            raise Unavailable("Vosk needs the voice parts: pip install 'bench-guide[voice]'") from error
        vosk.SetLogLevel(-1)
        # In a thread, for a load takes a second; and its error, of the barest class, comes back as a value.
        with hushed(), ThreadPoolExecutor(1) as loader:
            loading = loader.submit(vosk.Model, str(folder))
            failed = loading.exception()
        if failed is not None:
            raise Unavailable(f"{folder} holds no Vosk model that loads ({failed}); unpack one there again") from failed
        self._model, self._new = loading.result(), vosk.KaldiRecognizer
        self._ready: dict[tuple[str, ...], Any] = {}

    def prepare(self, vocabulary: Vocabulary) -> None:
        """Make the recogniser of a phrase list; known ones cost nothing."""
        if vocabulary.phrases not in self._ready:
            with hushed():  # it warns of every word its model lacks
                listed = json.dumps([*vocabulary.phrases, "[unk]"])
                self._ready[vocabulary.phrases] = self._new(self._model, RATE, listed)

    def words(self, samples: bytes, vocabulary: Vocabulary) -> str:
        """Return the words heard out of the phrase list, the unknown ones left out."""
        self.prepare(vocabulary)
        recogniser = self._ready[vocabulary.phrases]
        recogniser.Reset()
        recogniser.AcceptWaveform(samples)
        found = str(json.loads(recogniser.FinalResult()).get("text", ""))
        return "" if "[unk]" in found else found


_OTHER_LANGUAGE = re.compile(r"vosk-model-(small-)?(?!en\b|small-en\b)[a-z]{2}\b")
VOSK_PLACES = ("/usr/share/vosk", "~/.cache/vosk", "~/AppData/Local/vosk")


def vosk_model(given: str, home: Path, *, environment: Mapping[str, str] | None = None) -> Path | None:
    """Return the folder of the user's Vosk model: the one given, one in `home`/models, or in Vosk's usual places.

    Those whose names say another language than English are passed over, unless given. Nothing is ever downloaded.
    Raises Unavailable for a given folder that holds no model.
    """
    environment = os.environ if environment is None else environment
    if given:
        if not _holds_model(Path(given).expanduser()):
            raise Unavailable(f"{given} holds no Vosk model: it should have the folders am and conf")
        return Path(given).expanduser()
    places = [home / "models", Path(environment.get("VOSK_MODEL_PATH") or home / "models")]
    found: list[Path] = []
    for place in (*places, *(Path(p).expanduser() for p in VOSK_PLACES)):
        if place.is_dir():
            found += [f for f in (place, *sorted(place.iterdir())) if _holds_model(f)]
    return next((f for f in found if not _OTHER_LANGUAGE.match(f.name)), None)


def _holds_model(folder: Path) -> bool:
    return (folder / "am" / "final.mdl").is_file() or (folder / "final.mdl").is_file()


# Half a second of silence after the segment: 82 % of 56 tuning clips right instead of 79, and half as many wrong.
_AFTER = bytes(RATE)


class Neural:
    """The optional second ear: a small general model that knows no grammar, so its errors are its own.

    It writes what it hears; `Mender` takes that back to the words of the question.
    """

    engine = FREE

    def __init__(self) -> None:
        """Load the model of the wheel. Raises Unavailable where it is not installed, or is of a version without one."""
        try:
            from moonshine_voice.moonshine_api import ModelArch
            from moonshine_voice.transcriber import Transcriber
            from moonshine_voice.utils import get_model_path
        except (ImportError, OSError) as error:
            raise Unavailable("the second ear is not installed: pip install 'bench-guide[second-ear]'") from error
        folder = Path(get_model_path("tiny-en"))
        if not folder.is_dir():
            raise Unavailable("this version of the second ear carries no model; install 'bench-guide[second-ear]'")
        # It would cut the segment by its own end-pointing, name the speaker, and stop at 6.5 tokens a second: digits
        # come faster.
        options = {"vad_threshold": "0", "return_audio_data": "false", "identify_speakers": "false",
                   "max_tokens_per_second": "15"}  # fmt: skip
        self._transcriber = Transcriber(str(folder), ModelArch.TINY, options=options)
        # Freeing it without its speaker model ends the process in a segmentation fault; the process's end frees it.
        self._forget = atexit.register(self.close)

    def written(self, samples: bytes) -> str:
        """Return what it made of `samples`, as it wrote it."""
        values = array("h", samples + _AFTER)
        found = self._transcriber.transcribe_without_streaming([v / 32768 for v in values], RATE)
        return " ".join(line.text for line in found.lines)

    def close(self) -> None:
        """Keep its destructor from running."""
        self._transcriber._handle = None
