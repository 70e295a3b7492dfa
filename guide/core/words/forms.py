"""How technicians say, type and write readings: with `phrases`, the one declarative source of what is understood.

The parser (`spoken`, `understanding`), the recogniser's grammars (`vocabulary`) and the tables for people
(`phrasebook`) all come from here. Words stand as they are after `tokens`: lower case, no apostrophes. Keys beginning
with `#` are numerals as `tokens` classes them: `#dd` two digits, `#int` more, `#dec` a decimal, `#amb` a comma that
may be either separator, `#rkm` a letter standing for the decimal point, `#sci` a power of ten.
"""

from __future__ import annotations

from collections.abc import Mapping

from guide.core.words.templates import Breadth, Form, Rule

ONES = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TEENS = ("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen")
TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")

# The value of a unit word: prefix:unit:kind. `m~` and `M~` were typed as a lone letter, so its case may be a slip.
UNIT_WORDS: Mapping[str, str] = {
    "volts": ":V:", "volt": ":V:", "v": ":V:", "vee": ":V:", "vs": ":V:",
    "vdc": ":V:dc", "vac": ":V:ac", "dcv": ":V:dc", "acv": ":V:ac",
    "millivolts": "m:V:", "millivolt": "m:V:", "mv": "m~:V:", "Mv": "M~:V:", "mvs": "m~:V:", "Mvs": "M~:V:",
    "mvdc": "m~:V:dc", "Mvdc": "M~:V:dc", "mvac": "m~:V:ac", "Mvac": "M~:V:ac",
    "microvolts": "u:V:", "microvolt": "u:V:", "uv": "u:V:", "µv": "u:V:", "kilovolts": "k:V:", "kv": "k:V:",
    "ohms": ":ohm:", "ohm": ":ohm:", "ω": ":ohm:", "r": ":ohm:",
    "milliohms": "m:ohm:", "milliohm": "m:ohm:", "mohm": "m~:ohm:", "Mohm": "M~:ohm:", "mohms": "m~:ohm:",
    "Mohms": "M~:ohm:", "mω": "m~:ohm:", "Mω": "M~:ohm:",
    "kilohms": "k:ohm:", "kilohm": "k:ohm:", "kiloohms": "k:ohm:", "kiloohm": "k:ohm:", "kohms": "k:ohm:",
    "kohm": "k:ohm:", "kω": "k:ohm:", "kr": "k:ohm:",
    "megohms": "M:ohm:", "megohm": "M:ohm:", "megaohms": "M:ohm:", "megaohm": "M:ohm:",
    "amps": ":A:", "amp": ":A:", "amperes": ":A:", "ampere": ":A:", "a": ":A:",
    "adc": ":A:dc", "aac": ":A:ac",
    "milliamps": "m:A:", "milliamp": "m:A:", "milliamperes": "m:A:", "ma": "m~:A:", "Ma": "M~:A:", "mas": "m~:A:",
    "Mas": "M~:A:", "microamps": "u:A:", "microamp": "u:A:", "ua": "u:A:", "µa": "u:A:",
    "hertz": ":Hz:", "hz": ":Hz:", "kilohertz": "k:Hz:", "khz": "k:Hz:", "megahertz": "M:Hz:", "mhz": "m~:Hz:",
    "Mhz": "M~:Hz:",
    "degrees": ":degC:", "degree": ":degC:", "deg": ":degC:", "°": ":degC:", "°c": ":degC:", "celsius": ":degC:",
    "centigrade": ":degC:", "c": ":degC:", "degc": ":degC:", "degsc": ":degC:",
    "fahrenheit": ":degF:", "°f": ":degF:", "degf": ":degF:", "kelvin": ":K:", "kelvins": ":K:",
    "k": "k::", "kay": "k::", "kilo": "k::", "kilos": "k::", "meg": "M::", "megs": "M::", "mega": "M::",
    "milli": "m::", "millis": "m::", "mil": "m::", "mils": "m::", "mills": "m::", "m": "m~::", "M": "M~::",
    "micro": "u::", "micros": "u::", "u": "u::", "µ": "u::",
}  # fmt: skip
BASE_WORDS = {w: v for w, v in UNIT_WORDS.items() if v[0] == ":" and w not in {"r", "vdc", "vac"}}
PREFIX_WORDS = {w: v for w, v in UNIT_WORDS.items() if v.endswith("::")}
# A unit standing where the decimal point is: `four k seven`, `three volts three`.
MARK_WORDS = {
    w: UNIT_WORDS[w] for w in ("k", "kay", "kilo", "meg", "m", "M", "r", "volts", "volt", "v", "amps", "amp", "ω")
}

