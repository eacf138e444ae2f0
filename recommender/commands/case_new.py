"""The command that begins a case: by questions, or from a line."""

import shlex
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Final

import typer

from recommender.commands.common import Force, Quiet
from recommender.faults import InputError
from recommender.running import DONE, print_text, tell
from recommender.shown import escaped, shown, shown_path

_LONGEST_ANSWER: Final = 2000


def case_new(
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="Case file to write, such as crate.toml.")
    ] = None,
    sentence: Annotated[
        str | None,
        typer.Option(
            "--from",
            metavar="TEXT",
            help='What is known in a line, such as "30 kg crate, 18/min"; nothing is asked.',
        ),
    ] = None,
    force: Force = False,
    quiet: Quiet = False,
) -> int:
    """Begin a case: asks question by question, or reads a line. The file is what is kept.

    After each answer the case file is written as far as it is known, so leave whenever you like and
    call the same command again to go on. Without FILE, --from prints the case.

    Example: recommender case new crate.toml

    Example: recommender case new crate.toml --from "30 kg crate, 18/min, reach 200 mm"
    """
    if sentence is not None:
        return _from_line(sentence, file, force=force, quiet=quiet)
    if file is None:
        raise InputError('name the case file to write, or give --from "30 kg crate, 18/min"')
    if not sys.stdin.isatty():
        raise InputError(
            "case new asks questions, and nobody is there to answer them;"
            ' give --from "30 kg crate, 18/min"'
        )
    return _by_questions(file, force=force)


def _from_line(sentence: str, file: Path | None, *, force: bool, quiet: bool) -> int:
    from recommender.files import refuse_existing, write_whole
    from recommender.guided import NEEDED, words
    from recommender.inputs.case import make_case
    from recommender.inputs.case_text import case_toml
    from recommender.inputs.sentence import read_sentence

    if file is not None:
        _refuse_other_names(file)
        refuse_existing(file, force=force)
    found = read_sentence(sentence)
    keys = {key for key, _ in found.read}
    examples = ("the mass of an item, such as 30 kg", "a rate, such as 18/min")
    for key, example in zip(NEEDED, examples, strict=True):
        if key not in keys:
            faults = [f"--from: found no {key}; write {example} (read: {shown(sentence)})"]
            faults += [f"--from: not read: {shown(text)} ({why})" for text, why in found.unread]
            raise InputError("\n".join(faults))
    make_case(found.data, "--from")
    text = case_toml(found.data, words(), None, "")
    if file is None:
        print_text(text.rstrip("\n"))
    else:
        write_whole(file, text, force=force)
    for key, written in found.read:
        tell(f"read: {key} = {shown(written)}", quiet=quiet)
    for written, why in found.unread:
        tell(f"not read: {shown(written)} ({why})", quiet=False)
    if file is not None:
        tell(f"wrote {shown_path(file)}", quiet=quiet)
    return DONE


def _refuse_other_names(file: Path) -> None:
    if file.suffix.lower() != ".toml":
        raise InputError(f"{shown_path(file)}: the name of a case file must end in .toml")


def _by_questions(file: Path, *, force: bool) -> int:
    from recommender.files import write_whole
    from recommender.guided import Interview, words
    from recommender.inputs.case_text import case_toml

    _refuse_other_names(file)
    data, start, going_on = _so_far(file, force=force)
    again = f"recommender case new {escaped(shlex.quote(str(file)))}"
    meaning, replace = words(), force or going_on

    def keep(case: Mapping[str, Any], next_key: str | None) -> None:
        nonlocal replace
        write_whole(file, case_toml(case, meaning, next_key, again), force=replace)
        replace = True

    _say("Enter leaves a question open, ? says more, < goes back, a full stop ends.")
    _say(f"What you answer is kept in {shown_path(file)} at once.")
    data, left_at = Interview(_ask, _say, keep).hold(data, start)
    if left_at is None:
        _say(f"\nThat is all. recommender answer {shown_path(file)} answers it.")
    else:
        _say(f"\nLeft at {left_at}. To go on: {again}")
    return DONE


def _so_far(file: Path, *, force: bool) -> tuple[dict[str, Any], str | None, bool]:
    """What was answered before, where to go on, and whether there was anything."""
    from recommender.files import refuse_existing
    from recommender.guided import questions
    from recommender.inputs.case_text import next_question
    from recommender.inputs.files import read_bytes
    from recommender.inputs.toml_text import parse_toml

    if force or not file.exists():
        refuse_existing(file, force=force)
        return {}, None, False
    name = shown_path(file)
    try:
        text = read_bytes(file).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(f"{name}: is not UTF-8 text; save it as UTF-8") from None
    start = next_question(text)
    if start is None:
        raise InputError(
            f"{name}: is there already, and no question of it is left; change it by hand, or add"
            " --force to begin anew"
        )
    data = parse_toml(text, name)
    try:
        list(questions(data))
    except (InputError, KeyError, TypeError, AttributeError) as error:
        faults = str(error).replace("x: ", "", 1) if isinstance(error, InputError) else "no case"
        raise InputError(f"{name}: {faults}; mend it, or add --force to begin anew") from None
    return data, start, True


def _ask(question: Any, now: str) -> str | None:
    """Put a question on the terminal; ``None`` where the input ends."""
    if now:
        kept = f"Enter keeps {shown(now)}"
    elif question.needed:
        kept = "needed"
    else:
        kept = f"Enter: {shown(question.taken)}"
    _say(f"\n{question.text}\n  {question.would_do}; {kept}")
    sys.stderr.write("> ")
    sys.stderr.flush()
    line = sys.stdin.readline(_LONGEST_ANSWER)
    return line.strip() if line else None


def _say(text: str) -> None:
    sys.stderr.write(f"{escaped(text, keep=chr(10))}\n")
    sys.stderr.flush()
