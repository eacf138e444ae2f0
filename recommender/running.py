"""How a command ends: its exit status, and what goes to which stream."""

import contextlib
import io
import os
import sys
import time
from collections.abc import Callable
from contextvars import ContextVar
from typing import TYPE_CHECKING, Any, Final

from recommender.faults import InputError, MachineError
from recommender.shown import LONGEST_MESSAGE, escaped, json_text, shown, shown_path

if TYPE_CHECKING:
    from rich.console import Console

DONE: Final = 0
OUR_FAULT: Final = 1
BAD_INPUT: Final = 2
NONE_MEETS: Final = 3
MACHINE_FAULT: Final = 4
INTERRUPTED: Final = 130

LEAST_WIDTH: Final = 40

_BEGAN: ContextVar[float] = ContextVar("began")


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
    _BEGAN.set(time.monotonic())
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal that lacks a character shows another in its place.
            stream.reconfigure(errors="replace")
    try:
        status = command()
        sys.stdout.flush()
    except (ReaderGoneError, BrokenPipeError):
        _leave_closed_pipe()
        return DONE
    except KeyboardInterrupt:
        return INTERRUPTED
    except (InputError, MachineError, OSError, MemoryError) as error:
        return _foreseen(error)
    except Exception as error:
        return _from_parser(error)
    return status if isinstance(status, int) else DONE


def seconds_gone() -> float:
    """Seconds since the command began, 0 outside of one."""
    now = time.monotonic()
    return now - _BEGAN.get(now)


def _foreseen(error: InputError | MachineError | OSError | MemoryError) -> int:
    """Status for what is no fault of the program: what was given, or the machine."""
    if isinstance(error, InputError):
        complain(str(error))
        return BAD_INPUT
    if isinstance(error, OSError):
        why = shown(error.strerror or error)
        if error.filename is None:
            complain(f"the result cannot be written ({why})")
        else:
            complain(f"{shown_path(str(error.filename))}: cannot be used ({why})")
        _leave_closed_pipe()
    else:
        complain(str(error) or "there is not enough memory for this")
    return MACHINE_FAULT


def _from_parser(error: Exception) -> int:
    """Status for what the command line's parser refused, or for a fault of ours."""
    if type(error).__name__ == "Abort":
        return INTERRUPTED
    if not hasattr(error, "format_message"):
        complain(
            f"a fault of this program: {type(error).__name__}: {shown(error, LONGEST_MESSAGE)}"
        )
        return OUR_FAULT
    message = error.format_message()
    if message.startswith("Usage:"):
        tell(message, quiet=False)
        return BAD_INPUT
    context = getattr(error, "ctx", None)
    command = "recommender" if context is None else context.command_path
    complain(shown(message, LONGEST_MESSAGE))
    complain(f"{command} --help shows what there is")
    return BAD_INPUT


def _leave_closed_pipe() -> None:
    """Keep the interpreter from flushing to a pipe that nobody reads any more."""
    if isinstance(sys.stdout, io.TextIOWrapper) and sys.stdout is sys.__stdout__:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def complain(message: str) -> None:
    """Say on stderr what is wrong, a line for each fault."""
    _to_stderr("".join(f"recommender: {escaped(line)}\n" for line in message.split("\n")))


def tell(message: str, *, quiet: bool) -> None:
    """Say on stderr what was done, unless nobody wants to know."""
    if not quiet:
        _to_stderr(message + "\n")


def _to_stderr(text: str) -> None:
    # Where not even that can be said, the status has to do.
    with contextlib.suppress(OSError, ValueError):
        sys.stderr.write(text)
        sys.stderr.flush()


def print_json(value: Any) -> None:
    """Print one JSON document; it is UTF-8 (RFC 8259), whatever the terminal speaks."""
    print_text(json_text(value))


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
    """Where people read results: colour on a terminal only, NO_COLOR obeyed, text as it is."""
    from rich.console import Console  # noqa: PLC0415 - a refusal or JSON needs no terminal

    class Terminal(Console):
        def on_broken_pipe(self) -> None:
            raise ReaderGoneError

    terminal = Terminal(highlight=False, markup=False, emoji=False)
    # Where a terminal does not know its width and says 0, nothing would be shown at all.
    terminal.width = max(terminal.width, LEAST_WIDTH)
    return terminal
