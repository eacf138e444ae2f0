"""``python -m recommender``, and the command that an installation brings.

Nothing is imported before the process can be told to end, and little before somebody listens.
"""

# ruff: noqa: PLC0415

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import NoReturn


def main() -> "NoReturn":
    """Run the command line in a process of its own."""
    # The public module adds names that take longer to load than all that is needed here.
    import _signal as signal  # type: ignore[import-not-found]  # not known to the types

    if hasattr(signal, "pthread_sigmask"):
        # A signal that comes from now on waits until it can be listened to.
        signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT, signal.SIGTERM, signal.SIGHUP})
    import sys

    from recommender.ending import listen, open_streams

    listen()
    open_streams()
    from recommender.running import finish

    sys.exit(finish(_command))


def _command() -> object:
    from recommender.cli import invoke

    return invoke()


if __name__ == "__main__":
    main()
