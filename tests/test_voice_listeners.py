"""The recogniser that ships with its model: any question can be put to it, and it hears the same twice."""

import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings, strategies as st

from guide.core.intent import Expecting
from guide.core.quantity import Measure
from guide.core.words.vocabulary import vocabulary, yes_or_no
from guide.edge.voice.audio import read_sound
from guide.edge.voice.pronounce import PRONUNCIATIONS
from guide.edge.voice.sounds import phones_with
from guide.edge.voice.talk import is_sentence, took_talk, with_talk

CLIP = Path(__file__).parents[1] / "audio_samples" / "clips" / "sixty-ohms.wav"


@pytest.fixture(scope="module")
def sphinx():
    pytest.importorskip("pocketsphinx")
    from guide.edge.voice.listeners import Pocketsphinx

    return Pocketsphinx()


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.text(min_size=1, max_size=12), min_size=1, max_size=3))
def test_any_answers_of_a_tree_make_a_grammar(sphinx, answers):
    """Parts' names, numerals, and words no dictionary lists: one unknown word would have the grammar refused."""
    asked = vocabulary(Expecting(answers={a: (a,) for a in answers}))
    sphinx.prepare(asked)
    sphinx.prepare(with_talk(asked))


def test_every_word_it_is_taught_is_of_phones_it_knows(sphinx):
    for word in PRONUNCIATIONS:
        assert sphinx.sounds(word)


@pytest.mark.parametrize(("word", "way"), [("four", "F AO"), ("oh", "AH UH"), ("volts", "V AA L T S")])
def test_british_ways_of_sounding_stand_beside_those_of_the_dictionary(sphinx, word, way):
    """Wells, Accents of English (1982), the sets NORTH, GOAT and LOT, from memory."""
    ways = phones_with(sphinx.sounds)(word)
    assert tuple(way.split()) in ways[1:]


def test_the_same_sound_is_heard_the_same_again(sphinx):
    pytest.importorskip("miniaudio")
    sound, ohms = read_sound(CLIP), vocabulary(Expecting(Measure.OHMS))
    first = sphinx.words(sound, ohms)
    sphinx.words(sound, yes_or_no())
    assert sphinx.words(sound, ohms) == first == "sixty ohms"


def test_silence_is_no_word(sphinx):
    assert sphinx.words(bytes(16_000), vocabulary(Expecting(Measure.DIODE))) == ""


@pytest.mark.parametrize(
    ("written", "talk"),
    [
        ("Where did that screw go?", True),
        ("I think the battery is over there.", True),
        ("Point four five two.", False),
        ("Four point twips", False),
        ("Go back.", False),
        ("", False),
    ],
)
def test_a_sentence_without_a_number_reads_like_talk(written, talk):
    assert is_sentence(written) is talk


def test_the_grammar_for_talk_is_known_by_its_words():
    assert took_talk("this is where")
    assert not took_talk("point four five two")
    assert not took_talk("")


@pytest.mark.parametrize(("end", "code"), [("ears.close()", 0), ("pass", 0), ("sys.exit(3)", 3)])
def test_the_process_ends_as_it_means_to_with_every_recogniser_loaded(tmp_path, end, code):
    """Freed without its speaker model, the second ear's library ends the process in a segmentation fault."""
    pytest.importorskip("moonshine_voice")
    program = (
        "import sys; from pathlib import Path; from guide.core.intent import Expecting; "
        "from guide.core.quantity import Measure; from guide.edge.voice.audio import read_sound; "
        "from guide.edge.voice.panel import panel; ears = panel(Path(sys.argv[1])); "
        f"ears.hear(read_sound(Path(sys.argv[2])), Expecting(Measure.OHMS)); print(ears.engines); {end}"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, str(tmp_path), str(CLIP)], capture_output=True, text=True, cwd=CLIP.parents[2]
    )
    assert "neural" in done.stdout
    assert (done.returncode, done.stderr) == (code, "")
