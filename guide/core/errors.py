"""Errors of ours, as a tree; an author's mistake is a `Finding`, a technician's is an `Unclear`.

GuideError                    one clear line: what, where, what to do
├── BadInput                  bad use or bad input: exit code 2
│   ├── TreeError             a procedure tree that cannot be used as it is; carries its findings
│   ├── UnknownTree           no such tree
│   ├── UnknownJob            no such job
│   └── StoreError            the store cannot be read or written
│       └── StoreNewer        the store was written by a newer program
├── JobOpenElsewhere          another window works on this job: exit code 3
└── Unavailable               a part of the bench that is not there (sound card, recogniser, meter, PDF writer)
"""

from __future__ import annotations

from guide.core.tree import Finding


class GuideError(Exception):
    """Any error we raise on purpose. `str(error)` is one line fit to print."""

    exit_code = 2


class BadInput(GuideError):
    """What was typed or handed over cannot be used."""


class TreeError(BadInput):
    """A tree file that cannot be used. `str()` has a line per finding: file:line, what is wrong, what to do."""

    def __init__(self, *findings: Finding) -> None:
        super().__init__("\n".join(f"{f.where}: {f.message}" for f in findings))
        self.findings = findings


class UnknownTree(BadInput):
    """No tree has this id."""


class UnknownJob(BadInput):
    """No job has this id."""


class StoreError(BadInput):
    """The store cannot be opened, read or written."""


class StoreNewer(StoreError):
    """The store was written by a newer program; it is left untouched."""


class JobOpenElsewhere(GuideError):
    """Another process works on this job."""

    exit_code = 3


class Unavailable(GuideError):
    """A part of the bench that is not there; the rest goes on without it."""
