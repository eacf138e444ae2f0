"""The one sink of results: whole or not at all, and never over a file that is already there."""

import errno
import os
import secrets
import stat
from contextlib import suppress
from pathlib import Path
from typing import Final

from recommender.ending import unfinished
from recommender.faults import InputError
from recommender.inputs.files import refused
from recommender.shown import shown_path

_CANNOT: Final = "cannot be written"
# What systems without hard links say when they are asked for one.
_NO_LINKS: Final = frozenset({errno.EPERM, errno.ENOSYS, errno.ENOTSUP, errno.EOPNOTSUPP})
_NO_WAITING: Final = frozenset({errno.EINVAL, errno.ENOSYS, errno.ENOTSUP})
"""What is said where nobody can wait until a file is on the disk."""


def refuse_existing(path: Path, *, force: bool) -> None:
    """Refuse a folder, a link that leads nowhere, and a file that exists and may not be replaced.

    Raises
    ------
    InputError
        With the remedy.
    MachineError
        If the machine fails on the way.
    """
    name = shown_path(path)
    with refused(path, _CANNOT):
        try:
            mode = path.stat().st_mode
        except FileNotFoundError:
            if path.is_symlink():
                raise InputError(
                    f"{name}: is a link that leads nowhere; name another file"
                ) from None
            if not path.parent.is_dir():
                raise InputError(
                    f"{name}: there is no folder {shown_path(path.parent)}; make it first"
                ) from None
            return
    if stat.S_ISDIR(mode):
        raise InputError(f"{name}: is a folder; name a file in it")
    if not stat.S_ISREG(mode):
        raise InputError(f"{name}: is a pipe or a device; name a regular file")
    if not force:
        raise InputError(_there_already(name))


def write_whole(path: Path, text: str | bytes, *, force: bool) -> None:
    """Write a file in one step, text as UTF-8.

    A file that is replaced keeps its rights, and a link to it stays a link.

    Parameters
    ----------
    path : Path
    text : str or bytes
    force : bool
        Whether a file that exists may be replaced.

    Raises
    ------
    InputError
        If the file exists and may not be replaced, or nothing can be written under its name.
    MachineError
        If the machine fails while it is written, as when the disk is full.
    """
    refuse_existing(path, force=force)
    data = text.encode("utf-8") if isinstance(text, str) else text
    with refused(path, _CANNOT), unfinished() as names:
        target = path.resolve() if force else path
        aside = target.parent / f".recommender-{secrets.token_hex(8)}"
        names.add(str(aside))
        _write(aside, data)
        if force:
            _take_over_rights(target, aside)
            aside.replace(target)
        else:
            _name(aside, target, names)


def _write(path: Path, data: bytes) -> None:
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    with os.fdopen(handle, "wb") as file:
        file.write(data)
        file.flush()
        try:
            os.fsync(handle)
        except OSError as error:
            if error.errno not in _NO_WAITING:
                raise


def _take_over_rights(old: Path, new: Path) -> None:
    """Give a file the rights of the one that it replaces, and its owner where that is allowed."""
    try:
        status = old.stat()
    except FileNotFoundError:
        return
    if hasattr(os, "chown"):
        with suppress(OSError):
            os.chown(new, status.st_uid, status.st_gid)
    new.chmod(stat.S_IMODE(status.st_mode) & 0o777)


def _name(aside: Path, target: Path, names: set[str]) -> None:
    """Give a finished file its name, if no file has taken it in the meantime."""
    try:
        try:
            os.link(aside, target)
        except FileExistsError:
            raise
        except OSError as error:
            if error.errno not in _NO_LINKS:
                raise
            # The empty file holds the name until the finished one is moved over it.
            os.close(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL))
            names.add(str(target))
            aside.replace(target)
            names.discard(str(target))
    except FileExistsError:
        raise InputError(_there_already(shown_path(target))) from None


def _there_already(name: str) -> str:
    return f"{name}: is there already; add --force to replace it"
