"""Arguments and exit codes: the one place where a GuideError becomes one line on standard error."""

from __future__ import annotations

import io
import sys
from typing import Annotated, Any

import typer

from guide import __version__
from guide.arguments import jobs, tools, trees
from guide.arguments.shared import Plain
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


for group in (jobs, trees, tools):
    app.add_typer(group.app)


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
    """Run with `arguments` and return the exit code: 0 done, 1 findings or not proven, 2 bad use, 3 open elsewhere."""
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
    except SystemExit as left:
        if isinstance(left.__context__, BrokenPipeError):
            return 0  # nobody reads on; typer leaves by itself then, with the code that means findings here
        raise
    return int(result or 0)


def _failed(message: str, code: int) -> int:
    from guide.core.jobs.wording import clean

    line = clean(" ".join(message.split()))
    sys.stderr.write(f"guide: {line if len(line) <= LONGEST else line[:LONGEST] + '...'}\n")
    return code
