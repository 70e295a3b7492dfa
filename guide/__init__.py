"""`guide`: guided fault-finding for the board-level repair bench."""

__version__ = "0.1.0"
