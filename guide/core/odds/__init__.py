"""Odds of every cause, and which check to take next for the least time."""
