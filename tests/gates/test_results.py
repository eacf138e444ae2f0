"""Results: whole or not at all, over nothing that is there, and nothing left behind."""

import errno
import os
import stat
from pathlib import Path

import pytest

from recommender.faults import InputError, MachineError
from recommender.files import refuse_existing, write_whole

POSIX = pytest.mark.skipif(os.name != "posix", reason="links and rights are those of POSIX")


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


class TestNames:
    @pytest.mark.parametrize("force", [False, True])
    def test_a_new_file_has_the_rights_of_any_new_file(self, tmp_path: Path, force: bool) -> None:
        (tmp_path / "usual").touch()
        write_whole(tmp_path / "new", "text\r\n", force=force)
        assert (tmp_path / "new").read_bytes() == b"text\r\n"
        assert (tmp_path / "new").stat().st_mode == (tmp_path / "usual").stat().st_mode
        assert names(tmp_path) == ["new", "usual"]

    @POSIX
    @pytest.mark.parametrize("mode", [0o600, 0o640, 0o755, 0o400])
    def test_a_file_that_is_replaced_keeps_its_rights(self, tmp_path: Path, mode: int) -> None:
        path = tmp_path / "parts.csv"
        path.write_text("mine", encoding="utf-8")
        path.chmod(mode)
        write_whole(path, "new", force=True)
        assert stat.S_IMODE(path.stat().st_mode) == mode
        path.chmod(0o600)
        assert path.read_text(encoding="utf-8") == "new"

    def test_a_file_that_came_in_the_meantime_stays(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        path, written = tmp_path / "parts.csv", os.fsync

        def come_first(handle: int) -> None:
            path.write_text("mine", encoding="utf-8")
            written(handle)

        monkeypatch.setattr(os, "fsync", come_first)
        with pytest.raises(InputError, match="is there already; add --force to replace it"):
            write_whole(path, "new", force=False)
        assert path.read_text(encoding="utf-8") == "mine"
        assert names(tmp_path) == ["parts.csv"]

    @pytest.mark.parametrize("came", [False, True])
    def test_a_name_is_taken_once_where_there_are_no_hard_links(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, came: bool
    ) -> None:
        path = tmp_path / "parts.csv"

        def none(*_: object) -> None:
            if came:
                path.write_text("mine", encoding="utf-8")
            raise OSError(errno.EPERM, "Operation not permitted")

        monkeypatch.setattr(os, "link", none)
        if came:
            with pytest.raises(InputError, match="is there already"):
                write_whole(path, "new", force=False)
        else:
            write_whole(path, "new", force=False)
        assert path.read_text(encoding="utf-8") == ("mine" if came else "new")
        assert names(tmp_path) == ["parts.csv"]

    @POSIX
    @pytest.mark.parametrize("force", [False, True])
    def test_a_link_that_leads_nowhere_is_refused(self, tmp_path: Path, force: bool) -> None:
        path = tmp_path / "parts.csv"
        path.symlink_to(tmp_path / "nowhere" / "parts.csv")
        with pytest.raises(InputError, match="is a link that leads nowhere; name another file"):
            write_whole(path, "new", force=force)
        assert names(tmp_path) == ["parts.csv"]
        assert path.is_symlink()

    @POSIX
    def test_a_link_to_a_file_stays_one(self, tmp_path: Path) -> None:
        (tmp_path / "folder").mkdir()
        real, link = tmp_path / "folder" / "real.csv", tmp_path / "parts.csv"
        real.write_text("mine", encoding="utf-8")
        link.symlink_to(real)
        with pytest.raises(InputError, match="is there already"):
            write_whole(link, "new", force=False)
        write_whole(link, "new", force=True)
        assert link.is_symlink()
        assert real.read_text(encoding="utf-8") == "new"
        assert names(tmp_path) == ["folder", "parts.csv"]
        assert names(tmp_path / "folder") == ["real.csv"]

    @POSIX
    @pytest.mark.parametrize("force", [False, True])
    def test_a_pipe_or_a_device_is_refused(self, tmp_path: Path, force: bool) -> None:
        os.mkfifo(tmp_path / "pipe.csv")
        (tmp_path / "full.csv").symlink_to("/dev/full")
        for name in ("pipe.csv", "full.csv"):
            with pytest.raises(InputError, match="is a pipe or a device; name a regular file"):
                write_whole(tmp_path / name, "new", force=force)

    def test_names_that_cannot_be_are_refused(self, tmp_path: Path) -> None:
        (tmp_path / "file").touch()
        for name in ("x" * 300 + ".csv", "file/parts.csv", "none/parts.csv", "x\0.csv"):
            with pytest.raises(InputError):
                refuse_existing(tmp_path / name, force=True)

    def test_the_longest_name_can_be_written(self, tmp_path: Path) -> None:
        name = "x" * 251 + ".csv"
        write_whole(tmp_path / name, "new", force=False)
        assert names(tmp_path) == [name]


class TestTheMachine:
    @pytest.mark.parametrize(
        ("call", "force"),
        [
            ("open", False),
            ("open", True),
            ("fsync", False),
            ("fsync", True),
            ("link", False),
            ("replace", True),
        ],
    )
    def test_a_failing_machine_leaves_what_was_there(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, force: bool
    ) -> None:
        def full(*_: object, **__: object) -> None:
            raise OSError(errno.ENOSPC, "No space left on device")

        path = tmp_path / "parts.csv"
        if force:
            path.write_text("mine", encoding="utf-8")
        monkeypatch.setattr(*((Path, call) if call == "replace" else (os, call)), full)
        with pytest.raises(MachineError, match=r"cannot be written \(No space left on device\)"):
            write_whole(path, "new", force=force)
        monkeypatch.undo()
        assert names(tmp_path) == (["parts.csv"] if force else [])
        assert not force or path.read_text(encoding="utf-8") == "mine"

    @pytest.mark.parametrize(
        ("number", "kind"),
        [
            (errno.EACCES, InputError),
            (errno.ENAMETOOLONG, InputError),
            (errno.EROFS, MachineError),
            (errno.EIO, MachineError),
        ],
    )
    def test_what_another_name_would_cure_is_bad_input(
        self,
        tmp_path: Path,
        monkeypatch: pytest.MonkeyPatch,
        number: int,
        kind: type[Exception],
    ) -> None:
        def fail(*_: object, **__: object) -> None:
            raise OSError(number, os.strerror(number))

        monkeypatch.setattr(os, "open", fail)
        path = tmp_path / "parts.csv"
        with pytest.raises(kind) as refused:
            write_whole(path, "new", force=False)
        assert str(refused.value) == f"{path}: cannot be written ({os.strerror(number)})"

    def test_an_interrupt_leaves_nothing(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def interrupt(_: int) -> None:
            raise KeyboardInterrupt

        monkeypatch.setattr(os, "fsync", interrupt)
        with pytest.raises(KeyboardInterrupt):
            write_whole(tmp_path / "parts.csv", "new", force=False)
        assert names(tmp_path) == []
