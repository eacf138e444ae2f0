"""What ends a command without an answer and is no fault of the program."""


class InputError(Exception):
    """Something that the user gave cannot be used; the message says what would do."""


class MachineError(Exception):
    """The machine does not let a command go on: a full disk, a closed stream, no memory."""
