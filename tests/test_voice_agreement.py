"""What is made of passes that agree or do not: the rules, one by one."""

import pytest

from guide.core.intent import Expecting
from guide.core.quantity import Measure
from guide.edge.voice.agreement import FREE, Asked, By, Hypothesis, Outcome, judge, meaning

DIODE, VOLTS = Expecting(Measure.DIODE), Expecting(Measure.VOLTS_DC)
CAUTION = Expecting(answers={"unplugged": ("unplugged",)})


def sphinx(text, by=By.NARROW):
    return Hypothesis("pocketsphinx", by, text)


def passes(*texts):
    """The narrow pass and the further ones of one engine."""
    return [sphinx(t, by) for t, by in zip(texts, (By.NARROW, By.SLOW, By.FAST, By.TALK), strict=False)]


def free(text, bent=0.0, written=None):
    return Hypothesis(FREE, By.NARROW, text, bent, text if written is None else written)


def vosk(text):
    return Hypothesis("vosk", By.NARROW, text)


def test_two_engines_of_one_meaning_are_enough_whatever_their_words():
    judged = judge([sphinx("point four five two"), vosk("four hundred fifty two millivolts")], DIODE)
    assert judged.outcome is Outcome.AGREED
    assert meaning(judged.text, DIODE) == ("reading", 0.452)


def test_one_engine_is_never_enough_for_a_reading_however_many_passes_agree():
    assert judge(passes(*["point four five two"] * 4), DIODE).outcome is Outcome.HEARD


def test_engines_that_differ_are_not_agreed():
    judged = judge([*passes("point five five two", "point five five two"), free("point four five two")], DIODE)
    assert judged.outcome is not Outcome.AGREED


def test_words_bent_far_to_fit_do_not_count_as_agreement():
    judged = judge([*passes(*["point four five two"] * 3), free("point four five two", 0.15)], DIODE)
    assert judged.outcome is Outcome.HEARD


def test_a_figure_made_out_of_bent_sounds_is_no_agreement():
    """`Thirteen point two volts` in one voice: both engines made the unit a figure."""
    guessed = Hypothesis(FREE, By.NARROW, "thirteen point two eight", 0.05, "Thirteen point two aides", guessed=True)
    assert judge([sphinx("thirteen point two eight"), guessed], VOLTS).outcome is not Outcome.AGREED


@pytest.mark.parametrize(
    ("heard", "truth"),
    [
        ("five hundred sixty millivolts", "five hundred sixteen millivolts"),
        ("point two three five", "point oh three five"),
        ("eight oh five", "eight two five"),
    ],
)
def test_what_sounds_like_another_number_to_every_engine_waits_for_a_yes(heard, truth):
    """All were heard alike by both engines in one voice, and wrong."""
    for said in (heard, truth):
        judged = judge([sphinx(said), free(said)], DIODE)
        assert (judged.outcome, judged.text) == (Outcome.HEARD, said)


@pytest.mark.parametrize("said", ["five hundred sixty two millivolts", "point five two three", "twelve point one"])
def test_what_sounds_like_no_other_goes_on(said):
    assert judge([sphinx(said), free(said)], VOLTS).outcome is Outcome.AGREED


def test_figures_as_written_outweigh_passes_even_where_the_unit_was_bent():
    """`Eighty millimeters` was milliamps; the narrow grammar made it eighteen."""
    amps = Expecting(Measure.AMPS_DC)
    heard = [*passes(*["eighteen milliamps"] * 3), free("eighty milliamps", 0.15, "Eighty millimeters.")]
    assert judge(heard, amps).text == "eighty milliamps"
    made = Hypothesis(FREE, By.NARROW, "eighty milliamps", 0.15, "Tea millimeters.", guessed=True)
    assert judge([*passes(*["eighteen milliamps"] * 3), made], amps).text == "eighteen milliamps"


def test_two_speeds_of_one_mind_are_asked_about_and_two_that_differ_are_said_again():
    assert judge(passes("five thirty five", "point three five", "point three five"), VOLTS).text == "point three five"
    assert judge(passes("five thirty five", "point three five", "point five"), VOLTS).outcome is Outcome.AGAIN


