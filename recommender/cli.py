"""The command line: its commands, and how it ends; no engineering.

What a command needs is imported when it runs, so that help and refusals come at once.
"""

import sys
from typing import Annotated, ClassVar, NoReturn

import typer

from recommender.commands.group import Home, LazyGroup
from recommender.commands.group import app as new_app
from recommender.running import finish, print_text


class Commands(LazyGroup):
    """All commands, in the order in which help names them."""

    homes: ClassVar = {
        "answer": Home("answers", "answer_command"),
        "compare": Home("answers", "compare_command"),
        "why": Home("answers", "why_command"),
        "parts": Home("parts", "parts_command"),
        "changed": Home("changed", "changed_command"),
        "plan": Home("drawings", "plan_command"),
        "sheet": Home("drawings", "sheet_command"),
        "page": Home("page", "page_command"),
        "rehearse": Home("rehearse", "rehearse_command", "REHEARSE_EXAMPLE"),
        "doubt": Home("doubt", "doubt_command", "DOUBT_EXAMPLE"),
        "map": Home("map", "map_command", "MAP_EXAMPLE"),
        "batch": Home("batch", "batch_command", "BATCH_EXAMPLE"),
        "evidence": Home("data", "evidence_command"),
        "schema": Home("data", "schema_command"),
        "catalogue": Home("data", "catalogue_app"),
        "case": Home("data", "case_app"),
    }


app = new_app(
    name="recommender",
    cls=Commands,
    help="Finds the cheapest carriers and loop for a load, a reach and a rate, and says why.",
    no_args_is_help=True,
    add_completion=True,
)


def invoke() -> object:
    """Parse the command line and run its command; what goes wrong is raised."""
    return app(prog_name="recommender", standalone_mode=False)


def run() -> NoReturn:
    """Run the command line; bad input ends with one message and status 2."""
    sys.exit(finish(invoke))


def _show_version(wanted: bool) -> None:
    if wanted:
        from recommender.version import program_version

        version_ = program_version()
        print_text(f"recommender {version_}" if version_ else "recommender, not installed")
        raise typer.Exit


@app.callback()
def _everywhere(
    version: Annotated[
        bool,
        typer.Option(
            "--version", callback=_show_version, is_eager=True, help="Show the version and stop."
        ),
    ] = False,
) -> None:
    pass
