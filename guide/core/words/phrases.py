"""Whole phrases: answers without a number, corrections, fillers and commands, each list the only one of its kind.

With `forms` this is the source of the parser, the recogniser's vocabulary and the tables for people. Apostrophes,
case and punctuation do not matter: `tokens` takes both sides to the same spelling.
"""

from __future__ import annotations

from collections.abc import Mapping

from guide.core.intent import Command


def said(text: str) -> tuple[str, ...]:
    """Return the phrases of a list written with bars."""
    return tuple(" ".join(phrase.split()) for phrase in text.split("|"))


# Whole answers without a number. `OVER` is what a display shows; `OPEN` is what that means on ohms.
# The recogniser listens for the first `LISTENED_ANSWERS` of each list.
LISTENED_ANSWERS = 3
OVER_WORDS = said(
    """
    o l | overload | over limit | oh l | oh ell | o ell | oh el | ol | 0l | zero l | over load | overlimit |
    over range | overrange | out of range | off scale | off the scale | one dot | one blank | over limits
    """
)
OPEN_WORDS = said(
    """
    open | open line | no reading | open circuit | open loop | infinite | infinity | infinite ohms | infinite
    resistance | ∞ | inf | its open | wide open | open lead | opens
    """
)
SHORT_WORDS = said(
    """
    short | shorted | dead short | short circuit | shorts | shorting | a short | a dead short | its shorted |
    hard short | full short
    """
)
BEEP_WORDS = said(
    """
    beeps | beep | beeping | it beeps | a beep | it beeped | beeped | buzzes | buzz | it buzzes | tone | a tone
    | continuity | good continuity | has continuity | rings | rings out | it rings
    """
)
NO_BEEP_WORDS = said(
    """
    no beep | no beeps | no tone | no buzz | no continuity | doesnt beep | does not beep | not beeping | no
    sound | silent | it doesnt beep | didnt beep | wont beep | no ring | isnt beeping
    """
)

# Said of a display that has not come to rest: ask for the settled value.
UNSTABLE_WORDS = said(
    """
    drifting | climbing | falling | rising | dropping | increasing | decreasing | bouncing | jumping | unstable
    | floating | fluctuating | moving | wandering | flickering | creeping | drifts | climbs | falls | rises |
    drops | bounces | jumps | jumping around | all over the place | not steady | unsteady | not stable | not
    settled | not settling | wont settle | going up | going down | counting up | counting down | changing |
    keeps changing | keeps moving | charging | swinging
    """
)
SETTLED_WORDS = said(
    """
    settled at | settles at | settled on | settled to | settled | steady at | stops at | stopped at | stays at |
    stable at | holds at | now steady at | ends at | settles to
    """
)

# Bounds, ranges and denials are not readings.
BOUND_WORDS = said(
    """
    over | under | above | below | more than | less than | greater than | at least | at most | up to | between |
    not | isnt | < | > | to | or | from | either | through | versus | times | per | percent | %
    """
)

CORRECTIONS = said(
    """
    no | nope | nah | no wait | no sorry | sorry | i mean | i meant | make that | make it | correction | scratch that |
    strike that | wait | wait no | actually | rather | or rather | oops | no its | no thats | no it is | no make
    that | no actually | sorry i mean | let me correct that | delete that | cancel that | no i mean | should be
    | its actually
    """
)

# Sounds of hesitation may stand anywhere; leads and trails only before and after a whole answer, so that a sentence
# broken in the middle (`four … it's fifty two`) is never glued together.
HESITATIONS = frozenset(said("ah | eh | er | erm | hm | hmm | like | mm | mmm | uh | uhh | uhm | um | umm"))
LEADS = said(
    """
    it | its | it is | it reads | reads | reading | i get | i got | im getting | i have | ive got | i see | i read |
    that is | thats | the reading is | reading is | the meter says | meter says | the meter reads | meter reads
    | the display says | display says | display shows | the display shows | the meter shows | meter shows |
    shows | showing | says | we have | weve got | got | getting | okay | ok | right | well | so | now | now its
    | and | then | please | alright | just | exactly | looks like | it says | it shows | its at | its reading |
    im seeing | im reading | there is | theres | this is | this one is | comes to | value is | the value is |
    the answer is | it was | i measure | i measured | measures | measured | gives | it gives | gives me | at |
    is | the | that reads | that one is | that one reads | here | hey | guide | = | a reading of | a solid |
    still | also | this one reads | this ones | that ones | we get | you get | let me see | lets see | steady |
    it measures
    """
)
TRAILS = said(
    """
    please | thanks | thank you | on the meter | on the display | on the diode | in diode mode | in diode | on
    diode | exactly | now | here | there | is what i get | it says | it reads | is the reading | i see | on this
    one | on that one | even | flat | steady | stable | okay | ok | right now | on the screen | is what
    it says | is what i have | on my meter | is what it reads | at the moment | across it | mate
    """
)

# What a general recogniser writes for words of the bench; for spoken lines only.
HOMOPHONES: Mapping[str, str] = {
    "for": "four", "fore": "four", "won": "one", "ate": "eight", "tree": "three", "fife": "five", "vote": "volt",
    "votes": "volts", "kilograms": "kilohms", "kilogram": "kilohm", "kilo grams": "kilohms", "home": "ohm",
    "homes": "ohms", "millie": "milli", "millivolt's": "millivolts",
}  # fmt: skip

