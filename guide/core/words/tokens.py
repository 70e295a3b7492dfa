"""A line of text as the words the forms know: one spelling for every way of writing the same thing.

Case is kept only where it is the meaning (`4.7M` against `452m`); separators inside numbers are settled here, and a
number that cannot be read with certainty becomes a word no form knows, so it is never half understood.
"""

from __future__ import annotations

import re

from guide.core.words.forms import ONES
from guide.core.words.templates import Token

_SPACES = "\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000\t\n\r\f\v"
_GONE = "\u200b\u200c\u200d\u2060\ufeff\u00ad"
_TABLE: dict[int, str] = {
    **{0xFF01 + i: chr(0x21 + i) for i in range(94)},  # full-width forms
    **dict.fromkeys(map(ord, _SPACES), " "),
    **dict.fromkeys(map(ord, _GONE), ""),
    **dict.fromkeys(map(ord, "\u2010\u2011\u2012\u2013\u2014\u2015\u2212\ufe63"), "-"),
    **dict.fromkeys(map(ord, "\u2018\u2019\u02bc\u0060\u00b4"), "'"),
    **dict.fromkeys(map(ord, "\u2126\u03a9"), "ω"),
    **dict.fromkeys(map(ord, "\u03bc\u00b5"), "µ"),
    0x2103: "°C", 0x2109: "°F", 0x00BA: "°", 0x00BD: " ½ ", 0x2248: "~", 0x223C: "~", 0x221E: " ∞ ", 0x3002: ".",
    0x33C0: "kω", 0x33C1: "Mω", 0x33B7: "mV", 0x33B6: "µV", 0x3390: "Hz", 0x3391: "kHz", 0x3392: "MHz", 0x3383: "mA",
}  # fmt: skip

# Words whose leading letter m is milli or mega by its case.
_CASED = frozenset({"m", "mv", "mvs", "ma", "mas", "mω", "mohm", "mohms", "mhz", "mvdc", "mvac"})
_SAME = {"cannot": "cant", "\u2013": "-", "≈": "~", "kohmz": "kohms"}

_RUN_OF_SPACES = re.compile(" {2,}")
_PIECE = re.compile(
    r"""
    (?P<letters>(?<![\w.])(?:[A-Za-z]\.){1,4}[A-Za-z]?(?!\w))         # O.L.
  | (?P<rkm>(?<![\w.,])(?:[0-9]+[rRkKmMvVaAω][0-9]+|[rRkKM][0-9]+)(?![0-9.,]*[0-9])(?!e[+-]?[0-9]))  # 4k7, R47
  | (?P<sci>(?<![\w.,])[0-9]+(?:\.[0-9]+)?[eE][+-]?[0-9]{1,2}(?![\w.]))
  | (?P<spaced>(?<![0-9.,])[1-9][0-9]?(?:\ [0-9]{3})+(?:[.,][0-9]+)?(?![0-9.,]*[0-9])(?!\ [0-9]))     # 1 234
  | (?P<number>(?:[0-9]+(?:[.,'][0-9]+)*|(?<![\w.,])[.,][0-9]+))
  | (?P<word>[^\W\d_]+(?:'[^\W\d_]+)*|°[A-Za-z]?)
  | (?P<mark>[-+~<>=%½∞/*^\\#@&$_|{}\[\]²³¹×±√])
  | (?P<skip>[\s,;:!.'"()…?])
  | (?P<other>.)
    """,
    re.VERBOSE,
)


def tokens(text: str) -> list[Token]:
    """Return the words of `text`; never raises. Unknown characters become words that no form knows."""
    plain = _RUN_OF_SPACES.sub(" ", text.translate(_TABLE))
    found: list[Token] = []
    for piece in _PIECE.finditer(plain):
        kind, raw = piece.lastgroup or "other", piece.group()
        if kind == "skip":
            continue
        if kind == "word":
            found.append(Token(word_key(raw), raw))
        elif kind == "number":
            found += _number(raw)
        elif kind == "spaced":
            found += _number(raw.replace(" ", ""))
        elif kind == "letters":
            found.append(Token(word_key(raw.replace(".", "")), raw))
        elif kind == "mark" and raw == "-":
            found += _dash(plain, piece.start(), piece.end())
        else:
            found.append(Token(f"#{kind}" if kind in ("rkm", "sci") else raw, raw))
    return found


def word_key(raw: str) -> str:
    """Return the spelling the forms use: lower case without apostrophes, an m's case kept where it means something."""
    low = raw.lower().replace("'", "")
    if low in _CASED:
        return raw[0] + low[1:]
    return _SAME.get(low, low)


def _dash(plain: str, start: int, end: int) -> list[Token]:
    """A hyphen joins words, a dash before a number is a minus, a dash between numbers is a range (no reading)."""
    before = plain[:start].rstrip()[-1:]
    after = plain[end : end + 1]
    if before.isalpha() and after.isalpha() and plain[start - 1 : start] != " ":
        return []
    if before.isdigit():
        return [Token("to", "-")]
    return [Token("-", "-")]


def _number(raw: str) -> list[Token]:
    if raw.isascii() and raw.isdigit():
        return _integer(raw)
    bare = raw.replace("'", "") if re.fullmatch(r"\d{1,3}('\d{3})+([.,]\d+)?", raw) else raw
    if "'" in bare or not bare.isascii():
        return [Token("#bad", raw)]
    if bare.isdigit():
        return _integer(bare)
    return [_separated(bare, raw)]


def _integer(digits: str) -> list[Token]:
    if len(digits) == 1:
        return [Token(ONES[int(digits)], digits)]
    if digits[0] == "0":
        return [Token(ONES[int(d)], d) for d in digits]
    return [Token("#dd" if len(digits) == 2 else "#int", digits)]


_GROUPED = re.compile(r"[1-9]\d{0,2}(?:([.,])\d{3})(?:\1\d{3})*(?:([.,])(\d+))?")


def _separated(text: str, raw: str) -> Token:
    """Settle points and commas. A single comma before three digits may be either separator: `#amb`."""
    separators = [c for c in text if c in ".,"]
    if len(separators) == 1:
        whole, _, part = text.replace(",", ".").partition(".")
        if separators == [","] and len(part) == 3 and whole and whole[0] != "0" and len(whole) <= 3:
            return Token("#amb", f"{whole}.{part}")
        return Token("#dec", f"{whole}.{part}")
    grouped = _GROUPED.fullmatch(text)
    if grouped is None or grouped[1] == grouped[2]:
        return Token("#bad", raw)
    if grouped[2] is None:
        return Token("#int", text.replace(separators[0], ""))
    return Token("#dec", f"{text[: grouped.start(2)].replace(separators[0], '')}.{grouped[3]}")
