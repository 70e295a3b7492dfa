"""The sound key: what it takes for the same and what it keeps apart; the examples are everyday homophones."""

import pytest

from guide.core.sound import sound


@pytest.mark.parametrize(
    ("one", "two"),
    [("fitted", "fit it"), ("back", "bag"), ("two", "to"), ("4", "for"), ("no", "know"), ("torn off", "Torn, off!"),
     ("right", "write"), ("piece", "peace"), ("bad", "pat"), ("phase", "face")],
)  # fmt: skip
def test_words_an_ear_takes_for_each_other_share_a_key(one, two):
    assert sound(one) == sound(two)


def test_the_words_of_the_bench_keep_keys_of_their_own():
    words = ["yes", "no", "open", "short", "normal", "torn off", "fitted", "missing", "clean", "burnt", "corroded",
             "low", "high", "dead", "back", "still low", "dropped", "never", "wet", "intact", "cracked", "loose",
             "bridged"]  # fmt: skip
    assert len({sound(w) for w in words}) == len(words)
