"""How a command ends: its exit status, and what goes to which stream."""

import io
import json
import os
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final

from recommender.inputs.errors import InputError

if TYPE_CHECKING:
    from rich.console import Console

DONE: Final = 0
OUR_FAULT: Final = 1
BAD_INPUT: Final = 2
NONE_MEETS: Final = 3
INTERRUPTED: Final = 130


class ReaderGoneError(Exception):
    """Who read the result has closed the pipe, as ``head`` does: no fault of anybody's."""


def finish(command: Callable[[], object]) -> int:
    """Run a command and give the status to exit with; whatever goes wrong is one message.

    Parameters
    ----------
    command : callable
        Gives its status, or anything else if it is done.

    Returns
    -------
    int
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal that lacks a character shows another in its place.
            stream.reconfigure(errors="replace")
    try:
        status = command()
        sys.stdout.flush()
    except InputError as error:
        complain(str(error))
        return BAD_INPUT
    except (ReaderGoneError, BrokenPipeError):
        _leave_closed_pipe()
        return DONE
    except OSError as error:
        complain(f"the result cannot be written ({error.strerror or error})")
        _leave_closed_pipe()
        return OUR_FAULT
    except Exception as error:
        return _from_parser(error)
    return status if isinstance(status, int) else DONE


def _from_parser(error: Exception) -> int:
    """Status for what the command line's parser refused, or for a fault of ours."""
    if type(error).__name__ == "Abort":
        return INTERRUPTED
    if not hasattr(error, "format_message"):
        complain(f"a fault of this program: {type(error).__name__}: {error}")
        return OUR_FAULT
    message = error.format_message()
    if message.startswith("Usage:"):
        sys.stderr.write(message + "\n")
        return BAD_INPUT
    context = getattr(error, "ctx", None)
    command = "recommender" if context is None else context.command_path
    complain(message)
    complain(f"{command} --help shows what there is")
    return BAD_INPUT


def _leave_closed_pipe() -> None:
    """Keep the interpreter from flushing to a pipe that nobody reads any more."""
    if isinstance(sys.stdout, io.TextIOWrapper) and sys.stdout is sys.__stdout__:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def complain(message: str) -> None:
    """Say on stderr what is wrong, a line for each fault."""
    sys.stderr.write("".join(f"recommender: {line}\n" for line in message.splitlines()))


def tell(message: str, *, quiet: bool) -> None:
    """Say on stderr what was done, unless nobody wants to know."""
    if not quiet:
        sys.stderr.write(message + "\n")


def print_json(value: Any) -> None:
    """Print one JSON document; it is UTF-8 (RFC 8259), whatever the terminal speaks."""
    print_text(json.dumps(value, ensure_ascii=False, indent=2))


def print_text(text: str) -> None:
    """Print text that a program reads, in UTF-8."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding="utf-8")
    try:
        sys.stdout.write(text + "\n")
        sys.stdout.flush()
    except BrokenPipeError:
        raise ReaderGoneError from None


def console() -> "Console":
    """Where people read results: colour on a terminal only, NO_COLOR obeyed."""
    from rich.console import Console  # noqa: PLC0415 - a refusal or JSON needs no terminal

    class Terminal(Console):
        def on_broken_pipe(self) -> None:
            raise ReaderGoneError

    return Terminal(highlight=False)
