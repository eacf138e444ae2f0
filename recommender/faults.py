"""What ends a command without an answer and is no fault of the program."""

from collections.abc import Sequence

_LONGEST_ID = 60


class InputError(Exception):
    """Something that the user gave cannot be used; the message says what would do."""


class MachineError(Exception):
    """The machine does not let a command go on: a full disk, a closed stream, no memory."""


def nearest_ids(id_: str, known: Sequence[str]) -> str:
    """The end of a message about an id that there is not: the ones that look most like it."""
    import difflib  # noqa: PLC0415 - wanted only when something is wrong

    id_ = id_[:_LONGEST_ID]
    close = difflib.get_close_matches(id_, known, n=3, cutoff=0.5)
    close = close or difflib.get_close_matches(id_, known, n=1, cutoff=0.0) or list(known[:1])
    return f"the nearest {'is' if len(close) == 1 else 'are'} {', '.join(close)}"
