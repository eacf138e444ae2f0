"""Says where two states of the program answer the same questions differently.

``python tests/release/same_answers.py write FILE`` answers the worked cases whole and a number of
random ones in brief, and keeps the answers, one line of JSON each. Done in two checkouts,
``python tests/release/same_answers.py compare BEFORE AFTER`` prints every difference: first what
anybody would ask about (status, choice, its price and bound), then what else moved, counted by kind
with the greatest share by which a number moved. It ends with 1 if a choice or its price differs.

Random cases come from `tests/random_enquiries.py`; on which seed they stand is part of the file.
"""

import argparse
import json
import re
import sys
from collections import defaultdict
from collections.abc import Iterator
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from recommender import as_json, read_case, read_catalogue
from recommender.inputs.case import Case
from recommender.inputs.files import shipped
from recommender.recommend import recommend
from tests.random_enquiries import random_enquiry

SEED = 20_251
CHOSEN = ("status", "recommended", "proof.price", "proof.best_bound", "proof.optimal")
APART = ("catalogue", "program", "schema")


def asked(random: int) -> list[tuple[str, Case, bool]]:
    """Names and cases, and whether they are answered in brief."""
    worked = sorted(shipped("cases").glob("*.toml"))
    cases = [(path.stem, read_case(path), False) for path in worked]
    rng = np.random.default_rng(SEED)
    return cases + [(f"random {n}", random_enquiry(rng), True) for n in range(random)]


def answered(entry: tuple[str, Case, bool]) -> str:
    name, case, in_brief = entry
    answer = recommend(case, read_catalogue(shipped("catalog")), in_brief=in_brief)
    return json.dumps({"name": name, "answer": json.loads(as_json(answer))})


def write(file: Path, random: int) -> int:
    with get_context("spawn").Pool(2) as pool, file.open("w", encoding="utf-8") as out:
        for line in pool.imap(answered, asked(random)):
            out.write(line + "\n")
    return 0


def leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every number, text and truth of an answer with its path; options by their ids."""
    if isinstance(value, dict):
        for key, entry in value.items():
            yield from leaves(entry, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for number, entry in enumerate(value):
            name = entry.get("id", number) if isinstance(entry, dict) else number
            yield from leaves(entry, f"{path}[{name}]")
    else:
        yield path, value


def moved(before: Any, after: Any) -> float | None:
    """By which share a number moved; ``None`` for what is no number, or was not there."""
    try:
        old, new = float(before), float(after)
    except (TypeError, ValueError):
        return None
    return abs(new - old) / max(abs(old), abs(new), 1e-12)


def read(file: Path) -> dict[str, dict[str, Any]]:
    lines = map(json.loads, file.read_text(encoding="utf-8").splitlines())
    return {line["name"]: dict(leaves(line["answer"])) for line in lines}


def compare(before: Path, after: Path) -> int:
    old, new = read(before), read(after)
    if old.keys() != new.keys():
        print("not the same questions:", *sorted(old.keys() ^ new.keys()))
        return 1
    worst = 0
    kinds: dict[str, list[tuple[str, str, Any, Any]]] = defaultdict(list)
    for name in old:
        for path in sorted(old[name].keys() | new[name].keys()):
            was, now = old[name].get(path), new[name].get(path)
            if was == now or path.split(".")[0] in APART:
                continue
            if path in CHOSEN:
                print(f"{name}: {path}: {was} -> {now}")
                worst |= path in CHOSEN[:3]
            kinds[re.sub(r"\[[^]]*\]", "[]", path)].append((name, path, was, now))
    print(f"{len(old)} answers, {len(kinds)} kinds of difference")
    for kind, found in sorted(kinds.items()):
        shares = [share for entry in found if (share := moved(*entry[2:])) is not None]
        most = f", by up to {100.0 * max(shares):.3f} %" if shares else ""
        name, path, was, now = found[0]
        print(f"{kind}: {len(found)}{most}; {name}: {path}: {was!s:.90} -> {now!s:.90}")
    return worst


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", maxsplit=1)[0])
    commands = parser.add_subparsers(dest="command", required=True)
    writing = commands.add_parser("write")
    writing.add_argument("file", type=Path)
    writing.add_argument("--random", type=int, default=200)
    comparing = commands.add_parser("compare")
    comparing.add_argument("before", type=Path)
    comparing.add_argument("after", type=Path)
    given = parser.parse_args()
    if given.command == "write":
        return write(given.file, given.random)
    return compare(given.before, given.after)


if __name__ == "__main__":
    sys.exit(main())
