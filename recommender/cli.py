"""The command line: its commands, and how it ends; no engineering.

What a command needs is imported when it runs, so that help and refusals come at once.
"""

import sys
from typing import Annotated, NoReturn

import typer

from recommender.commands.answers import (
    answer_command,
    compare_command,
    why_command,
)
from recommender.commands.batch import BATCH_EXAMPLE, batch_command
from recommender.commands.case_new import case_new
from recommender.commands.changed import changed_command
from recommender.commands.data import case_app, catalogue_app, evidence_command, schema_command
from recommender.commands.doubt import DOUBT_EXAMPLE, doubt_command
from recommender.commands.drawings import plan_command, sheet_command
from recommender.commands.map import MAP_EXAMPLE, map_command
from recommender.commands.page import page_command
from recommender.commands.parts import parts_command
from recommender.commands.rehearse import REHEARSE_EXAMPLE, rehearse_command
from recommender.running import finish, print_text

app = typer.Typer(
    name="recommender",
    help="Finds the cheapest carriers and loop for a load, a reach and a rate, and says why.",
    no_args_is_help=True,
    add_completion=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.command("answer")(answer_command)
app.command("compare")(compare_command)
app.command("why")(why_command)
app.command("parts")(parts_command)
app.command("changed")(changed_command)
app.command("plan")(plan_command)
app.command("sheet")(sheet_command)
app.command("page")(page_command)
app.command("rehearse", epilog=REHEARSE_EXAMPLE)(rehearse_command)
app.command("doubt", epilog=DOUBT_EXAMPLE)(doubt_command)
app.command("map", epilog=MAP_EXAMPLE)(map_command)
app.command("batch", epilog=BATCH_EXAMPLE)(batch_command)
app.command("evidence")(evidence_command)
app.command("schema")(schema_command)
case_app.command("new")(case_new)
app.add_typer(catalogue_app, name="catalogue")
app.add_typer(case_app, name="case")


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
