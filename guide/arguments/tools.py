"""Arguments of what looks after the bench itself: doctor, meter, hear, help."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from guide.arguments.shared import Json, Trees
from guide.commands import completing

app = typer.Typer()


@app.command()
def doctor(as_json: Json = False, trees: Trees = None) -> None:
    """Microphone, voices, recogniser models, meter, store."""
    from guide.commands import doctor as the_doctor

    raise typer.Exit(the_doctor.doctor(trees or [], as_json=as_json))


@app.command("meter")
def read_meter(
    resource: Annotated[str | None, typer.Option("--resource", help="Its VISA address.")] = None,
    measure: Annotated[str, typer.Option("--measure", help="What to read.")] = "volts_dc",
    listing: Annotated[bool, typer.Option("--list", help="List what is connected.")] = False,
    profile: Annotated[Path | None, typer.Option("--profile", help="Keep this file as your own meter's data.")] = None,
    leads: Annotated[float | None, typer.Option("--leads", help="Ohms shown with the tips held together.")] = None,
    as_json: Json = False,
) -> None:
    """One reading from a connected meter."""
    from guide.commands import instruments

    if profile is not None:
        raise typer.Exit(instruments.keep_profile(profile))
    if leads is not None:
        raise typer.Exit(instruments.null_leads(leads))
    raise typer.Exit(instruments.meter(resource, measure, listing=listing, as_json=as_json))


@app.command()
def hear(
    files: Annotated[list[Path] | None, typer.Argument(help="Recordings (wav).")] = None,
    words: Annotated[str | None, typer.Option("--words", help="Words typed instead of recordings.")] = None,
    measure: Annotated[str | None, typer.Option("--measure", help="What is being measured, for example diode.")] = None,
    check: Annotated[str | None, typer.Option("--check", help="TREE/CHECK that is being answered.")] = None,
    as_json: Json = False,
    trees: Trees = None,
) -> None:
    """What it makes of recordings or words."""
    from guide.commands import hearing

    raise typer.Exit(hearing.hear(files or [], words, measure, check, trees or [], as_json=as_json))


@app.command("help")
def help_topic(
    topic: Annotated[
        str, typer.Argument(help="A topic; all of them if left out.", autocompletion=completing.topics)
    ] = "",
) -> None:
    """What can be said, typed and set up, by topic."""
    from guide.commands import helping

    raise typer.Exit(helping.help_on(topic))
