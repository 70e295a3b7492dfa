"""Some whole jobs walked at random; `tests.walks` walks as many as wanted."""

import pytest

from tests.walks import walk
from tests.worlds import THOROUGH


@pytest.mark.parametrize("seed", range(1, 1 + 40 * THOROUGH))
def test_whole_jobs_hold_every_law_at_every_step(seed):
    walk(seed)
