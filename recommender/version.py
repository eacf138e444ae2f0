"""Which version of the program this is."""

from functools import cache


@cache
def program_version() -> str:
    """The version as it is installed; empty where it runs without being installed."""
    from importlib.metadata import (  # noqa: PLC0415 - takes longer than most commands that ask
        PackageNotFoundError,
        version,
    )

    try:
        return version("recommender")
    except PackageNotFoundError:
        return ""
