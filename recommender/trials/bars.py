"""Which inputs a doubt comes from, as a picture."""

from recommender.results.doubt import Doubt
from recommender.shown import shown
from recommender.trials.diagram import figure_of, saved

_LONGEST = 40


def bars(found: Doubt, kind: str) -> bytes:
    """A bar for each input: the share of the variance that it explains alone.

    Parameters
    ----------
    found : Doubt
    kind : str
        ``.svg`` or ``.png``.

    Returns
    -------
    bytes

    Raises
    ------
    InputError
        If the library that draws is not there.
    """
    figure = figure_of((7.0, 1.1 + 0.4 * len(found.inputs)))
    axes = figure.add_subplot()
    rows = range(len(found.inputs))
    axes.barh(rows, [100.0 * entry.share for entry in found.inputs], color="tab:blue", height=0.6)
    for row, entry in zip(rows, found.inputs, strict=True):
        axes.text(100.0 * entry.share, row, f" {100.0 * entry.share:.0f} %", va="center")
    names = [shown(f"{entry.key}, {entry.taken}", _LONGEST) for entry in found.inputs]
    axes.set_yticks(rows, names, fontsize=8, parse_math=False)
    axes.invert_yaxis()
    axes.set_xlim(0.0, max(1.0, 115.0 * max(entry.share for entry in found.inputs)))
    axes.set_xlabel(f"share of the variance of {found.measured}, %", fontsize=8)
    held = 100.0 * found.chance.held
    axes.set_title(
        f"{found.option}, {found.carriers} carriers: holds in {held:.1f} % of {found.draws:,}"
        " draws",
        fontsize=9,
        parse_math=False,
    )
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return saved(figure, kind)