COMMAND_WORDS: Mapping[Command, tuple[str, ...]] = {
    Command.REPEAT: said(
        """
        repeat | say again | again | repeat that | say that again | come again | pardon | what was that | once
        more | repeat it | say it again | pardon me | what did you say | what | sorry | i didnt hear | i didnt
        catch that | one more time
        """
    ),
    Command.SKIP: said(
        """
        skip | next | skip it | skip that | skip this | skip this one | next one | pass | leave it | move on |
        skip check | leave this one
        """
    ),
    Command.CANT_REACH: said(
        """
        can't reach | cannot reach | can not reach | can't reach it | cannot reach it | no access | can't get to
        it | cannot get to it | can't get at it | unreachable | not reachable | can't get there | can't probe it
        | i can't reach it | i can't reach | can't reach that | i can't get to it | can't access it | out of
        reach | can't get in there | not accessible
        """
    ),
    Command.GO_BACK: said(
        """
        go back | undo | undo that | back | step back | previous | take that back | take it back | back up |
        withdraw | withdraw that | undo last | undo the last | go back one | one back | last one was wrong |
        previous one
        """
    ),
    Command.SCRATCH_THAT: said(
        """
        scratch that | strike that | delete that | cancel that | scratch it | cancel | correction | backspace |
        erase that | forget that | disregard | no scratch that
        """
    ),
    Command.WHY: said(
        """
        why | why that | why this | why this one | why that one | how come | what for | why is that | explain |
        explain that | tell me why | why this check
        """
    ),
    Command.WHERE_ARE_WE: said(
        """
        where are we | status | progress | how far | how far are we | where was i | where am i | where were we |
        how are we doing | what do we know | sum up | summary | what have we got | recap
        """
    ),
    Command.SLOWER: said(
        """
        slower | slow down | not so fast | too fast | speak slower | more slowly | slowly | talk slower
        """
    ),
    Command.QUIET: said(
        """
        quiet | be quiet | shush | mute | silence | less talk | quieter | shut up | stop talking | hush
        """
    ),
    Command.HELP: said(
        """
        help | what can i say | options | commands | help me | what are my options | what are the options |
        what do i say
        """
    ),
    Command.YES: said(
        """
        yes | yeah | yep | yup | y | correct | right | that's right | that's correct | affirmative | ok | okay |
        confirmed | confirm | sure | yes it is | yes it does | aye | true | that's it | yes please | absolutely
        | exactly | of course | roger | it is | fine | good | right on
        """
    ),
    Command.NO: said(
        """
        no | nope | nah | n | wrong | that's wrong | incorrect | not right | that's not right | negative | no it
        isn't | no it is not | no it doesn't | not correct | false | no no | no thanks | no way | that's not it
        | not that
        """
    ),
    Command.ENOUGH: said(
        """
        enough | that's enough | that will do | that'll do | good enough | enough already | enough of that |
        call it | finish | i'm done measuring | no more
        """
    ),
    Command.TAKE_IT: said(
        """
        take it | take the reading | take that | do it | take one more | one more | go for it | let's take it |
        let's do it | take that one | i'll take it
        """
    ),
    Command.OVERRIDE: said(
        """
        override | override it | override that | do it anyway | go on anyway | anyway | continue anyway | i
        override | proceed anyway
        """
    ),
    Command.HOLD: said(
        """
        hold | pause | stop | put it aside | put this aside | park it | quit | exit | stop here | hold the job |
        pause the job | stop for today | set it aside | put on hold | put it on hold | stop now | stop the job |
        take a break
        """
    ),
}
# How many phrases of each command, from the first, the recogniser listens for; the others are understood as well.
LISTENED: Mapping[Command, int] = {
    **dict.fromkeys(Command, 1),
    Command.REPEAT: 2,
    Command.SKIP: 2,
    Command.GO_BACK: 2,
    Command.HOLD: 3,
    Command.YES: 2,
    Command.NO: 2,
}
# Commands that take the words after them.
TEXT_COMMANDS: Mapping[Command, tuple[str, ...]] = {
    Command.NOTE: said(
        """
        note | take a note | make a note | note that | add a note | take note | notes | make a note that
        """
    ),
    Command.HOLD: said(
        """
        hold | hold for | hold because | pause | put it aside | park it | hold the job | pause for | put it on
        hold
        """
    ),
    Command.WHAT_IS: said(
        """
        what is | what's | what does | decode | read marking | marking | what are
        """
    ),
    Command.WHAT_IF: said(
        """
        what if | what about | what would | suppose
        """
    ),
    Command.SOMETHING_ELSE: said(
        """
        something else | it was something else
        """
    ),
}
# Asking for time is no command and no answer: the question stands. Checked before `hold`.
WAIT_WORDS = said(
    """
    hold on | hang on | wait | one moment | one second | just a moment | just a second | a moment | just a
    minute | one minute | give me a second | give me a minute | give me a moment | wait a minute | wait a second
    | hold it | two seconds | bear with me | moment | hold still | wait for it
    """
)
# An answer where one of a question's answers is not to know; any other is passed over by it.
UNKNOWN_WORDS = said("do not know | don't know | i don't know | i do not know | no idea")
# Acknowledgements of a caution: more words for an answer whose own word is the key.
ACKNOWLEDGED: Mapping[str, tuple[str, ...]] = {
    "ready": said(
        """
        ready | all set | i'm ready | ready now | all ready | ready to go | we're ready
        """
    ),
    "unplugged": said(
        """
        unplugged | it's unplugged | unplugged now | power is unplugged | supply unplugged | all unplugged | it
        is unplugged
        """
    ),
    "powered": said(
        """
        powered | powered up | it's powered | powered on | power on | power is on | it's on | powered now | live
        """
    ),
    "do not know": UNKNOWN_WORDS,
    "can't see": said(
        """
        can't see | cannot see | can not see | can't see it | can't tell | cannot tell | not visible | i can't
        see | i can't see it | i can't tell | hard to see | can't make it out | don't know | i don't know | no
        idea | not sure | unsure | can't say
        """
    ),
}
