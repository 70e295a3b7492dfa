"""How words of the bench sound, in the phones of the CMU dictionary: words it lacks, and ways it does not list."""

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
}  # fmt: skip