# Words the recogniser is not asked to hear: typed marks, and rare words that sound like frequent ones.
UNHEARD = frozenset(
    {"o", "nought", "naught", "nil", "niner", "fourty", "ninty", "dot", "decimal", "comma", "treble", "an", "deg", "°",
     "½", "-", "+", "~", "approx", "circa", "f", "c", "v", "m"}
)  # fmt: skip
# The only unit words it listens for. The rest are abbreviations for typing.
HEARD_UNITS = frozenset(
    {"volts", "volt", "millivolts", "millivolt", "ohms", "ohm", "kilohms", "kilohm", "megohms", "megohm", "amps", "amp",
     "milliamps", "milliamp", "microamps", "hertz", "kilohertz", "megahertz", "degrees", "degree", "celsius", "k",
     "meg", "r", "kilo", "mega", "milli"}
)  # fmt: skip

NUMBER_RULES: Mapping[str, Rule] = {
    "zero": dict.fromkeys(("zero", "oh", "o", "nought", "naught", "nil"), "0"),
    "zero_word": dict.fromkeys(("zero", "nought", "naught", "nil"), "0"),  # a lone `oh` is an exclamation
    "nz": {**{w: str(i) for i, w in enumerate(ONES) if i}, "niner": "9"},
    "teen": {w: str(i + 10) for i, w in enumerate(TEENS)},
    "ty": {**{w: str(10 * i + 20) for i, w in enumerate(TENS)}, "fourty": "40", "ninty": "90"},
    "a": {"a": "1", "an": "1"},
    "point": dict.fromkeys(("point", "dot", "decimal", "comma"), "."),
    "dd": {"#dd": None},
    "int": {"#int": None},
    "dec": {"#dec": None},
    "amb": {"#amb": None},
    "sci": {"#sci": None},
    "rkm": {"#rkm": None},
    "digit": (Form("<zero>"), Form("<nz>")),
    "two": (Form("<ty> <nz>", "sum"), Form("<ty>"), Form("<teen>"), Form("<dd>")),
    "small": (Form("<two>"), Form("<nz>")),
    "hundreds": (
        Form("<nz> hundred [[and] <small>]", "hundreds", "four hundred and five"),
        Form("<a> hundred [[and] <small>]", "hundreds", "a hundred", Breadth.BROAD),
    ),
    "below": (Form("<hundreds>"), Form("<small>"), Form("<int>")),
    "thousands": (Form("(<below> | <a>) thousand [[and] <below>]", "thousands", "two thousand two hundred"),),
    "count": (
        Form("<zero_word>"),
        Form("<below>"),
        Form("hundred [[and] <small>]", "bare_hundred", "hundred and four", Breadth.BROAD),
        Form("<two> hundred [[and] <small>]", "hundreds", "twelve hundred", Breadth.BROAD),
        Form("<thousands>", only=frozenset({"volts_dc", "celsius"})),
        Form("(<below> | <a>) million [[and] (<below> | <thousands>)]", "millions", "one million", Breadth.TYPED),
    ),
    "figure": (
        Form("<digit>"),
        Form("double <digit>", "double", "double four", Breadth.BROAD),
        Form("(triple | treble) <digit>", "triple", "triple zero", Breadth.BROAD),
    ),
    "figures": (Form("<figure>"), Form("<figure> <figures>", "bars")),
    "chunk": (Form("<figure>"), Form("<two>", breadth=Breadth.BROAD), Form("<int>")),
    "chunks": (Form("<chunk>"), Form("<chunk> <chunks>", "bars")),
    "part": (  # what follows a point: digits, and at most one two-digit word, at the end
        Form("<figures>"),
        Form("<figures> <two>", "bars", breadth=Breadth.BROAD),
        Form("<two>", breadth=Breadth.BROAD),
        Form("<int>"),
    ),
    "tail": (Form("<part>", "unbarred"),),
    "pair": (
        Form("<nz> <two>", "pair", "four fifty two"),
        Form("<nz> <zero> (<nz> | <zero>)", "pair", "four oh five"),
        Form("<nz> double <zero>", "pair_double", "four double oh", Breadth.BROAD),
    ),
    "quad": (
        Form("<two> <two>", "pair", "twelve fifty"),
        Form("<two> <zero> (<nz> | <zero>)", "pair", "twelve oh five"),
        Form("<two> double <zero>", "pair_double", "twelve double oh", Breadth.TYPED),
    ),
    "whole": (
        Form("<count>"),
        Form("<zero>"),
        Form("<pair>", "unbarred", breadth=Breadth.BROAD),
        Form("<quad>", "unbarred", breadth=Breadth.TYPED),
        Form("<figures>", "unbarred", breadth=Breadth.TYPED),
    ),
    "number": (
        Form("[<whole>] <point> <tail>", "decimal", "four point five two"),
        Form("<dec>", "typed_decimal", "0.452"),
        Form("<amb>", "comma", "1,234"),
        Form("<sci>", "scientific", "4.7e3"),
        Form("<count>", "exact", "four hundred fifty two"),
        Form("<dec> thousand", "decimal_thousand", "2.2 thousand", Breadth.TYPED),
        Form("<whole> <point> <tail> thousand", "said_thousand", "two point two thousand", Breadth.TYPED),
        Form("<pair>", "paired", "four fifty two"),
        Form("<quad>", "quadded", "twelve fifty", Breadth.BROAD),
        Form("<figure> <figures>", "run", "four five two", only=frozenset({"diode"})),
        Form("(triple | treble) <digit>", "run_triple", "triple four", Breadth.BROAD),
        Form("<chunks>", "mixed", "thirty two seven sixty eight", Breadth.TYPED),
    ),
}

