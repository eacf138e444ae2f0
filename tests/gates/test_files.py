"""Files that others wrote: whatever is no regular TOML file of a reasonable size is refused."""

import contextlib
import errno
import os
import shutil
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from recommender.faults import InputError, MachineError
from recommender.inputs.case import read_case
from recommender.inputs.catalogue import read_catalogue
from recommender.inputs.files import LARGEST_FILE, MOST_FILES, read_toml, shipped
from recommender.inputs.quantities import KINDS, LONGEST_TEXT, parse
from recommender.inputs.toml_text import DEEPEST, LONGEST_WORD, MOST_VALUES, parse_toml
from recommender.shown import shown_path

SMALLEST = 'load.mass = "30 kg"\nrate.items = "18/min"\n'
POSIX = pytest.mark.skipif(os.name != "posix", reason="pipes and devices are those of POSIX")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(shipped("catalog"), tmp_path / "catalog"))


def refusal(path: Path, read: Callable[[Path], object] = read_case) -> str:
    """What is said of a file, which must not take long to say."""
    began = time.process_time()
    with pytest.raises(InputError) as refused:
        read(path)
    assert time.process_time() - began < 10.0
    message = str(refused.value)
    assert message.startswith(shown_path(path)[:100])
    assert message.isprintable() or all(map(str.isprintable, message.split("\n")))
    return message


def refusal_of(tmp_path: Path, text: str) -> str:
    path = tmp_path / "case.toml"
    path.write_text(text, encoding="utf-8")
    return refusal(path).removeprefix(f"{path}: ")


class TestRegularFiles:
    @POSIX
    @pytest.mark.parametrize("read", [read_case, read_catalogue])
    def test_a_pipe_is_refused_and_not_waited_for(
        self, tmp_path: Path, read: Callable[[Path], object]
    ) -> None:
        folder = tmp_path / "folder"
        folder.mkdir()
        os.mkfifo(folder / "pipe.toml")
        with pytest.raises(InputError, match="is a pipe or a device; name a regular file"):
            read(folder if read is read_catalogue else folder / "pipe.toml")

    @POSIX
    @pytest.mark.parametrize("device", ["/dev/zero", "/dev/null", "/dev/random"])
    def test_a_device_is_refused_and_not_read(self, tmp_path: Path, device: str) -> None:
        link = tmp_path / "case.toml"
        link.symlink_to(device)
        for path in (Path(device), link):
            assert "is a pipe or a device; name a regular file" in refusal(path)

    def test_a_file_that_is_too_large_is_not_read(self, tmp_path: Path) -> None:
        path = tmp_path / "case.toml"
        with path.open("wb") as file:
            file.truncate(1 << 40 if os.name == "posix" else LARGEST_FILE + 1)
        assert "is larger than 1 MiB, more than a TOML file here may be" in refusal(path)

    def test_a_file_of_the_largest_size_is_read(self, tmp_path: Path) -> None:
        path = tmp_path / "case.toml"
        path.write_text(SMALLEST + "#" * (LARGEST_FILE - len(SMALLEST)), encoding="utf-8")
        assert read_case(path).load.mass == 30.0

    def test_a_folder_of_too_many_or_too_large_files_is_refused(self, tmp_path: Path) -> None:
        for number in range(MOST_FILES + 1):
            (tmp_path / f"{number}.toml").touch()
        assert f"holds {MOST_FILES + 1} TOML files" in refusal(tmp_path, read_catalogue)
        for number in range(MOST_FILES + 1):
            (tmp_path / f"{number}.toml").unlink()
        for number in range(5):
            (tmp_path / f"{number}.toml").write_text("#" * LARGEST_FILE, encoding="utf-8")
        assert "holds more than 4 MiB of TOML files" in refusal(tmp_path, read_catalogue)


