"""A long job holds no more memory than a short one: what happened is on disk, and only what counts now is kept."""

import gc
import tracemalloc

import pytest

from guide.core.intent import Utterance
from tests.worlds import TestBench

# The caches of the odds and of words fill up over the first readings; a kept job is some 2 KiB a reading.
ALLOWED_KIB = 100
WARM = 50


def held_kib() -> float:
    gc.collect()
    return tracemalloc.get_traced_memory()[0] / 1024


def growth(bench: TestBench, *, readings: int, keep: list | None = None) -> float:
    """Return what `readings` answers, each taken back, add to the memory held; `keep` collects every job."""
    tracemalloc.start()
    try:
        before = 0.0
        for number in range(WARM + readings):
            if number == WARM:
                before = held_kib()
            bench.session.hear(Utterance("12.1"))
            bench.session.hear(Utterance("go back"))
            if keep is not None:
                keep.append(bench.job)
        return held_kib() - before
    finally:
        tracemalloc.stop()


@pytest.fixture
def bench(tmp_path):
    made = TestBench(tmp_path)
    made.hears("ready")
    yield made
    made.store.close()


def test_hundreds_of_readings_leave_the_memory_where_it_was(bench):
    assert growth(bench, readings=100) < ALLOWED_KIB
    assert bench.job.seq > 600


def test_a_leak_of_one_job_a_reading_would_be_seen(bench):
    assert growth(bench, readings=100, keep=[]) > ALLOWED_KIB
