"""The gate in: names, titles and descriptions are one line of characters that can be seen."""

from typing import Annotated, Final

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from recommender.shown import is_plain

LONGEST_NAME: Final = 60
LONGEST_DESCRIPTION: Final = 120
LONGEST_NOTE: Final = 400


def _plain(text: str) -> str:
    if not is_plain(text):
        raise PydanticCustomError(
            "not_plain",
            "must be one line of printable characters, without control or direction codes",
        )
    return text


def _not_blank(text: str) -> str:
    if not text.strip():
        raise PydanticCustomError("blank", "must not be blank")
    return text


_LINE: Final = AfterValidator(_plain), AfterValidator(_not_blank)

Name = Annotated[str, Field(min_length=1, max_length=LONGEST_NAME), *_LINE]
Description = Annotated[str, Field(min_length=1, max_length=LONGEST_DESCRIPTION), *_LINE]
Note = Annotated[str, Field(max_length=LONGEST_NOTE), AfterValidator(_plain)]