def test_a_yes_or_no_where_a_reading_is_asked_for_is_no_answer():
    """`O L` is heard as `oh, no` by every engine."""
    assert judge([sphinx("no"), free("no", written="Oh, no.")], DIODE).outcome is Outcome.AGAIN
    assert judge([sphinx("yes"), free("yes")], DIODE).outcome is Outcome.IGNORE
    asked = Expecting(answers={"wet": ("yes",), "dry": ("no",)})
    for question in (asked, Expecting()):
        assert judge([sphinx("no"), free("no")], question).outcome is Outcome.AGREED


def test_a_lost_digit_is_caught_by_the_decimals_the_display_shows():
    """Diode mode shows three decimals; a doubled digit is easily lost by both, where one had to be bent to fit."""
    short = [sphinx("point zero four"), free("point zero four", 0.05)]
    whole = [sphinx("point zero four four"), free("point zero four four", 0.05)]
    assert judge(short, DIODE).outcome is Outcome.HEARD
    assert judge(whole, DIODE).outcome is Outcome.AGREED


def test_a_bare_number_waits_where_what_was_bent_away_may_have_been_its_unit():
    """`One point three meg` through a fan: both heard the figures, and a millionth of the reading went on."""
    ohms = Expecting(Measure.OHMS)
    bare = [sphinx("one point three"), free("one point three", 0.05, "One point three, m.")]
    assert judge(bare, ohms).outcome is Outcome.HEARD
    assert judge([sphinx("one point three"), free("one point three", written="1.3")], ohms).outcome is Outcome.AGREED
    meg = [sphinx("one point three six two meg"), free("one point three six two meg", 0.05, "1.362 Mick.")]
    assert judge(meg, ohms).outcome is Outcome.AGREED


def test_no_agreement_on_a_reading_is_said_again():
    judged = judge(passes("point four five two", "point five five two", "point nine five two"), DIODE)
    assert judged.outcome is Outcome.AGAIN


def test_nothing_that_means_anything_is_ignored():
    assert judge(passes("", "", ""), DIODE).outcome is Outcome.IGNORE


def test_talk_is_ignored_where_the_free_ear_heard_a_sentence():
    heard = [*passes(*["fifty seven millivolt"] * 3), free("", 1.0, "Did you see the game last night?")]
    assert judge(heard, DIODE).outcome is Outcome.IGNORE


def test_talk_is_ignored_where_the_grammar_for_talk_heard_some():
    assert judge(passes("fifty five", "fifty five", "fifty five", "this board is"), DIODE).outcome is Outcome.IGNORE


def test_a_reading_that_looked_like_talk_is_kept_where_the_grammar_for_talk_heard_it_too():
    heard = [*passes(*["zero point three"] * 4), free("", 1.0, "The robot rearm")]
    assert judge(heard, DIODE).outcome is Outcome.HEARD


def test_an_unbent_transcript_outweighs_three_passes_of_one_mind():
    judged = judge([*passes(*["point five nine"] * 3), free("point five five")], DIODE)
    assert (judged.outcome, judged.text) == (Outcome.HEARD, "point five five")


@pytest.mark.parametrize("dissent", range(4))
def test_one_engine_acts_on_a_word_only_where_every_pass_heard_it(dissent):
    heard = ["unplugged"] * 4
    assert judge(passes(*heard), CAUTION).outcome is Outcome.HEARD
    heard[dissent] = "go back"
    assert judge(passes(*heard), CAUTION).outcome in (Outcome.AGAIN, Outcome.IGNORE)


@pytest.mark.parametrize("said", ["why", "help", "scratch that", "where are we", "pause"])
def test_a_command_that_does_no_harm_is_taken_from_two_passes_of_three(said):
    """`Why` was written `white` or `lie`, `pause` was written `plus`, in four of six voices."""
    for heard in (passes(said, said, "one eight"), [*passes(said, "one", said), free("", 1.0, "Lie.")]):
        assert judge(heard, VOLTS).outcome is Outcome.HEARD
    assert judge(passes("unplugged", "unplugged", "next"), CAUTION).outcome is not Outcome.HEARD


def test_a_command_that_does_no_harm_is_not_taken_from_one_pass():
    assert judge(passes("why", "one eight", "nine"), VOLTS).text != "why"


