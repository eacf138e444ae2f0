"""How a process ends that is told to: at once, quietly, and with nothing left behind.

Started before anything heavy is loaded, so it imports little. While the solver runs it has its own
handler for interrupts and would take one for the end of its time; a thread that waits for signals
hears them all the same.
"""

import errno
import io
import os
import signal
import sys
import threading
from contextlib import contextmanager, suppress

TYPE_CHECKING = False  # the module of types takes longer to load than all that is loaded here
if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import FrameType

_PATIENCE = 2.0
_SIGNALS = tuple(
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
)

_writing = threading.Lock()
_unfinished: set[str] = set()
_cursor_hidden = threading.Event()


def listen() -> None:
    """End the process as soon as it is told to, from now on, with 128 and the signal's number.

    What is ignored already, as a job in the background ignores interrupts, stays ignored.
    """
    heard = {one for one in _SIGNALS if signal.getsignal(one) is not signal.SIG_IGN}
    if hasattr(signal, "pthread_sigmask"):
        # Threads that are started later take over the mask, so that none but the listener hears.
        signal.pthread_sigmask(signal.SIG_BLOCK, heard)
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {*_SIGNALS} - heard)
        try:
            threading.Thread(target=_wait, args=(heard,), name="signals", daemon=True).start()
            return
        except RuntimeError:  # no thread more is to be had
            signal.pthread_sigmask(signal.SIG_UNBLOCK, heard)
    for one in heard:
        signal.signal(one, _end_of)


def _wait(heard: set[signal.Signals]) -> None:
    _end(signal.sigwait(heard))


def _end_of(number: int, _: "FrameType | None") -> None:
    _end(number)


def _end(number: int) -> None:
    # A result that is being written is whole in a moment; one that hangs is given up.
    _writing.acquire(timeout=_PATIENCE)
    for name in tuple(_unfinished):
        with suppress(OSError):
            os.unlink(name)  # noqa: PTH108 - pathlib may not be loaded yet
    if _cursor_hidden.is_set():
        with suppress(OSError):
            os.write(2, b"\r\x1b[2K\x1b[?25h")
    os._exit(128 + number)


@contextmanager
def unfinished() -> "Iterator[set[str]]":
    """Names of files that must not outlive the process while a result is being written.

    Whatever is among them at the end of the block is removed, however it ends.
    """
    with _writing:
        try:
            yield _unfinished
        finally:
            for name in tuple(_unfinished):
                with suppress(OSError):
                    os.unlink(name)  # noqa: PTH108 - as above
            _unfinished.clear()


@contextmanager
def hidden_cursor() -> "Iterator[None]":
    """A block in which the cursor of the terminal may be hidden; an ending shows it again."""
    _cursor_hidden.set()
    try:
        yield
    finally:
        _cursor_hidden.clear()


class _Closed(io.TextIOBase):
    """A stream that the process was started without: nothing can be written to it."""

    def write(self, _: str) -> int:
        raise OSError(errno.EBADF, "it is closed")


def open_streams() -> None:
    """Give a process that was started without stdin, stdout or stderr something in their place.

    Otherwise the next file that is opened would stand in it, and be written into.
    """
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    if sys.stdout is None:
        sys.stdout = _Closed()
    if sys.stderr is None:
        # It stays open as long as the process runs, and pathlib may not be loaded yet.
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115 - see above
