"""Arguments of what works on a job: begin, resume, learn, and what becomes of it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from guide.arguments.shared import Json, JsonLines, Meter, Plain, Trees, Typed, Voice
from guide.commands import completing

app = typer.Typer()


@app.command()
def begin(
    symptom: Annotated[list[str] | None, typer.Argument(help="The symptom in your own words.")] = None,
    tree: Annotated[
        str | None, typer.Option("--tree", help="The tree to walk, by its id.", autocompletion=completing.trees)
    ] = None,
    device: Annotated[str, typer.Option("--device", help="What is on the bench.")] = "",
    voice: Voice = False,
    typed: Typed = False,
    jsonl: JsonLines = False,
    intake: Annotated[
        bool | None, typer.Option("--intake/--no-intake", help="Ask at the counter first: yes on a terminal.")
    ] = None,
    meter: Meter = None,
    plain: Plain = False,
    trees: Trees = None,
) -> None:
    """Begin a job from a symptom or a tree."""
    from guide.commands import common, working

    words = " ".join(symptom or [])
    raise typer.Exit(
        working.begin(
            words,
            tree,
            device,
            common.mode(jsonl, voice, typed),
            trees or [],
            intake=intake,
            meter=meter,
            view=common.view(plain=plain),
        )
    )


@app.command()
def resume(
    job: Annotated[
        str | None,
        typer.Argument(help="The job's number; the newest open one if left out.", autocompletion=completing.open_jobs),
    ] = None,
    voice: Voice = False,
    typed: Typed = False,
    jsonl: JsonLines = False,
    adopt: Annotated[bool, typer.Option("--adopt", help="Go on with the tree's present version.")] = False,
    intake: Annotated[bool, typer.Option("--intake", help="Complete the intake first.")] = False,
    meter: Meter = None,
    plain: Plain = False,
    trees: Trees = None,
) -> None:
    """Go on with a job."""
    from guide.commands import common, working

    raise typer.Exit(
        working.resume(
            job,
            common.mode(jsonl, voice, typed),
            trees or [],
            adopt=adopt,
            intake=intake,
            meter=meter,
            view=common.view(plain=plain),
        )
    )


@app.command()
def learn(
    model: Annotated[str, typer.Argument(help="The device model, as --device names it.")],
    tree: Annotated[
        str, typer.Argument(help="The tree whose readings are taken, by its id.", autocompletion=completing.trees)
    ],
    voice: Voice = False,
    typed: Typed = False,
    jsonl: JsonLines = False,
    meter: Meter = None,
    plain: Plain = False,
    trees: Trees = None,
) -> None:
    """Take every reading of a known-good board, as a reference for its model."""
    from guide.commands import common, working

    how = common.mode(jsonl, voice, typed)
    raise typer.Exit(working.learn(model, tree, how, trees or [], meter=meter, view=common.view(plain=plain)))


@app.command()
def jobs(
    words: Annotated[
        list[str] | None,
        typer.Argument(help="Only jobs that hold all of these: a device, label, note, cause, state or date."),
    ] = None,
    as_json: Json = False,
) -> None:
    """What is open, aside, closed."""
    from guide.commands import listing

    raise typer.Exit(listing.jobs(words or [], as_json=as_json))


@app.command()
def outcome(
    job: Annotated[str, typer.Argument(help="The job's number.", autocompletion=completing.jobs)],
    cause: Annotated[
        str, typer.Argument(help="A cause of its tree, other, or none.", autocompletion=completing.causes)
    ],
    note: Annotated[str, typer.Option("--note", help="What else there is to say.")] = "",
) -> None:
    """Record what it really was."""
    from guide.commands import listing

    raise typer.Exit(listing.outcome(job, cause, note))


@app.command()
def report(
    job: Annotated[str, typer.Argument(help="The job's number.", autocompletion=completing.jobs)],
    reader: Annotated[str, typer.Option("--for", help="bench, or customer: one page in plain words.")] = "bench",
    to: Annotated[
        Path | None,
        typer.Option("--to", help="FILE.html, .pdf, .md or .json; Markdown to standard output if left out."),
    ] = None,
) -> None:
    """What was found, measured and done."""
    from guide.commands import reporting

    raise typer.Exit(reporting.report(job, reader, to))


@app.command("export")
def export_job(
    job: Annotated[str, typer.Argument(help="The job's number.", autocompletion=completing.jobs)],
    to: Annotated[Path | None, typer.Option("--to", help="The file to write; standard output if left out.")] = None,
) -> None:
    """A job as one JSON document."""
    from guide.commands import data

    raise typer.Exit(data.export(job, to))


@app.command("import")
def import_job(file: Annotated[Path, typer.Argument(help="A document written by export.")]) -> None:
    """A job from such a document."""
    from guide.commands import data

    raise typer.Exit(data.bring_in(file))


@app.command()
def delete(
    job: Annotated[str, typer.Argument(help="The job's number.", autocompletion=completing.jobs)],
    yes: Annotated[bool, typer.Option("--yes", help="It is meant.")] = False,
) -> None:
    """Remove a job for good."""
    from guide.commands import data

    raise typer.Exit(data.delete(job, sure=yes))


@app.command()
def demo(
    voice: Voice = False,
    fast: Annotated[bool, typer.Option("--fast", help="Without the pauses.")] = False,
) -> None:
    """A whole job on the invented device, no hardware needed."""
    from guide.commands import demo

    raise typer.Exit(demo.demo(voice=voice, fast=fast))
