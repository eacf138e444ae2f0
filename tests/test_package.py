"""What is built from the checkout: the same bytes each time, with licence, catalogue and cases."""

import os
import shutil
import subprocess
import sys
import tarfile
import zipfile
from email.parser import HeaderParser
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
NAMES = (
    "recommender",
    "catalog",
    "cases",
    "tests",
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    ".gitignore",
)
LEFT_OUT = shutil.ignore_patterns("__pycache__", "*.pyc", ".*_cache", ".hypothesis")


def copied(folder: Path) -> Path:
    """A copy of what belongs to the checkout."""
    folder.mkdir()
    for name in NAMES:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, folder / name, ignore=LEFT_OUT)
        elif (ROOT / name).exists():
            shutil.copy(ROOT / name, folder / name)
    return folder


def built(checkout: Path, target: Path, what: str, *, umask: int = 0o022) -> Path:
    """A wheel or an sdist, built in a process of its own."""
    text = f"from hatchling.build import build_{what} as b; print(b({str(target)!r}))"
    ended = subprocess.run(
        [sys.executable, "-c", text],
        cwd=checkout,
        env={**os.environ, "SOURCE_DATE_EPOCH": "1700000000"},
        umask=umask,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr
    return target / ended.stdout.split()[-1]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    pytest.importorskip("hatchling")
    return tmp_path_factory.mktemp("build")


@pytest.fixture(scope="module")
def checkout(folder: Path) -> Path:
    return copied(folder / "checkout")


@pytest.mark.parametrize("what", ["wheel", "sdist"])
def test_a_build_is_the_same_wherever_and_whenever(folder: Path, checkout: Path, what: str) -> None:
    """Another folder, other times and rights of the files, another mask."""
    other = copied(folder / f"elsewhere-{what}")
    for number, path in enumerate(sorted(other.rglob("*"), reverse=True)):
        os.utime(path, (1e9 + number, 1e9 + number))
        if path.is_file():
            path.chmod(0o600)
    first = built(checkout, folder / "first", what)
    second = built(other, folder / "second", what, umask=0o077)
    assert first.name == second.name
    assert first.read_bytes() == second.read_bytes()


def test_the_sdist_builds_the_same_wheel(folder: Path, checkout: Path) -> None:
    with tarfile.open(built(checkout, folder / "first", "sdist")) as archive:
        archive.extractall(folder / "unpacked", filter="data")
    (unpacked,) = (folder / "unpacked").iterdir()
    again = built(unpacked, folder / "again", "wheel")
    assert again.read_bytes() == built(checkout, folder / "first", "wheel").read_bytes()


def test_the_wheel_carries_licence_catalogue_and_cases(folder: Path, checkout: Path) -> None:
    with zipfile.ZipFile(built(checkout, folder / "first", "wheel")) as wheel:
        names = wheel.namelist()
        (info,) = (name for name in names if name.endswith(".dist-info/METADATA"))
        head = HeaderParser().parsestr(wheel.read(info).decode("utf-8"))
        (points,) = (name for name in names if name.endswith(".dist-info/entry_points.txt"))
        assert "recommender = recommender.__main__:main" in wheel.read(points).decode("utf-8")
    assert head["License-Expression"] == "MIT"
    assert head["License-File"] == "recommender/LICENSE"
    assert any(name.endswith(".dist-info/licenses/recommender/LICENSE") for name in names)
    assert {f"recommender/sheet/templates/sheet.{end}" for end in ("html.j2", "css")} <= set(names)
    for kind in ("catalog", "cases"):
        for path in (ROOT / kind).glob("*.toml"):
            assert f"recommender/data/{kind}/{path.name}" in names
