"""Writes the versions that are installed here of all that the checks need, to be installed again.

``python tests/release/pin.py > tests/release/pinned.txt``, in an environment in which they pass.
"""

import sys
import tomllib
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

PROJECT = Path(__file__).parents[2] / "pyproject.toml"
WHY = """\
# Versions with which all checks passed:
#   .venv/bin/pip install -c tests/release/pinned.txt -e '.[test,lint]'
# Written by tests/release/pin.py."""


def asked() -> list[str]:
    """All requirements of the project, those of its extras and of its building as well."""
    data = tomllib.loads(PROJECT.read_text(encoding="utf-8"))
    project = data["project"]
    extras = [entry for some in project["optional-dependencies"].values() for entry in some]
    listed = [*data["build-system"]["requires"], *project["dependencies"], *extras]
    # An extra may be made of others.
    return [text for text in listed if Requirement(text).name != project["name"]]


def installed() -> dict[str, str]:
    """Versions of the requirements and of all that they require in turn."""
    versions: dict[str, str] = {}
    open_ = [Requirement(text) for text in asked()]
    while open_:
        requirement = open_.pop()
        name = canonicalize_name(requirement.name)
        if name in versions:
            continue
        try:
            found = distribution(name)
        except PackageNotFoundError:
            sys.exit(f"{name} is not installed; install '.[test,lint]' first")
        versions[name] = found.version
        for text in found.requires or []:
            further = Requirement(text)
            if further.marker is None or further.marker.evaluate({"extra": ""}):
                open_.append(further)
    return versions


if __name__ == "__main__":
    print(WHY)
    for name, version in sorted(installed().items()):
        print(f"{name}=={version}")