def test_a_sentence_is_no_command_though_two_passes_heard_one():
    heard = [*passes("where are we", "where are we", "thirty"), free("", 1.0, "There is the wire.")]
    assert judge(heard, VOLTS).outcome in (Outcome.IGNORE, Outcome.AGAIN)


def test_a_command_taken_back_with_a_word_needs_every_speed_but_not_the_grammar_for_talk():
    assert judge(passes("go back", "go back", "go back", "go"), VOLTS).outcome is Outcome.HEARD
    assert judge(passes("go back", "go back", "over", "go"), VOLTS).outcome is not Outcome.HEARD
    assert judge(passes("enough", "enough", "enough", "go"), VOLTS).outcome is not Outcome.HEARD


def test_a_command_that_does_no_harm_goes_on_though_its_writing_had_to_be_bent():
    assert judge([sphinx("why"), free("why", 0.18, "White.")], VOLTS).outcome is Outcome.AGREED
    assert judge([sphinx("skip"), free("skip", 0.18, "Skit.")], VOLTS).outcome is not Outcome.AGREED


def test_a_word_only_a_command_has_outweighs_passes_where_it_stands_as_written():
    """`Scratch hot` was `scratch that` in one voice; every narrow pass made it a reading."""
    heard = [*passes(*["zero kilo"] * 3), free("scratch it", 0.11, "Scratch hot")]
    assert judge(heard, Expecting(Measure.OHMS)).text == "scratch it"
    common = [*passes(*["zero kilo"] * 3), free("where are we", 0.11, "Where are thee")]
    assert judge(common, Expecting(Measure.OHMS)).text != "where are we"


def test_talk_made_of_a_commands_own_words_is_that_command():
    said = "where are we"
    assert judge(passes(said, said, said, "where on we"), VOLTS).outcome is Outcome.HEARD
    assert judge(passes(said, said, said, "where did that go"), VOLTS).outcome is Outcome.IGNORE


def test_less_than_a_sentence_makes_no_number_unless_every_speed_hears_it():
    """`Got it` and `come on`, of which two speeds made a number and the grammar for talk talk."""
    differing, alike = ("about eight", "about eight", "forty"), ("about eight",) * 3
    talk = sphinx("good it", By.TALK)
    assert judge([*passes(*differing), talk, free("", 1.0, "Got it.")], VOLTS).outcome is Outcome.IGNORE
    assert judge([*passes(*alike), talk, free("", 1.0, "I'm old.")], VOLTS).outcome is Outcome.HEARD
    measured = free("", 1.0, "Volt it.")
    assert judge([*passes(*differing), talk, measured], VOLTS).outcome is Outcome.HEARD


def test_a_search_for_talk_that_fits_far_worse_than_a_number_every_speed_hears_alike_went_astray():
    """`Zero point one three three volts` in the voice heard best, with the grammar for talk: `there find my think`."""
    heard = dict.fromkeys(("narrow", "slow", "fast"), ("zero point one three three", 0.48))
    for fit, outcome in ((0.27, Outcome.HEARD), (0.45, Outcome.IGNORE)):
        assert judge(fitting(**heard, talk=("there find my think", fit)), VOLTS).outcome is outcome
    heard["slow"] = ("zero point one three five", 0.48)
    assert judge(fitting(**heard, talk=("there find my think", 0.27)), VOLTS).outcome is Outcome.IGNORE
    command = dict.fromkeys(("narrow", "slow", "fast"), ("can't reach", 0.48))
    assert judge(fitting(**command, talk=("hand you should light", 0.27)), VOLTS).outcome is Outcome.IGNORE


def fitting(**heard):
    """One engine's passes, each with how well it fits the sound."""
    return [Hypothesis("pocketsphinx", By(by), text, fit=fit) for by, (text, fit) in heard.items()]


def test_the_pass_that_fits_the_sound_best_outweighs_others_that_fit_it_badly():
    """`Nineteen point three` in a voice that is heard best when it is played faster."""
    heard = {"narrow": ("eighteen point three", 0.42), "slow": ("twenty point three", 0.40)}
    assert judge(fitting(**heard, fast=("nineteen point three", 0.51)), VOLTS).text == "nineteen point three"
    assert judge(fitting(**heard, fast=("nineteen point three", 0.42)), VOLTS).outcome is Outcome.AGAIN


