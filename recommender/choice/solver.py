"""The constraint solver's module, without the library of tables that it can also be given.

Importing that library takes longer than most models take to solve, and no table is ever given.
While the solver is imported something stands in its place that loads it as soon as it is used; a
program that uses both finds them as ever.
"""

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any, Final

_TABLES: Final = "pandas"
_SOLVER: Final = "ortools.sat.python.cp_model"


def _loaded() -> ModuleType | None:
    """The library of tables, if anybody has imported it."""
    module = sys.modules.get(_TABLES)
    return None if isinstance(module, _Later) else module


class _Kind(type):
    """A class of tables: of nothing is it an instance before there are any."""

    def __instancecheck__(cls, instance: object) -> bool:
        module = _loaded()
        return module is not None and isinstance(instance, getattr(module, cls.__name__))

    def __call__(cls, *arguments: Any, **named: Any) -> Any:
        return getattr(_Later.load(), cls.__name__)(*arguments, **named)


class _Later(ModuleType):
    """Stands for a library that is loaded when it is used."""

    def __getattr__(self, name: str) -> Any:
        module = _loaded()
        if module is not None:
            return getattr(module, name)
        if name.startswith("__"):
            raise AttributeError(name)
        # What annotations name is not used by that.
        return _Kind(name, (), {}) if name[:1].isupper() else getattr(_Later.load(), name)

    @staticmethod
    def load() -> ModuleType:
        """The library itself."""
        if _loaded() is None:
            sys.modules.pop(_TABLES, None)
        return import_module(_TABLES)


def _solver() -> ModuleType:
    if _TABLES in sys.modules or _SOLVER in sys.modules:
        return import_module(_SOLVER)
    sys.modules[_TABLES] = _Later(_TABLES)
    try:
        return import_module(_SOLVER)
    except (AttributeError, TypeError):
        # Another version of it may look closer than annotations do.
        sys.modules.pop(_TABLES, None)
        return import_module(_SOLVER)
    finally:
        if _loaded() is None:
            sys.modules.pop(_TABLES, None)


if TYPE_CHECKING:
    from ortools.sat.python import cp_model
else:
    cp_model = _solver()

__all__ = ["cp_model"]