class TestTheOperatingSystem:
    @pytest.mark.parametrize("read", [read_case, read_catalogue])
    @pytest.mark.parametrize("name", ["x" * 300 + ".toml", "x\0.toml", "file.toml/case.toml"])
    def test_a_path_that_cannot_be_is_refused(
        self, tmp_path: Path, name: str, read: Callable[[Path], object]
    ) -> None:
        (tmp_path / "file.toml").touch()
        assert refusal(tmp_path / name, read)

    @POSIX
    @pytest.mark.skipif(
        getattr(os, "geteuid", lambda: 1)() == 0, reason="everything is open to a superuser"
    )
    def test_what_may_not_be_read_is_refused(self, folder: Path) -> None:
        guide = folder / "guide.toml"
        guide.chmod(0)
        assert "cannot be read (Permission denied)" in refusal(guide)
        folder.chmod(0)
        try:
            assert "cannot be read (Permission denied)" in refusal(folder, read_catalogue)
        finally:
            folder.chmod(0o700)

    @pytest.mark.parametrize(
        ("number", "kind"),
        [
            (errno.EACCES, InputError),
            (errno.ELOOP, InputError),
            (errno.EIO, MachineError),
            (errno.EMFILE, MachineError),
        ],
    )
    @pytest.mark.parametrize(("call", "read"), [("open", read_case), ("scandir", read_catalogue)])
    def test_each_of_its_errors_names_the_path(
        self,
        folder: Path,
        monkeypatch: pytest.MonkeyPatch,
        number: int,
        kind: type[Exception],
        call: str,
        read: Callable[[Path], object],
    ) -> None:
        def fail(*_: object, **__: object) -> None:
            raise OSError(number, os.strerror(number))

        monkeypatch.setattr(os, call, fail)
        with pytest.raises(kind) as refused:
            read(folder)
        assert str(refused.value) == f"{folder}: cannot be read ({os.strerror(number)})"

    @POSIX
    def test_links_that_go_round_are_refused(self, tmp_path: Path) -> None:
        link = tmp_path / "case.toml"
        link.symlink_to(link)
        assert "cannot be read (" in refusal(link)


class TestFilesOfACatalogue:
    @pytest.mark.parametrize("name", [".#guide.toml", ".guide.toml", "._guide.toml", ".toml"])
    def test_what_editors_and_systems_leave_is_no_part_of_it(self, folder: Path, name: str) -> None:
        whole = read_catalogue(folder).digest
        (folder / name).write_bytes(b"\x00\x05\x16\x07 no TOML")
        assert read_catalogue(folder).digest == whole
        if os.name == "posix":
            (folder / name).unlink()
            (folder / name).symlink_to("somebody@host.1234:5678")
            assert read_catalogue(folder).digest == whole

    def test_a_folder_of_nothing_else_is_empty(self, tmp_path: Path) -> None:
        (tmp_path / ".#guide.toml").touch()
        assert "holds no TOML file" in refusal(tmp_path, read_catalogue)


