"""The command that answers many cases at once."""

import os
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from recommender.commands.common import (
    AsJson,
    CatalogueFolder,
    Quiet,
    TimeLimit,
    read_catalogue_of,
    seconds_of,
)
from recommender.commands.lines import holds_line
from recommender.faults import InputError
from recommender.running import DONE, NONE_MEETS, complain, console, print_json, tell
from recommender.shown import shown_path

if TYPE_CHECKING:
    from recommender.results.batch import Line

BATCH_EXAMPLE = "Example: recommender batch cases -o answers.csv"
_MOST_PROCESSES = 256


def batch_command(
    source: Annotated[
        Path,
        typer.Argument(
            metavar="FILE.csv|DIR",
            help="Folder of case files, or a table whose first line holds keys of a case, such as"
            " load.mass or station.unload.dwell, and name.",
        ),
    ],
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", help="File to write: .csv or .jsonl, a line for each case."),
    ] = None,
    base: Annotated[
        Path | None, typer.Option(help="Case file whose keys the lines of the table change.")
    ] = None,
    processes: Annotated[
        int | None, typer.Option(help="Processes at work; as many as cores unless said.")
    ] = None,
    afresh: Annotated[
        bool, typer.Option("--afresh", help="Keep nothing of a run that was interrupted.")
    ] = False,
    force: Annotated[bool, typer.Option("--force", help="Replace the file if it exists.")] = False,
    time_limit: TimeLimit = None,
    catalogue: CatalogueFolder = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> int:
    """Answer many cases or lines in brief, several at a time; an interrupted run is taken up."""
    from recommender.files import refuse_existing, write_whole
    from recommender.lines.batch import answer_any
    from recommender.results.answer import plain
    from recommender.trials import batch
    from recommender.trials.jobs import read_jobs
    from recommender.views.batch import show_lines
    from recommender.views.progress import shown_progress
    from recommender.views.tables import lines_csv, lines_jsonl

    writers = {".csv": lines_csv, ".jsonl": lines_jsonl}
    writer = writers.get(output.suffix.lower()) if output else None
    if output is not None:
        if writer is None:
            raise InputError(f"{shown_path(output)}: the name must end in {' or '.join(writers)}")
        refuse_existing(output, force=force)
    count = processes if processes is not None else os.cpu_count() or 1
    if not 1 <= count <= _MOST_PROCESSES:
        raise InputError(f"--processes must be from 1 to {_MOST_PROCESSES} (read: {count})")
    seconds = seconds_of(time_limit)
    if base is not None and holds_line(base):
        raise InputError(
            f"{shown_path(base)}: holds a line of loops, whose keys no table changes; give a folder"
            " of line files, or change its keys with compare --vary"
        )
    jobs = read_jobs(source, base)
    parts = read_catalogue_of(catalogue)
    journal = batch.Journal(output) if output else None
    if journal and afresh:
        journal.forget()
    known = journal.read() if journal else []
    pool = batch.processes(min(count, len(jobs))) if count > 1 else None
    with pool or nullcontext(), shown_progress(quiet=quiet, time_left=True) as report:
        lines = batch.answer_many(
            jobs,
            parts,
            executor=pool,
            seconds=seconds,
            known=known,
            keep=journal.keep if journal else None,
            progress=report,
            answer=answer_any,
        )
    if output is not None and writer is not None and journal is not None:
        write_whole(output, writer(lines), force=force)
        journal.forget()
        kept = len({line.digest for line in known} & {line.digest for line in lines})
        taken = f", {kept} of them from the run before" if kept else ""
        tell(f"wrote {shown_path(output)}: {len(lines)} cases{taken}", quiet=quiet)
    if as_json:
        print_json(plain(lines))
    elif output is None:
        show_lines(console(), lines)
    return _status(lines)


def _status(lines: "list[Line]") -> int:
    """0 if every case could be answered; what could not be is told."""
    bad = [line for line in lines if line.status in ("bad input", "failed")]
    for line in bad[:10]:
        named = line.message.startswith(f"{line.name}:")
        complain(line.message if named else f"{line.name}: {line.message}")
    if len(bad) > 10:
        complain(f"and {len(bad) - 10} other cases that could not be answered")
    if bad:
        return 1 if any(line.status == "failed" for line in bad) else 2
    return DONE if any(line.option for line in lines) else NONE_MEETS
