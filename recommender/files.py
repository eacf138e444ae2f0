"""Writing a result: whole or not at all, and never over a file that is already there."""

import contextlib
import os
import tempfile
from pathlib import Path

from recommender.inputs.errors import InputError


def refuse_existing(path: Path, *, force: bool) -> None:
    """Refuse a folder, and a file that exists and may not be replaced.

    Raises
    ------
    InputError
        With the remedy.
    """
    if path.is_dir():
        raise InputError(f"{path}: is a folder; name a file in it")
    if path.exists() and not force:
        raise InputError(f"{path}: is there already; add --force to replace it")
    if not path.parent.is_dir():
        raise InputError(f"{path}: there is no folder {path.parent}; make it first")


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
    refuse_existing(path, force=force)
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as error:
        raise InputError(f"{path}: cannot be written ({error.strerror})") from None
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
        Path(name).chmod(0o666 & ~_umask())
        Path(name).replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise InputError(f"{path}: cannot be written ({error.strerror})") from None


def _umask() -> int:
    """The rights that the user withholds from new files."""
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
