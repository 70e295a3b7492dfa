"""Recognisers behind one small interface: samples and a vocabulary in, words out.

Each is one engine. What their words mean, and whether they agree, is decided in `agreement`.
"""

from __future__ import annotations

from typing import Protocol

from guide.core.errors import Unavailable
from guide.core.vocabulary import Vocabulary
from guide.edge.voice.audio import RATE
from guide.edge.voice.pronounce import PRONUNCIATIONS


class Listener(Protocol):
    """One engine. `engine` names it; two passes of one engine share its errors, two engines do not."""

    engine: str

    def prepare(self, vocabulary: Vocabulary) -> None:
        """Load a vocabulary ahead of its use, so that the change between steps takes no time."""

    def words(self, samples: bytes, vocabulary: Vocabulary) -> str:
        """Return what was said as plain lower-case words, empty where nothing was made out."""


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
        self._decoder = Decoder(samprate=RATE, loglevel="FATAL", wip=0.001)
        self._names: dict[str, str] = {}
        self._add_words()

    def _add_words(self) -> None:
        for word, sounds in PRONUNCIATIONS.items():
            for n, phones in enumerate(sounds, 1 if self._decoder.lookup_word(word) is None else 2):
                self._decoder.add_word(word if n == 1 else f"{word}({n})", phones, False)  # noqa: FBT003

    def prepare(self, vocabulary: Vocabulary) -> None:
        """Add the grammar under a name of its own; known ones cost nothing."""
        if vocabulary.jsgf not in self._names:
            name = f"g{len(self._names)}"
            self._decoder.add_jsgf_string(name, vocabulary.jsgf)
            self._names[vocabulary.jsgf] = name

    def words(self, samples: bytes, vocabulary: Vocabulary) -> str:
        """Decode `samples` whole with the grammar of `vocabulary`."""
        self.prepare(vocabulary)
        self._decoder.activate_search(self._names[vocabulary.jsgf])
        self._decoder.start_utt()
        self._decoder.process_raw(samples, full_utt=True)
        self._decoder.end_utt()
        found = self._decoder.hyp()
        return found.hypstr if found is not None else ""
