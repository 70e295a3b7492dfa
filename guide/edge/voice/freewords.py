"""Commands that take words after them, as the ear that hears all words wrote them: `note the fuse holder is loose`.

No grammar holds such words, so none can check them; bent to the words of the question they would be lost. What has no
words after it, or words that make no sense there, is as likely talk (`what is that smell`, `pause the music`) or a
short answer misheard (`no` as `note`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from guide.core.intent import Command, Do, Expecting, Pick, Say, Utterance
from guide.core.reading import Source
from guide.core.words.phrases import TEXT_COMMANDS
from guide.core.words.understanding import understand
from guide.core.words.what_is import UNKNOWN, what_is
from guide.edge.voice.mending import as_it_sounds, plain_words

WITH_WORDS = frozenset({Command.NOTE, Command.HOLD, Command.WHAT_IS, Command.WHAT_IF, Command.SOMETHING_ELSE})
_WAITS_FOR = frozenset({"for", "until", "till", "because"})
_NO_REASON = frozenset({"me", "us", "a", "one", "it", "this", "that"})  # `hold for me`, `pause for a second`: talk


def free_command(written: str, expecting: Expecting) -> str:
    """Return `written` where it is a command with words that belong to it, empty where it is none."""
    return next((said for said in _ways(written) if _makes_sense(said, expecting)), "")


def _ways(written: str) -> Iterable[str]:
    """As written, and with what sounds alike in words of the bench: `What is for seven to?` asks of a marking."""
    said = written.strip().rstrip(".?!")
    return said, " ".join(as_it_sounds(w) for w in plain_words(said))


def _makes_sense(said: str, expecting: Expecting) -> bool:
    meant = understand(Utterance(said, Source.SPOKEN), expecting)
    if not isinstance(meant, Do) or meant.command not in WITH_WORDS or not meant.text:
        return False
    answers = isinstance(understand(Utterance(meant.text, Source.SPOKEN), expecting), Say | Pick)
    match meant.command:
        case Command.HOLD:
            return _waits(plain_words(said))
        case Command.WHAT_IS:
            return what_is(meant.text).say != UNKNOWN
        case Command.WHAT_IF:
            return answers
        case Command.NOTE:  # `no, four point seven` is written so too
            return not answers
    return True


def _waits(words: Sequence[str]) -> bool:
    """Tell whether a job is put aside with what it waits for: that comes right after the command."""
    at = next((i for i, word in enumerate(words) if word in _WAITS_FOR), len(words))
    return " ".join(words[:at]) in TEXT_COMMANDS[Command.HOLD] and not _NO_REASON.issuperset(words[at + 1 : at + 2])
