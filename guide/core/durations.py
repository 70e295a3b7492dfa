"""Minutes as a person says them."""

from __future__ import annotations


def duration(minutes: float) -> str:
    """Return about `minutes` in words: `20 seconds`, `half a minute`, `2 and a half minutes`, `an hour and a half`.

    Seconds go by tens, minutes by halves up to five and whole up to an hour, then half hours.
    """
    if minutes < 0.95:
        seconds = max(10, 10 * round(6 * minutes))
        return "half a minute" if seconds == 30 else f"{seconds} seconds"
    if minutes < 55:
        return _halves(minutes if minutes < 5 else round(minutes), "minute")
    return _halves(minutes / 60, "hour")


def _halves(count: float, unit: str) -> str:
    """Return `count` to the nearest half; one is said by its article where a half goes with it, or of an hour."""
    whole, half = divmod(max(2, round(2 * count)), 2)
    if whole == 1:
        one = f"an {unit}" if unit == "hour" else f"a {unit}" if half else f"1 {unit}"
        return f"{one} and a half" if half else one
    return f"{whole} and a half {unit}s" if half else f"{whole} {unit}s"
