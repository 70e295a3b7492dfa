"""A choice put to the technician before there is a job: which job, which tree. Shown on a screen or in lines."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Choice:
    """What is put to the technician: `items` as (what to type, text), a hint, and what went wrong before, if anything.

    `enter` is what a bare Enter says; empty where it says nothing.
    """

    title: str
    items: tuple[tuple[str, str], ...]
    hint: str
    trouble: str = ""
    enter: str = ""
