"""Options that several commands take, said once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Json = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]
Meter = Annotated[
    str | None, typer.Option("--meter", help="A connected meter takes the readings: its address, or auto.")
]
Trees = Annotated[list[Path] | None, typer.Option("--trees", help="A further folder of trees; may be given again.")]
JsonLines = Annotated[bool, typer.Option("--jsonl", help="Speak the JSON-lines contract on standard in and out.")]
Voice = Annotated[bool, typer.Option("--voice", help="Speak and listen.")]
Plain = Annotated[bool, typer.Option("--plain", help="Line after line instead of the full screen.")]
Typed = Annotated[bool, typer.Option("--typed", help="Keyboard only.")]
