"""Arguments of what is done with trees: list, draw, plan, rehearse, lint."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from guide.arguments.shared import Json, Trees
from guide.commands import completing

app = typer.Typer()


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
