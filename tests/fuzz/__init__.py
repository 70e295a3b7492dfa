"""Coverage-guided fuzzing, by hand: see `harness.py`. What it found stands in `test_finds.py`."""
