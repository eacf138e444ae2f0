"""Versions that are pinned for the checks: all that the project asks for, and allowed by it."""

import re
import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
PINNED = Path(__file__).with_name("pinned.txt")


def test_every_requirement_has_a_version_that_it_allows() -> None:
    lines = PINNED.read_text(encoding="utf-8").splitlines()
    pins = dict(re.findall(r"^([a-z0-9-]+)==(\S+)$", "\n".join(lines), re.MULTILINE))
    data = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    extras = data["project"]["optional-dependencies"]
    asked = [*data["project"]["dependencies"], *extras["test"], *extras["lint"]]
    for requirement in map(Requirement, asked):
        name = canonicalize_name(requirement.name)
        if name == "recommender":
            continue
        assert name in pins, f"{name} is not pinned: run tests/release/pin.py"
        assert requirement.specifier.contains(pins[name]), requirement
