"""The door to the library of events, which is needed for nothing else."""

from typing import Any

from recommender.faults import InputError

Environment = Any
Event = Any


def new_environment() -> Environment:
    """A clock with its events.

    Raises
    ------
    InputError
        If the library is not there, with the remedy.
    """
    try:
        import simpy  # noqa: PLC0415 - an extra
    except ModuleNotFoundError:
        raise InputError(
            "a rehearsal needs simpy, which is not installed; install the package with [trials],"
            " as in: pip install '.[trials]'"
        ) from None
    return simpy.Environment()
