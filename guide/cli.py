"""Arguments and exit codes: the one place where a GuideError becomes one line on standard error."""

from __future__ import annotations

import io
import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from guide import __version__
from guide.commands import completing
from guide.core.errors import GuideError, TreeError

app = typer.Typer(
    name="guide",
    help="Guided fault-finding for the board-level repair bench.",
    no_args_is_help=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)

# The base of every usage error, wherever this version of typer keeps it (its own copy of click, or click's).
_USAGE: Any = typer.BadParameter.__mro__[2]

LONGEST = 1000  # of an error line; a name in it may be anything


Json = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]
Meter = Annotated[
    str | None, typer.Option("--meter", help="A connected meter takes the readings: its address, or auto.")
]
Trees = Annotated[list[Path] | None, typer.Option("--trees", help="A further folder of trees; may be given again.")]
JsonLines = Annotated[bool, typer.Option("--jsonl", help="Speak the JSON-lines contract on standard in and out.")]
Voice = Annotated[bool, typer.Option("--voice", help="Speak and listen.")]
Plain = Annotated[bool, typer.Option("--plain", help="Line after line instead of the full screen.")]
Typed = Annotated[bool, typer.Option("--typed", help="Keyboard only.")]


@app.callback(invoke_without_command=True)
def bench(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
    plain: Plain = False,
) -> None:
    """The bench: go on with a job or begin one."""
    if version:
        typer.echo(f"guide {__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        from guide.commands import common, working

        raise typer.Exit(working.bench(common.view(plain=plain)))


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
def jobs(as_json: Json = False) -> None:
    """What is open, aside, closed."""
    from guide.commands import listing

    raise typer.Exit(listing.jobs(as_json=as_json))


@app.command()
def outcome(
    job: Annotated[str, typer.Argument(help="The job's number.", autocompletion=completing.jobs)],
    cause: Annotated[str, typer.Argument(help="A cause of its tree, other, or none.")],
    note: Annotated[str, typer.Option("--note", help="What else there is to say.")] = "",
) -> None:
    """Record what it really was."""
    from guide.commands import listing

    raise typer.Exit(listing.outcome(job, cause, note))


@app.command("trees")
def list_trees(
    words: Annotated[list[str] | None, typer.Argument(help="Words of a symptom.")] = None,
    as_json: Json = False,
    learned: Annotated[str | None, typer.Option("--learned", help="What closed jobs taught about this tree.")] = None,
    trees: Trees = None,
) -> None:
    """What it knows, matched to words."""
    if learned is not None:
        from guide.commands import pricing

        raise typer.Exit(pricing.list_learned(learned, trees or [], as_json=as_json))
    from guide.commands import listing

    raise typer.Exit(listing.list_trees(" ".join(words or []), trees or [], as_json=as_json))


@app.command()
def plan(
    tree: Annotated[str, typer.Argument(help="The tree, by its id.", autocompletion=completing.trees)],
    as_json: Json = False,
    to: Annotated[Path | None, typer.Option("--to", help="Write the planned order as a tree's routes.")] = None,
    trees: Trees = None,
) -> None:
    """Best order of checks, and its price."""
    from guide.commands import pricing

    raise typer.Exit(pricing.plan(tree, trees or [], to, as_json=as_json))


@app.command()
def rehearse(
    tree: Annotated[str, typer.Argument(help="The tree, by its id.", autocompletion=completing.trees)],
    runs: Annotated[int, typer.Option("--runs", help="How many simulated jobs.")] = 10_000,
    seed: Annotated[int, typer.Option("--seed", help="The same seed gives the same jobs.")] = 0,
    as_json: Json = False,
    trees: Trees = None,
) -> None:
    """Simulated faults: how often right, how many checks."""
    from guide.commands import pricing

    raise typer.Exit(pricing.rehearse(tree, trees or [], runs=runs, seed=seed, as_json=as_json))


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
def lint(
    paths: Annotated[
        list[Path] | None, typer.Argument(help="Tree files or folders; all known trees if left out.")
    ] = None,
    as_json: Json = False,
    trees: Trees = None,
) -> None:
    """Findings in trees as file:line."""
    from guide.commands import listing

    raise typer.Exit(listing.lint(paths or [], trees or [], as_json=as_json))


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


@app.command()
def draw(
    tree: Annotated[str, typer.Argument(help="The tree's id.", autocompletion=completing.trees)],
    to: Annotated[
        Path | None, typer.Option("--to", help="FILE.svg or .md; Markdown to standard output if left out.")
    ] = None,
    job: Annotated[
        str | None, typer.Option("--job", help="A job on it, whose path is shown.", autocompletion=completing.jobs)
    ] = None,
    trees: Trees = None,
) -> None:
    """The tree as a picture, its findings marked."""
    from guide.commands import drawing

    raise typer.Exit(drawing.draw(tree, to, job, trees or []))


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


@app.command("help")
def help_topic(
    topic: Annotated[
        str, typer.Argument(help="A topic; all of them if left out.", autocompletion=completing.topics)
    ] = "",
) -> None:
    """What can be said, typed and set up, by topic."""
    from guide.commands import helping

    raise typer.Exit(helping.help_on(topic))


@app.command()
def demo(
    voice: Voice = False,
    fast: Annotated[bool, typer.Option("--fast", help="Without the pauses.")] = False,
) -> None:
    """A whole job on the invented device, no hardware needed."""
    from guide.commands import demo

    raise typer.Exit(demo.demo(voice=voice, fast=fast))


def names() -> tuple[str, ...]:
    """Return the names of all commands."""
    return tuple(sorted(typer.main.get_command(app).commands))  # type: ignore[attr-defined]


def main() -> None:
    """Run the command line; every error of ours is one line and an exit code."""
    _any_bytes()
    sys.exit(run(sys.argv[1:]))


def _any_bytes() -> None:
    """Let no byte typed and no character shown end a job: what is no text is replaced; pipes and files are UTF-8."""
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding=None if stream.isatty() else "utf-8", errors="replace")


def run(arguments: list[str]) -> int:
    """Run with `arguments` and return the exit code: 0 done, 1 findings, 2 bad use or input, 3 open elsewhere."""
    command: Any = typer.main.get_command(app)
    try:
        result = command.main(args=arguments, prog_name="guide", standalone_mode=False)
    except TreeError as error:
        more = len(error.findings) - 1
        first = str(error).splitlines()[0]
        return _failed(f"{first}{f' ({more} more: guide lint)' if more > 0 else ''}", error.exit_code)
    except GuideError as error:
        return _failed(str(error), error.exit_code)
    except (typer.Abort, KeyboardInterrupt):
        return 130
    except _USAGE as error:
        return _failed(error.format_message(), 2)
    except BrokenPipeError:
        return 0
    return int(result or 0)


def _failed(message: str, code: int) -> int:
    from guide.core.jobs.wording import clean

    line = clean(" ".join(message.split()))
    sys.stderr.write(f"guide: {line if len(line) <= LONGEST else line[:LONGEST] + '...'}\n")
    return code
