"""The one reader of files, and where the catalogue and the worked cases of the package lie.

A name may lead anywhere: to a pipe that never ends, a device, a file that is no text. Whatever is
no regular file of a reasonable size is refused before it is read.
"""

import errno
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from recommender.faults import InputError, MachineError
from recommender.inputs.toml_text import parse_toml
from recommender.shown import shown_path

LARGEST_FILE: Final = 1 << 20
MOST_FILES: Final = 200
LARGEST_FOLDER: Final = 4 << 20

# What another name or other rights would cure; anything else the machine has to answer for.
_OF_THE_NAME: Final = frozenset(
    {
        errno.ENOENT,
        errno.ENOTDIR,
        errno.EISDIR,
        errno.EEXIST,
        errno.ENAMETOOLONG,
        errno.ELOOP,
        errno.EACCES,
        errno.EPERM,
        errno.EINVAL,
        errno.ENXIO,
        errno.ENODEV,
    }
)


def refusal(path: Path, what: str, error: OSError | ValueError) -> InputError | MachineError:
    """An error of the operating system as a message that names the path.

    Parameters
    ----------
    path : Path
    what : str
        What could not be done, such as ``cannot be read``.
    error : OSError or ValueError
        Python's word for a path that no system could have, one with a null in it.
    """
    why = error.strerror if isinstance(error, OSError) else "not a path"
    message = f"{shown_path(path)}: {what} ({why or 'no reason given'})"
    of_the_name = not isinstance(error, OSError) or error.errno in _OF_THE_NAME
    return InputError(message) if of_the_name else MachineError(message)


@contextmanager
def refused(path: Path, what: str) -> Iterator[None]:
    """Turns what the operating system says of a path into a message that names it."""
    try:
        yield
    except (OSError, ValueError) as error:
        raise refusal(path, what, error) from None


def read_toml(path: Path) -> dict[str, Any]:
    """A TOML file as plain data.

    Raises
    ------
    InputError
        If the file is missing, unreadable, no regular file, too large, not UTF-8, or not TOML.
    MachineError
        If the machine fails while it is read.
    """
    return parse_toml(read_text(path), shown_path(path))


def read_text(path: Path) -> str:
    """A text file.

    Raises
    ------
    InputError
        If the file is missing, unreadable, no regular file, too large, or not UTF-8.
    MachineError
        If the machine fails while it is read.
    """
    data = read_bytes(path)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(f"{shown_path(path)}: is not UTF-8 text; save it as UTF-8") from None


def read_bytes(path: Path, largest: int = LARGEST_FILE, what: str = "TOML file") -> bytes:
    """The contents of a regular file that is not too large.

    Parameters
    ----------
    path : Path
    largest : int
        Bytes that it may have.
    what : str
        What it should be, for a message.

    Raises
    ------
    InputError, MachineError
        As ``read_toml``.
    """
    name = shown_path(path)
    try:
        # Without waiting: a pipe would keep us until somebody writes to it.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | _BINARY)
    except FileNotFoundError:
        raise InputError(f"{name}: there is no such file; check the name") from None
    except IsADirectoryError:
        raise InputError(f"{name}: is a folder; name a {what}") from None
    except (OSError, ValueError) as error:
        raise refusal(path, "cannot be read", error) from None
    with refused(path, "cannot be read"):
        try:
            _refuse_irregular(os.fstat(handle), name, largest, what)
        except InputError:
            os.close(handle)
            raise
        with os.fdopen(handle, "rb") as file:
            data = file.read(largest + 1)
    if len(data) > largest:
        raise InputError(_too_large(name, largest, what))
    return data


_BINARY: Final = getattr(os, "O_BINARY", 0) | getattr(os, "O_NOCTTY", 0)


def _refuse_irregular(status: os.stat_result, name: str, largest: int, what: str) -> None:
    if stat.S_ISDIR(status.st_mode):
        raise InputError(f"{name}: is a folder; name a {what}")
    if not stat.S_ISREG(status.st_mode):
        raise InputError(f"{name}: is a pipe or a device; name a regular file")
    if status.st_size > largest:
        raise InputError(_too_large(name, largest, what))


def _too_large(name: str, largest: int, what: str) -> str:
    return f"{name}: is larger than {largest >> 20} MiB, more than a {what} here may be"


def toml_files(folder: Path) -> list[Path]:
    """The TOML files of a catalogue folder by name, without those whose names begin with a dot.

    Raises
    ------
    InputError
        If there is no such folder, it cannot be read, or it holds no file, or too many.
    MachineError
        If the machine fails while it is read.
    """
    name = shown_path(folder)
    try:
        # Editors and systems keep files of their own beside ours, under names with a dot.
        with os.scandir(folder) as entries:
            names = sorted(
                entry.name
                for entry in entries
                if entry.name.endswith(".toml") and not entry.name.startswith(".")
            )
    except FileNotFoundError:
        raise InputError(f"{name}: there is no such catalogue folder; check the name") from None
    except NotADirectoryError:
        raise InputError(
            f"{name}: is a file; name the folder that the catalogue's files lie in"
        ) from None
    except (OSError, ValueError) as error:
        raise refusal(folder, "cannot be read", error) from None
    if not names:
        raise InputError(f"{name}: holds no TOML file; a catalogue is a folder of them")
    if len(names) > MOST_FILES:
        raise InputError(
            f"{name}: holds {len(names)} TOML files; a catalogue has {MOST_FILES} at most"
        )
    return [folder / name for name in names]


def read_folder(folder: Path) -> Iterator[tuple[Path, dict[str, Any]]]:
    """The files of a catalogue folder with their data, in the order of their names.

    Raises
    ------
    InputError, MachineError
        As ``toml_files`` and ``read_toml``, and if all files together are too large.
    """
    files = toml_files(folder)
    left = LARGEST_FOLDER
    for file in files:
        with refused(file, "cannot be read"):
            left -= _size(file)
        if left < 0:
            raise InputError(
                f"{shown_path(folder)}: holds more than {LARGEST_FOLDER >> 20} MiB of TOML files,"
                " more than a catalogue may be"
            )
        yield file, read_toml(file)


def _size(file: Path) -> int:
    try:
        return file.stat().st_size
    except FileNotFoundError:
        return 0  # gone, or a link that leads nowhere; reading says so


def shipped(name: str) -> Path:
    """A data folder that comes with the package (``catalog`` or ``cases``).

    An installed wheel carries it inside the package; a source tree has it beside the package.
    """
    package = Path(__file__).resolve().parents[1]
    inside = package / "data" / name
    return inside if inside.is_dir() else package.parent / name
