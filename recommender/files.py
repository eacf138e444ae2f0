"""Writing a result: whole or not at all, and never over a file that is already there."""

import contextlib
import os
import tempfile
from pathlib import Path

from recommender.inputs.errors import InputError


def write_whole(path: Path, text: str, *, force: bool) -> None:
    """Write a text file in one step.

    Parameters
    ----------
    path : Path
    text : str
    force : bool
        Whether a file that exists may be replaced.

    Raises
    ------
    InputError
        If the file exists and may not be replaced, or its folder cannot be written.
    """
    if path.exists() and not force:
        raise InputError(f"{path}: is there already; add --force to replace it")
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as error:
        raise InputError(f"{path}: cannot be written ({error.strerror})") from None
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
        Path(name).replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise InputError(f"{path}: cannot be written ({error.strerror})") from None
