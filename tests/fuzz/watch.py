"""What must not happen while an input is read: a traceback, a hang, a file that is touched."""

import os
import signal
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from types import FrameType

_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_TOUCHES = frozenset(
    {
        "os.remove",
        "os.rename",
        "os.mkdir",
        "os.rmdir",
        "os.link",
        "os.symlink",
        "os.truncate",
        "os.chmod",
        "os.chown",
        "os.utime",
        "os.system",
        "os.exec",
        "os.fork",
        "subprocess.Popen",
        "socket.connect",
    }
)


class Hang(BaseException):
    """Time is up; no handler of the program's own takes it for an error of its own."""


@dataclass
class Watch:
    """Counts what went wrong, and keeps the first inputs that made it so."""

    patience: float
    tracebacks: int = 0
    hangs: int = 0
    touched: int = 0
    reports: list[str] = field(default_factory=list)
    _armed: bool = False
    _touches: list[str] = field(default_factory=list)

    def begin(self) -> None:
        """Look at every file that this process opens, from now on."""
        sys.addaudithook(self._hear)
        signal.signal(signal.SIGALRM, self._time_is_up)

    @contextmanager
    def over(self, what: str, given: object) -> Iterator[None]:
        """Watch over one input."""
        self._touches.clear()
        signal.setitimer(signal.ITIMER_REAL, self.patience)
        self._armed = True
        try:
            yield
        except Hang:
            self.hangs += 1
            self._report("a hang", what, given)
        except Exception:
            self.tracebacks += 1
            self._report(traceback.format_exc(limit=-4), what, given)
        finally:
            self._armed = False
            signal.setitimer(signal.ITIMER_REAL, 0.0)
        if self._touches:
            self.touched += 1
            self._report(f"touched {self._touches[:3]}", what, given)

    def _report(self, happened: str, what: str, given: object) -> None:
        if len(self.reports) < 10:
            self.reports.append(f"{what} {ascii(given)[:2000]}\n{happened}")

    def _time_is_up(self, _: int, __: FrameType | None) -> None:
        raise Hang

    def _hear(self, event: str, given: tuple[object, ...]) -> None:
        if not self._armed:
            return
        writes = event == "open" and isinstance(given[2], int) and given[2] & _WRITES
        if writes or event in _TOUCHES:
            self._touches.append(f"{event} {ascii(given)[:200]}")
