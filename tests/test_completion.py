"""Completion of the command line, as the shell asks for it."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from recommender.inputs.files import shipped

CRATE = str(shipped("cases") / "crate.toml")
JARS = str(shipped("cases") / "lines" / "jars.toml")


@pytest.fixture
def program(tmp_path: Path) -> dict[str, str]:
    """Variables with which ``recommender`` is a command, as an installation makes it one."""
    script = tmp_path / "bin" / "recommender"
    script.parent.mkdir()
    script.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m recommender "$@"\n', encoding="utf-8")
    script.chmod(0o755)
    return {**os.environ, "PATH": f"{script.parent}{os.pathsep}{os.environ['PATH']}"}


def completed(variables: dict[str, str], *words: str) -> list[str]:
    """What bash offers for the last of the words, by the script that the program prints."""
    places = " ".join(f"'{word}'" for word in words)
    text = (
        'eval "$(_RECOMMENDER_COMPLETE=source_bash recommender)"\n'
        f"COMP_WORDS=({places})\nCOMP_CWORD={len(words) - 1}\n"
        "_recommender_completion recommender\n"
        "complete -p recommender >/dev/null || exit 9\n"
        '[ "${#COMPREPLY[@]}" -eq 0 ] || printf "%s\\n" "${COMPREPLY[@]}"\n'
    )
    ended = subprocess.run(
        ["bash", "-c", text], capture_output=True, text=True, env=variables, check=False
    )
    assert (ended.returncode, ended.stderr) == (0, "")
    return ended.stdout.split()


@pytest.mark.skipif(shutil.which("bash") is None, reason="there is no bash")
@pytest.mark.parametrize(
    ("words", "offered"),
    [
        (("recommender", "ca"), {"catalogue", "case"}),
        (("recommender", "catalogue", ""), {"check", "list", "show"}),
        (("recommender", "parts", "--f"), {"--force"}),
        (("recommender", "answer", "--held", ""), {"friction", "nested", "clamped"}),
        (("recommender", "catalogue", "show", "pair-3"), {"pair-310", "pair-390"}),
        (("recommender", "catalogue", "show", "none"), set()),
        (("recommender", "why", CRATE, "std-68_e"), {"std-68_eased-420_x1"}),
        (("recommender", "compare", CRATE, "std-68_e"), {"std-68_eased-420_x1"}),
        (("recommender", "parts", CRATE, "--option", "std-68_e"), {"std-68_eased-420_x1"}),
        (("recommender", "why", JARS, "boxes.lm-128_e"), {"boxes.lm-128_eased-420_x1"}),
        (("recommender", "why", "none.toml", "std-68_e"), set()),
    ],
    # A set has another order in each process, and a test the same name in all of them.
    ids=lambda given: " ".join(sorted(given) if isinstance(given, set) else given),
)
def test_bash_completes(program: dict[str, str], words: tuple[str, ...], offered: set[str]) -> None:
    assert set(completed(program, *words)) == offered


@pytest.mark.skipif(shutil.which("bash") is None, reason="there is no bash")
def test_ids_are_those_of_the_catalogue_that_is_named(
    program: dict[str, str], tmp_path: Path
) -> None:
    folder = shutil.copytree(shipped("catalog"), tmp_path / "catalog")
    bends = (folder / "guide.toml").read_text(encoding="utf-8")
    (folder / "guide.toml").write_text(bends.replace("arc-280", "arc-281"), encoding="utf-8")
    words = ("recommender", "catalogue", "show", "--catalogue", str(folder), "arc-28")
    assert completed(program, *words) == ["arc-281"]
    words = ("recommender", "catalogue", "show", "--catalogue", str(tmp_path / "none"), "arc-28")
    assert completed(program, *words) == []


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_script_is_printed_for_each_shell(program: dict[str, str], shell: str) -> None:
    ended = subprocess.run(
        [sys.executable, "-m", "recommender"],
        env={**program, "_RECOMMENDER_COMPLETE": f"source_{shell}"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert f"_RECOMMENDER_COMPLETE=complete_{shell}" in ended.stdout


@pytest.mark.skipif(shutil.which("bash") is None, reason="there is no bash")
def test_it_is_installed_for_the_shell_in_use(program: dict[str, str], tmp_path: Path) -> None:
    text = "recommender --install-completion && true"
    subprocess.run(["bash", "-c", text], env={**program, "HOME": str(tmp_path)}, check=True)
    (line,) = (tmp_path / ".bashrc").read_text(encoding="utf-8").split("\n")[1:2]
    script = Path(line.removeprefix("source '").removesuffix("'"))
    assert script.is_relative_to(tmp_path)
    assert "_RECOMMENDER_COMPLETE=complete_bash" in script.read_text(encoding="utf-8")