def test_how_well_a_pass_fits_never_lets_a_reading_go_on_nor_outweighs_two_that_fit_as_well():
    best = fitting(narrow=("point four five", 0.9), slow=("point four five", 0.9), fast=("point four five", 0.9))
    assert judge(best, VOLTS).outcome is Outcome.HEARD
    heard = fitting(narrow=("point four", 0.5), slow=("point four", 0.5), fast=("point five", 0.51))
    assert judge(heard, VOLTS).text == "point four"


def test_an_article_is_no_figure_as_written():
    """`A boat` was `eight volts`, and `a volt` is as near."""
    heard = [*passes("eight volts", "eight volts", "a thousand"), free("a volt", 0.2, "A boat.")]
    assert judge(heard, VOLTS).text == "eight volts"


def test_a_note_needs_no_second_engine_for_its_words():
    judged = judge([sphinx("no"), free("note the clamp runs hot")], DIODE)
    assert (judged.outcome, judged.text) == (Outcome.AGREED, "note the clamp runs hot")


def test_an_ambiguous_reading_is_passed_on_to_be_asked():
    judged = judge([sphinx("four fifty two"), free("four fifty two")], VOLTS)
    assert (judged.outcome, judged.text) == (Outcome.AGREED, "four fifty two")


class TestYesOrNo:
    """The answer to a read-back."""

    def judged(self, *heard):
        return judge(heard, DIODE, asked=Asked.YES_NO)

    def test_yes_needs_both_grammars(self):
        assert self.judged(sphinx("yes"), sphinx("yes", By.YES_NO)).text == "yes"

    def test_a_reading_said_instead_replaces_and_is_never_a_yes(self):
        judged = self.judged(
            *passes("point four six two", "point four six two"), sphinx("yes", By.YES_NO), free("point four six two")
        )
        assert (judged.outcome, judged.text) == (Outcome.HEARD, "point four six two")

    @pytest.mark.parametrize("other", ["no", "nope", "point one", "go back", ""])
    def test_a_yes_that_any_pass_denies_is_no_yes(self, other):
        judged = self.judged(sphinx("yes"), sphinx("yes", By.YES_NO), free(other))
        assert judged.text != "yes"

    def test_a_yes_as_written_needs_the_grammar_of_yes_and_no_alone(self):
        """`Yeah` was heard as `enough` by the wider grammar, in one voice."""
        assert self.judged(sphinx("enough"), sphinx("yes", By.YES_NO), free("yeah")).text == "yes"
        assert self.judged(sphinx("enough"), sphinx("yes", By.YES_NO), free("yeah", 0.05, "Ya.")).text != "yes"

    @pytest.mark.parametrize(("wide", "narrow"), [("two oh", "yes"), ("enough", "no"), ("no", "yes"), ("o l", "yes")])
    def test_a_yes_as_written_is_none_where_anything_heard_a_no_or_a_reading(self, wide, narrow):
        """`Nah` was written `Yeah.` in one voice."""
        assert self.judged(sphinx(wide), sphinx(narrow, By.YES_NO), free("yeah", written="Yeah.")).text != "yes"

    def test_no_is_taken_sooner_than_yes(self):
        judged = self.judged(sphinx("no"), sphinx("nope", By.YES_NO), free("", 1.0, "Now."))
        assert judged.text == "no"

    def test_no_heard_as_a_note_is_asked_again(self):
        assert self.judged(sphinx("note"), sphinx("yes", By.YES_NO)).text != "yes"


def test_what_a_check_expects_plays_no_part():
    """The same words judged for two questions of one mode, told different answers, come out alike."""
    heard = passes("point four five two", "point four five two", "point nine")
    banded = Expecting(Measure.DIODE, answers={"OL": ("OL",), "open": ("open",), "short": ("short",)})
    assert judge(heard, DIODE) == judge(heard, banded)


@pytest.mark.parametrize("heard", [("five point three oh", "five point three ohms"), ("five point three ohms",) * 2])
def test_a_decimal_that_one_engine_alone_heard_does_not_make_the_reading_finer(heard):
    """The end of `ohms` is heard as a zero; the meter's error would be taken for a tenth of what it is."""
    judged = judge([sphinx(heard[0]), free(heard[1])], Expecting(Measure.OHMS))
    assert (judged.outcome, judged.text) == (Outcome.AGREED, "five point three ohms")
