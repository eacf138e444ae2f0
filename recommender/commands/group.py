"""Groups of commands whose commands are loaded when they are asked for.

What a command takes is read from its function, which takes longer than to refuse one; and values of
options are read by a library that takes longer to load than all else that a refusal needs.
"""

from collections.abc import Iterator, Mapping
from importlib import import_module
from typing import Any, ClassVar, Final, NamedTuple, cast

import typer
from typer.core import TyperGroup
from typer.main import get_command


class Home(NamedTuple):
    """Where a command or a group of them stands: its module here, and names within that.

    ``example`` names the text that its help ends with, if there is one.
    """

    module: str
    name: str
    example: str | None = None


class Group(TyperGroup):
    """A group that reads its own options only where it is given any."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """What follows the name of a command is left to that command."""
        if args and not args[0].startswith("-"):
            return _WITHOUT_OPTIONS.parse_args(ctx, args)
        return super().parse_args(ctx, args)


_WITHOUT_OPTIONS: Final = TyperGroup(add_help_option=False)


class LazyGroup(Group):
    """A group that loads each command when it is asked for; all of them for its help."""

    homes: ClassVar[Mapping[str, Home]] = {}

    def __init__(self, **attributes: Any) -> None:
        super().__init__(**attributes)
        # Nothing is ever added to it, so that it need not be changed.
        self.commands = cast(Any, _Loaded(self.homes))


class _Loaded(Mapping[str, Any]):
    """Commands by name, each loaded when it is looked up."""

    def __init__(self, homes: Mapping[str, Home]) -> None:
        self._homes = homes
        self._made: dict[str, Any] = {}

    def __getitem__(self, name: str) -> Any:
        if name not in self._made:
            self._made[name] = _command(name, self._homes[name])
        return self._made[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._homes)

    def __len__(self) -> int:
        return len(self._homes)


def app(**how: Any) -> typer.Typer:
    """An application as all groups and commands here are: plain help, and faults left to us."""
    return typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False, **how)


def _command(name: str, home: Home) -> Any:
    """The command or group that stands somewhere."""
    module = import_module(f"recommender.commands.{home.module}")
    found = getattr(module, home.name)
    if isinstance(found, typer.Typer):
        return get_command(found)
    alone = app(add_completion=False)
    epilog = None if home.example is None else getattr(module, home.example)
    alone.command(name, epilog=epilog)(found)
    return get_command(alone)
