"""Human digits: recordings of four speakers from the Free Spoken Digit Dataset (CC BY-SA 4.0), where they are at hand.

They are single digits at 8 kHz, half the bandwidth the recognisers were trained on, so this is a hard case.
"""

import os
from pathlib import Path

import pytest

from guide.core.intent import Expecting
from guide.core.quantity import Measure
from guide.edge.voice.agreement import Outcome, meaning
from guide.edge.voice.audio import read_sound

BESIDE = Path(__file__).parents[2] / "shared" / "speech" / "fsdd"
FOLDER = Path(os.environ.get("GUIDE_FSDD") or BESIDE)
OHMS = Expecting(Measure.OHMS)

pytestmark = pytest.mark.skipif(not FOLDER.is_dir(), reason=f"no recordings of human digits in {FOLDER}")


def test_of_human_digits_none_goes_on_that_was_not_said(panel):
    """One in twenty of the recordings, so that it takes seconds; the whole set is in the report of the benchmarks."""
    wrong, agreed = [], 0
    quiet = bytes(6400)
    for file in sorted(FOLDER.glob("*.wav"))[::20]:
        judged = panel.hear(quiet + read_sound(file) + quiet, OHMS)
        if judged.outcome is Outcome.AGREED:
            agreed += 1
            if meaning(judged.text, OHMS) != ("reading", float(file.name[0])):
                wrong.append((file.name, judged.text))
    assert wrong == []
