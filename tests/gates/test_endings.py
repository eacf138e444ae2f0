"""How processes end: quietly when they are told to, and with a status where a stream fails."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from recommender.inputs.files import shipped

CRATE = str(shipped("cases") / "crate.toml")
MISSING = "none.toml"
POSIX = pytest.mark.skipif(os.name != "posix", reason="signals and streams are those of POSIX")
LINUX = pytest.mark.skipif(
    not Path("/proc/self/status").exists(), reason="masks of signals are seen in /proc"
)


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def program(text: str, **how: object) -> subprocess.Popen[bytes]:
    """A process that can be told to end, as the commands can."""
    begin = (
        "import os, sys, time\nfrom pathlib import Path\n"
        "from recommender.ending import listen, open_streams\nlisten()\nopen_streams()\n"
        "from recommender.files import write_whole\nfrom recommender.running import finish\n"
    )
    return started([sys.executable, "-c", begin + text], **how)


def command(*words: str, **how: object) -> subprocess.Popen[bytes]:
    return started([sys.executable, "-m", "recommender", *words], **how)


def started(words: list[str], **how: object) -> subprocess.Popen[bytes]:
    usual: dict[str, object] = {
        "stdin": subprocess.DEVNULL,
        "stdout": subprocess.PIPE,
        "stderr": subprocess.PIPE,
    }
    if os.name == "posix":
        # The tests may run under nohup, which a command rightly goes by.
        usual["preexec_fn"] = lambda: signal.signal(signal.SIGHUP, signal.SIG_DFL)
    return subprocess.Popen(words, **{**usual, **how})  # type: ignore[call-overload]


def read_error(process: subprocess.Popen[bytes]) -> bytes:
    assert process.stderr is not None
    return bytes(process.stderr.read())


def status_of(process: subprocess.Popen[bytes], name: str) -> str:
    text = Path(f"/proc/{process.pid}/status").read_text(encoding="ascii")
    return text.partition(f"{name}:")[2].split()[0]


def blocks(process: subprocess.Popen[bytes], number: int) -> bool:
    return bool(int(status_of(process, "SigBlk"), 16) >> (number - 1) & 1)


def listens(process: subprocess.Popen[bytes]) -> bool:
    """Wait until signals that end a process no longer end it by themselves."""
    while process.poll() is None:
        if blocks(process, signal.SIGTERM):
            return True
        time.sleep(0.001)
    return False


@LINUX
class TestEndings:
    @pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
    @pytest.mark.parametrize("after", [0.0, 0.02, 0.06, 0.15])
    def test_from_the_beginning_an_ending_is_quiet(self, number: int, after: float) -> None:
        """Before anything heavy is loaded, while it is, and while the solver is at work."""
        process = command("answer", CRATE, "--brief")
        assert listens(process)
        time.sleep(after)
        process.send_signal(number)
        out, error = process.communicate(timeout=120)
        assert (process.returncode, out, error) == (128 + number, b"", b"")

    def test_nothing_heavy_is_loaded_before(self) -> None:
        heavy = (
            "typing",
            "typer",
            "pydantic",
            "numpy",
            "rich",
            "pint",
            "ortools",
            "inspect",
            "subprocess",
        )
        text = f"import sys, recommender.__main__; print([m for m in {heavy} if m in sys.modules])"
        ended = subprocess.run([sys.executable, "-c", text], capture_output=True, check=True)
        assert ended.stdout.strip() == b"[]"

    def test_the_solver_does_not_take_an_interrupt_for_the_end_of_its_time(self) -> None:
        process = program(
            "from ortools.sat.python import cp_model\n"
            "model = cp_model.CpModel()\n"
            "holes = range(20)\n"
            "at = [[model.new_bool_var('') for _ in holes] for _ in range(21)]\n"
            "[model.add_exactly_one(row) for row in at]\n"
            "[model.add(sum(row[h] for row in at) <= 1) for h in holes]\n"
            "solver = cp_model.CpSolver()\n"
            "solver.parameters.max_time_in_seconds = 60\n"
            "solver.parameters.cp_model_presolve = False\n"
            "solver.parameters.symmetry_level = 0\n"
            "solver.parameters.linearization_level = 0\n"
            "solver.parameters.num_workers = 1\n"
            "print('solving', flush=True)\n"
            "solver.solve(model)\n"
            "print('solved', flush=True)\n"
        )
        assert process.stdout is not None
        assert process.stdout.readline() == b"solving\n"
        time.sleep(0.5)
        process.send_signal(signal.SIGINT)
        began = time.monotonic()
        assert process.wait(timeout=120) == 130
        assert time.monotonic() - began < 10.0
        assert process.stdout.read() == b""

    @pytest.mark.parametrize("force", [False, True])
    @pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
    def test_a_result_half_written_is_cleared_away(
        self, tmp_path: Path, number: int, force: bool
    ) -> None:
        path = tmp_path / "parts.csv"
        if force:
            path.write_text("mine", encoding="utf-8")
        process = program(
            "def hang(*_):\n"
            "    print('hangs', flush=True)\n"
            "    time.sleep(60)\n"
            "Path.replace = os.link = hang\n"
            f"write_whole(Path({str(path)!r}), 'new', force={force})\n"
        )
        assert process.stdout is not None
        assert process.stdout.readline() == b"hangs\n"
        assert len(names(tmp_path)) == 1 + force
        process.send_signal(number)
        assert process.wait(timeout=120) == 128 + number
        assert read_error(process) == b""
        assert names(tmp_path) == (["parts.csv"] if force else [])
        assert not force or path.read_text(encoding="utf-8") == "mine"

    def test_an_interrupt_that_is_ignored_stays_ignored(self) -> None:
        process = command(
            "case",
            "check",
            CRATE,
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_IGN),
        )
        assert listens(process)
        # At first all of them wait, and again for a moment while the listener is started.
        while blocks(process, signal.SIGINT) and process.poll() is None:
            time.sleep(0.001)
        assert process.poll() is None
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=60) == 0

    def test_the_cursor_is_shown_again(self) -> None:
        process = program(
            "from recommender.ending import hidden_cursor\n"
            "with hidden_cursor():\n"
            "    print('hidden', flush=True)\n"
            "    time.sleep(60)\n"
        )
        assert process.stdout is not None
        process.stdout.readline()
        process.send_signal(signal.SIGTERM)
        assert process.wait(timeout=120) == 143
        assert read_error(process).endswith(b"\x1b[?25h")


def without(*streams: int) -> object:
    """What closes streams before a program is started."""
    return lambda: [os.close(stream) for stream in streams]


@POSIX
class TestStreams:
    @pytest.mark.parametrize(
        "words",
        [
            ("case", "check", CRATE),
            ("case", "check", CRATE, "--json"),
            ("catalogue", "list"),
            ("--help",),
            ("--version",),
        ],
        ids=" ".join,
    )
    def test_a_closed_stdout_is_no_fault_of_the_program(self, words: tuple[str, ...]) -> None:
        process = command(*words, stdout=None, preexec_fn=without(1))
        error = read_error(process)
        assert process.wait() == 4
        assert error == b"recommender: the result cannot be written (it is closed)\n"

    def test_what_prints_nothing_needs_no_stdout(self) -> None:
        process = command("case", "check", MISSING, stdout=None, preexec_fn=without(1))
        assert b"there is no such file" in read_error(process)
        assert process.wait() == 2

    def test_no_file_is_opened_in_place_of_a_stream(self, tmp_path: Path) -> None:
        path = tmp_path / "parts.csv"
        process = program(
            f"write_whole(Path({str(path)!r}), 'new', force=False)\n"
            "os.write(1, b'noise')\nos.write(2, b'noise')\n",
            stdin=None,
            stdout=None,
            stderr=None,
            preexec_fn=without(0, 1, 2),
        )
        assert process.wait() == 0
        assert path.read_text(encoding="utf-8") == "new"

    @pytest.mark.parametrize("words", [("case", "check", MISSING), ("bogus",), ()], ids=" ".join)
    def test_without_stderr_the_status_says_it(self, words: tuple[str, ...]) -> None:
        process = command(*words, stderr=None, preexec_fn=without(2))
        assert process.stdout is not None
        assert process.stdout.read() == b""
        assert process.wait() == 2

    def test_a_limit_of_the_system_is_met_with_nothing_left(self, tmp_path: Path) -> None:
        ended = program(
            "import resource\n"
            "resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))\n"
            f"path = Path({str(tmp_path / 'parts.csv')!r})\n"
            "sys.exit(finish(lambda: write_whole(path, 'x' * 999, force=True)))"
        )
        ended.wait()
        assert ended.returncode == 4
        assert b"cannot be written (File too large)" in read_error(ended)
        assert names(tmp_path) == []

    @pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no /dev/full")
    @pytest.mark.parametrize(
        ("words", "status"),
        [
            (("case", "check", CRATE), 4),
            (("case", "check", CRATE, "--json"), 4),
            (("evidence", "--json"), 4),
            (("--help",), 4),
            (("case", "check", MISSING), 2),
            (("bogus",), 2),
        ],
        ids=str,
    )
    def test_full_disks_behind_the_streams(self, words: tuple[str, ...], status: int) -> None:
        with Path("/dev/full").open("wb") as full:
            both = command(*words, stdout=full, stderr=full)
            assert both.wait() == status
            process = command(*words, stdout=full)
            error = read_error(process)
            assert process.wait() == status
        assert error.startswith(b"recommender: ")
        assert b"fault of this program" not in error
        assert b"Traceback" not in error
