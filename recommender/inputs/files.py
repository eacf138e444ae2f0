"""Reading TOML, and where the catalogue and the worked cases of the package lie."""

import tomllib
from pathlib import Path
from typing import Any

from recommender.inputs.errors import InputError


def read_toml(path: Path) -> dict[str, Any]:
    """A TOML file as plain data.

    Raises
    ------
    InputError
        If the file is missing, unreadable, not UTF-8, or not TOML.
    """
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise InputError(f"{path}: there is no such file; check the name") from None
    except IsADirectoryError:
        raise InputError(f"{path}: is a folder; name a TOML file") from None
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror})") from None
    try:
        return tomllib.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise InputError(f"{path}: is not UTF-8 text; save it as UTF-8") from None
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{path}: is not valid TOML: {error}") from None


def shipped(name: str) -> Path:
    """A data folder that comes with the package (``catalog`` or ``cases``).

    An installed wheel carries it inside the package; a source tree has it beside the package.
    """
    package = Path(__file__).resolve().parents[1]
    inside = package / "data" / name
    return inside if inside.is_dir() else package.parent / name
