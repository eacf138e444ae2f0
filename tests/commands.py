"""Commands of the program in this process, as their tests run them."""

import contextlib
import io
import json
import sys
from typing import Any, NamedTuple

import pytest

from recommender import cli


class Ended(NamedTuple):
    """How a command ended."""

    status: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """What it printed as JSON."""
        return json.loads(self.out)


def call(*words: str) -> Ended:
    """Run a command, 80 columns wide."""
    out, err = io.StringIO(), io.StringIO()
    with (
        pytest.MonkeyPatch.context() as patch,
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        pytest.raises(SystemExit) as ended,
    ):
        patch.setenv("COLUMNS", "80")
        patch.setattr(sys, "argv", ["recommender", *words])
        cli.run()
    assert isinstance(ended.value.code, int)
    return Ended(ended.value.code, out.getvalue(), err.getvalue())
