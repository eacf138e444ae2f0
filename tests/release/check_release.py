"""Builds the wheel and tries it on each Python that is here, with the oldest and newest packages.

``python tests/release/check_release.py`` makes an environment for each, away from the checkout,
installs the wheel with the lowest versions that it allows and with the newest that there are, and
answers the crate case. For a Python that is not here it only asks whether packages for it exist.
It ends with 1 if anything failed. It takes some minutes, and needs the package index and the extra
`release` of the project.
"""

import argparse
import json
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Sequence
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]
VERSIONS = ("3.11", "3.12", "3.13", "3.14")
QUIET = ("-q", "--disable-pip-version-check")
SMOKE: tuple[tuple[str, ...], ...] = (
    ("--version",),
    ("--help",),
    ("catalogue", "check"),
    ("case", "list", "--json"),
    ("case", "check", "{crate}"),
    ("evidence",),
    ("schema", "answer"),
    ("parts", "{crate}"),
)


class FailedError(Exception):
    """Something did not install or run; with what it said last."""


def run(words: Sequence[str | Path], folder: Path) -> str:
    done = subprocess.run(
        [str(word) for word in words], cwd=folder, capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        said = (done.stderr or done.stdout).strip().splitlines()
        raise FailedError(f"{Path(str(words[0])).name} {words[1:4]}: {' / '.join(said[-3:])}")
    return done.stdout


def found(text: str) -> tuple[str | None, str]:
    """An interpreter that runs, and its version; ``None`` if there is none of that version."""
    python = shutil.which(text if "/" in text else f"python{text}")
    if python is not None:
        asked = [python, "-c", "import sys; print('%d.%d' % sys.version_info[:2])"]
        said = subprocess.run(asked, capture_output=True, text=True, check=False)
        if said.returncode == 0:
            return python, said.stdout.strip()
    return None, text


def needed() -> list[str]:
    """What the program needs to run, with the lowest versions that it allows."""
    data = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    return list(data["project"]["dependencies"])


def install(wheel: Path, which: str, *where: str | Path) -> str:
    """Install the wheel with the newest packages, or the lowest that run on this Python."""
    resolved = ("--resolution", "highest" if which == "newest" else "lowest-direct")
    words = (sys.executable, "-m", "uv", "pip", "install", "--only-binary", ":all:", *where)
    return run([*words, *resolved, wheel, *needed()], wheel.parent)


def tried(python: str, wheel: Path, which: str, folder: Path) -> str:
    """What the crate case comes to in a new environment, and with which packages."""
    run([python, "-m", "venv", folder], folder.parent)
    place = folder / "bin"
    install(wheel, which, "--python", place / "python")
    program = place / "recommender"
    cases = json.loads(run([program, "case", "list", "--json"], folder))
    crate = next(case["file"] for case in cases if case["file"].endswith("crate.toml"))
    for words in SMOKE:
        run([program, *(word.format(crate=crate) for word in words)], folder)
    data = json.loads(run([program, "answer", crate, "--json"], folder))
    listed = json.loads(run([place / "pip", "list", "--format", "json"], folder))
    names = [Requirement(text).name.lower() for text in needed()]
    with_ = ", ".join(
        f"{one['name']} {one['version']}" for one in listed if one["name"].lower() in names
    )
    proof = data["proof"]
    return f"{data['recommended']} for {proof['price']}, proven: {proof['optimal']}; {with_}"


def exist(version: str, wheel: Path, which: str, folder: Path) -> str:
    """Whether the packages can be had for a Python that is not here; nothing is run."""
    install(wheel, which, "--dry-run", "--python-version", version, "--target", folder)
    return "packages exist; not run, there is no such Python here"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument(
        "--python", nargs="*", default=VERSIONS, help="versions, or paths of interpreters"
    )
    asked = parser.parse_args()
    failed = False
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        build = ("-m", "pip", "wheel", *QUIET, "--no-deps", "-w", work, ROOT)
        run([sys.executable, *build], work)
        (wheel,) = work.glob("*.whl")
        for text in asked.python:
            python, version = found(text)
            for which in ("newest", "lowest"):
                place = work / f"{version}-{which}"
                try:
                    if python is None:
                        said = exist(version, wheel, which, place)
                    else:
                        said = tried(python, wheel, which, place)
                except FailedError as error:
                    said, failed = f"FAILED: {error}", True
                print(f"Python {version}, {which} packages: {said}", flush=True)
                shutil.rmtree(place, ignore_errors=True)
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