QUANTITY_RULES: Mapping[str, Rule] = {
    "unit_word": UNIT_WORDS,
    "base": BASE_WORDS,
    "prefix": PREFIX_WORDS,
    "mark": MARK_WORDS,
    "kind": (Form("dc | d c", "dc", breadth=Breadth.TYPED), Form("ac | a c | rms", "ac", breadth=Breadth.TYPED)),
    "quarters": {"quarter": "25", "half": "5"},
    "unit": (
        Form("<unit_word>"),
        Form("<prefix> <base>", "prefixed", "kilo ohms"),
        Form("(degrees | degree | deg | °) (celsius | centigrade | c)", "celsius", "degrees celsius", Breadth.BROAD),
        Form("(degrees | degree | deg | °) (fahrenheit | f)", "fahrenheit", breadth=Breadth.TYPED),
        Form("m v", "millivolts", breadth=Breadth.TYPED),
        Form("m a", "milliamps", breadth=Breadth.TYPED),
    ),
    "amount": (
        Form("<number> [<unit>]", "measured", "four point seven k"),
        Form("(<count> | <zero>) <mark> <part>", "marked", "four k seven", only=frozenset({"ohms"})),
        Form("<count> <mark> <hundreds>", "marked", "one volt two hundred", Breadth.TYPED),
        Form("r <tail>", "r_first", "R forty seven", Breadth.BROAD),
        Form("<rkm> [<unit>]", "rkm", "4k7"),
        Form("<count> and a <quarters> [<unit>]", "and_part", "one and a half k", Breadth.BROAD),
        Form("(<count> | <a>) <unit> and a <quarters>", "unit_and_part", "two volts and a half", Breadth.TYPED),
        Form("[a] <quarters> [of] [a | an] <unit>", "part", "half a volt", Breadth.BROAD),
        Form("three quarters [of] [a | an] <unit>", "three_quarters", "three quarters of a volt", Breadth.TYPED),
        Form("<count> ½ [<unit>]", "and_half_sign", "1½ k", Breadth.TYPED),
        Form("½ [a | an] <unit>", "half_sign", "½ V", Breadth.TYPED),
        Form("<a> <unit>", "one_unit", "a volt", Breadth.TYPED),
        Form("<count> <unit> [and] <number> <unit>", "compound", "one volt two hundred millivolts", Breadth.TYPED),
    ),
    "sign": (
        Form("minus", "minus", "minus point two"),
        Form("negative", "minus", "negative five", Breadth.BROAD),
        Form("-", "minus", "-0.2", Breadth.TYPED),
        Form("plus | positive | +", "plus", breadth=Breadth.TYPED),
    ),
    "about": (
        Form("about", "rough", "about four hundred"),
        Form(
            "around | roughly | approximately | nearly | almost | maybe", "rough", "roughly four hundred", Breadth.BROAD
        ),
        Form("approx | perhaps | circa | ~ | close to | near | something like", "rough", "~400", Breadth.TYPED),
        Form("just (over | under | above | below) | i (think | guess | reckon)", "rough", breadth=Breadth.TYPED),
    ),
    "so": (
        Form("or so | ish | roughly | approximately | or thereabouts | give or take", "rough", "four hundred or so",
             Breadth.TYPED),
    ),
    "quantity": (Form("[<about>] [<sign>] <amount> [<kind>] [<so>]", "quantity", "about four hundred millivolts"),),
}  # fmt: skip

NUMBER_WORDS = frozenset(
    w for name in ("zero", "nz", "teen", "ty", "point") for w in NUMBER_RULES[name]
) | {"hundred", "thousand", "half"}  # fmt: skip
