"""What commands share: their options, the case and the catalogue."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from recommender.inputs.case import Case
    from recommender.inputs.catalogue import Catalogue

CatalogueFolder = Annotated[
    Path | None, typer.Option("--catalogue", metavar="DIR", help="Folder of catalogue files.")
]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON document and nothing else.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="No messages but those about faults.")]
TimeLimit = Annotated[
    str | None,
    typer.Option(
        "--time-limit",
        metavar="TIME",
        help='Longest time for the proof, "30 s" unless said.',
    ),
]
CaseFile = Annotated[Path, typer.Argument(metavar="CASE", help="Case file (TOML).")]


def read_catalogue_of(folder: Path | None) -> "Catalogue":
    """The catalogue in a folder, or the one that comes with the program."""
    from recommender.inputs.catalogue import read_catalogue
    from recommender.inputs.files import shipped

    return read_catalogue(folder or shipped("catalog"))


def read_case_of(path: Path) -> "Case":
    """The case in a file."""
    from recommender.inputs.case import read_case

    return read_case(path)


def known_ids(context: typer.Context, incomplete: str) -> list[str]:
    """Ids that complete what was begun; none if the catalogue cannot be read."""
    from recommender.faults import InputError, MachineError

    folder = context.params.get("catalogue")
    try:
        known = read_catalogue_of(Path(folder) if folder else None).ids
    except (InputError, MachineError):
        return []
    return [id_ for id_ in known if id_.startswith(incomplete)]