class TestDepthAndLength:
    @pytest.mark.parametrize(
        "number", ["9" * 5000, "0x" + "f" * 5000, "1." + "0" * 5000, "1_" * 99]
    )
    def test_a_number_of_too_many_digits_is_refused(self, tmp_path: Path, number: str) -> None:
        said = refusal_of(tmp_path, f"{SMALLEST}life.hours = {number}\n")
        assert said.startswith("line 3: ")
        assert f"is longer than the {LONGEST_WORD} characters" in said
        assert len(said) < 200

    @pytest.mark.parametrize(
        "text",
        [
            "x = " + "[" * 5000,
            "x = " + "[" * 5000 + "]" * 5000,
            "x = " + "{a=" * 5000 + "1" + "}" * 5000,
            "x." * 5000 + "y = 1",
            "[" + "x." * 5000 + "y]",
            "[[" + '"\\"".' * 5000 + "y]]",
            "x = {" + "'y' . " * 5000 + "z = 1}",
            "x." * 400_000 + "y = 1",
        ],
        ids=range(8),
    )
    def test_what_nests_too_deep_is_refused(self, tmp_path: Path, text: str) -> None:
        said = refusal_of(tmp_path, f"\n{text}\n")
        assert said.startswith(f"line 2: tables or lists stand more than {DEEPEST} deep")

    @pytest.mark.parametrize("unit", ["[[s]]\n", "1,", "[],", "a = 1\n"])
    def test_too_many_values_are_refused(self, tmp_path: Path, unit: str) -> None:
        """Each of them could have a fault, and all faults are found before any is told."""
        begin = "" if "\n" in unit else "x = ["
        said = refusal_of(tmp_path, begin + unit * (MOST_VALUES + 2))
        assert f"more than {MOST_VALUES} values stand up to here; " in said

    def test_brackets_and_dots_in_texts_and_remarks_are_no_depth(self) -> None:
        deep = "[{" * 99 + "a." * 99
        text = f"""x = "{deep}" # {deep}\ny = '{deep}'\nz = '''\n{deep}'''\n"""
        assert parse_toml(text, "f") == {"x": deep, "y": deep, "z": deep}
        text = f'x = """\n{deep} \\"" {deep}"" """\ny = [{"1.5, " * 99}]\n'
        assert parse_toml(text, "f")["y"] == [1.5] * 99

    @pytest.mark.parametrize(
        "unit", ["\\n", '"', "'", "[[x]]\n", "[x.y]\n", "a=1\n", "# \n", " ", '""" ', "{", "1,"]
    )
    def test_the_time_of_reading_grows_with_the_length_alone(
        self, tmp_path: Path, unit: str
    ) -> None:
        refusal_of(tmp_path, "x = " + unit * ((LARGEST_FILE - 99) // len(unit)))


class TestManyFaults:
    def test_ten_are_listed_and_the_rest_counted(self, tmp_path: Path) -> None:
        said = refusal_of(tmp_path, SMALLEST + "".join(f"k{n} = {n}\n" for n in range(20_000)))
        lines = said.split("\n")
        assert len(lines) == 11
        assert lines[0].startswith("k0 is not known here")
        assert lines[-1].endswith(": and 19990 faults more")

    def test_eleven_are_ten_and_one_more(self, tmp_path: Path) -> None:
        said = refusal_of(tmp_path, SMALLEST + "".join(f"k{n} = {n}\n" for n in range(11)))
        assert said.split("\n")[-1].endswith(": and 1 fault more")

    def test_ten_are_all_listed(self, tmp_path: Path) -> None:
        said = refusal_of(tmp_path, SMALLEST + "".join(f"k{n} = {n}\n" for n in range(10)))
        assert len(said.split("\n")) == 10
        assert "more" not in said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            '[load]\nmass = "3 kg"\nmass = "4 kg"\n',
            "line 3: load.mass is there already; keep one of the two",
        ),
        (
            "[load]\n[rate]\n[load]\n",
            "line 3: [load] is there already; put its keys below the first one",
        ),
        (
            "[load]\nmass = 30 kg\n",
            "line 2: something stands behind load.mass and its value; begin a new line for it, or"
            ' put text into quotes, as in "30 kg"',
        ),
        (
            "[load]\nmass =\n",
            'line 2: load.mass has no value that can be read; put text into quotes, as in "30 kg"',
        ),
        ("mass\n", "line 1: 'mass' has no value; write it as in mass = \"30 kg\""),
        ('mass = "30 kg\n', "line 1: mass has a text without an end in its line; close its quotes"),
        ('[load]\nx = """30\n\n', "line 2: the text of load.x has no end; close its quotes"),
        ("[load]\nx = '''30\n\n", "line 2: the text of load.x has no end; close its quotes"),
        ("x = [1,\n2\n", "line 1: the list of x has no end; close it with ]"),
        ("x = {y = 1", "line 1: the table of x has no end; close it with }"),
        ("x = {y = 1}\nx.z = 2\n", "line 2: x.z adds to a table in braces; write its keys inside"),
        ("[load\n", "line 1: '[load' has no end; write a table as in [load], an entry as in [[st"),
        ("= 3\n", "line 1: '= 3' is no key; write a line as in mass = \"30 kg\""),
        (r'x = "C:\data"', r"line 1: x has a single \ in its text; write \\, or put the text into"),
        (
            r'x = "\ud800"',
            r"line 1: x has an escape that is no character; write \\ for a single \\"[:-1],
        ),
        ('x = "\x01"', "line 1: x has a character in it that cannot be seen; delete it"),
        ("x = 2023-02-30", "line 1: x is no date that there is; write text in quotes"),
        ("x = {a = 1, a = 2}", "line 1: x is there already; keep one of the two"),
    ],
)
def test_faults_of_toml_are_line_key_and_remedy(tmp_path: Path, text: str, said: str) -> None:
    message = refusal_of(tmp_path, text)
    assert message.removeprefix("is not valid TOML: ").startswith(said)
    assert "column" not in message


class TestQuantities:
    @pytest.mark.parametrize(
        "text",
        [
            "1 " + "a" * 32_000,
            "1 " + "kg " * 32_000,
            "1" * 32_000,
            "1 " + " " * 32_000 + "x",
            "1 m" + "*m" * 32_000,
            "1 " + "µ" * 32_000,
        ],
        ids=range(6),
    )
    def test_long_text_is_refused_at_once(self, text: str) -> None:
        began = time.process_time()
        with pytest.raises(ValueError, match=f"has more than {LONGEST_TEXT} characters"):
            parse(text, KINDS["mass"])
        assert time.process_time() - began < 0.1

    @pytest.mark.parametrize("fill", ["a", "kg ", "1", " ", "*m", "µ", "m^9 ", "°"])
    def test_text_of_the_greatest_length_is_read_at_once(self, fill: str) -> None:
        parse("1 furlong", KINDS["length"])  # the unit library is loaded by now
        text = ("1 m" + fill * LONGEST_TEXT)[:LONGEST_TEXT]
        began = time.process_time()
        with contextlib.suppress(ValueError):
            parse(text, KINDS["length"])
        assert time.process_time() - began < 2.0


def test_toml_that_is_sound_is_read_as_the_parser_reads_it() -> None:
    for name in ("catalog", "cases"):
        for path in shipped(name).glob("*.toml"):
            assert read_toml(path) == tomllib.loads(path.read_text(encoding="utf-8"))
