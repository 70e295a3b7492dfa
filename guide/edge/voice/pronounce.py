"""How words of the bench sound, in the phones of the CMU dictionary: words it lacks, and ways it does not list.

British ways leave out an r before a consonant or a pause, say `one` and `volts` with the vowel of `lot`, and begin the
vowel of `oh` in the middle of the mouth. After Wells, Accents of English (1982), from memory: his sets NORTH, LOT and
GOAT in Received Pronunciation; and as espeak-ng's en-gb writes them (`espeak-ng -v en-gb --ipa`).
"""

from __future__ import annotations

from collections.abc import Mapping

PRONUNCIATIONS: Mapping[str, tuple[str, ...]] = {
    "millivolt": ("M IH L IH V OW L T", "M IH L AH V OW L T"),
    "millivolts": ("M IH L IH V OW L T S", "M IH L AH V OW L T S"),
    "milliamp": ("M IH L IY AE M P",),
    "milliamps": ("M IH L IY AE M P S",),
    "amps": ("AE M P S",),
    "microamps": ("M AY K R OW AE M P S",),
    "kilohm": ("K IH L OW M", "K IH L AH OW M"),
    "kilohms": ("K IH L OW M Z", "K IH L AH OW M Z"),
    "megohm": ("M EH G OW M",),
    "megohms": ("M EH G OW M Z",),
    "kilohertz": ("K IH L AH HH ER T S", "K IH L OW HH ER T S"),
    "shush": ("SH AH SH",),
    "oh": ("AH UH",),
    "zero": ("Z IY AH R OW", "Z IH AH R OW", "Z IH R AH UH"),
    "one": ("W AA N",),
    "four": ("F AO",),
    "fourteen": ("F AO T IY N",),
    "forty": ("F AO T IY",),
    "volts": ("V AA L T S", "V AH UH L T S"),
    "ohms": ("AH UH M Z",),
    "no": ("N AH UH",),
    "go": ("G AH UH",),
    "over": ("OW V AH",),
    "where": ("W EH AH",),
}  # fmt: skip
