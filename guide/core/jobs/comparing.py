"""A reading beside those of known-good boards of its model: whether it is like them, and how it is then told.

The odds split a reading that is unlike them between bands (`weighing.weights_of`). That is suspicion, not the meter's
error: such a reading is told in the band it fell into, and never as being near an edge.
"""

from __future__ import annotations

from collections.abc import Mapping

from guide.core.jobs.job import Job
from guide.core.jobs.weighing import unlike_good_boards
from guide.core.quantity import Quantity, shown
from guide.core.reading import Measured, Reading


def good_boards(job: Job, check: str, reading: Reading) -> str:
    """Return what good boards of this model read at `check` where `reading` is unlike them: `485 mV to 529 mV`; empty
    where it is like them, or nothing is known of them."""
    known = job.tree.checks.get(check)
    if known is None or job.shop is None or not isinstance(reading, Measured):
        return ""
    if not unlike_good_boards(job, known, reading):
        return ""
    low, high = (Quantity(edge, reading.quantity.unit) for edge in job.shop.intervals[check])
    return f"{shown(low, resolution=reading.resolution)} to {shown(high, resolution=reading.resolution)}"


def told_weights(
    job: Job, check: str, reading: Reading, band: str, weights: Mapping[str, float]
) -> Mapping[str, float]:
    """Return the shares of the bands that `reading` is told with: without the suspicion of being unlike good boards."""
    return {band: 1.0} if good_boards(job, check, reading) else weights
