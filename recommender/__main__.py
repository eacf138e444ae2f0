"""``python -m recommender``, and the command that an installation brings.

Nothing heavy is imported before the process can be told to end.
"""

from typing import NoReturn

from recommender.ending import listen, open_streams


def main() -> NoReturn:
    """Run the command line in a process of its own."""
    listen()
    open_streams()
    from recommender.cli import run  # noqa: PLC0415 - takes a while

    run()


if __name__ == "__main__":
    main()
