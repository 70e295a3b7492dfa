"""Killed at any moment, a job loses nothing that was printed. `python -m tests.crash.run` kills a thousand times."""
