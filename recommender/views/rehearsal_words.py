"""What a rehearsal found, in words."""

from typing import Final

from recommender.results.rehearsal import Rehearsal, StationRun, SupplyUse
from recommender.views.numbers import quantity, share, three_digits

HEADS: Final = ("station", "busy", "late, s", "gathering, s", "held, s", "queue", "longest")


def title(found: Rehearsal) -> str:
    many = f"{found.replications} times {found.hours:g} h" if found.replications > 1 else "one run"
    return f"Rehearsal of {found.option} with {found.carriers} carriers: {many}, seed {found.seed}"


def rows(found: Rehearsal) -> list[tuple[str, str]]:
    """Names and values of what was found."""
    told = [("Varies", "\n".join(found.varied) or "nothing: one run of 120 laps stands for all")]
    if found.stops:
        told.append(("Stops", "\n".join(found.stops)))
    told += [
        ("Warm-up", f"{quantity(found.warm_up_s, 's')} before each run, not counted"),
        ("Rate", _rate(found)),
        ("Verdict", _verdict(found)),
    ]
    if found.tried:
        told.append(("More carriers", _more(found)))
    if found.supplies:
        told.append(("Supplies", "\n".join(map(_supply, found.supplies))))
    return told


def kept(found: Rehearsal) -> str:
    """The rules that were kept."""
    return (
        f"Kept in all of {found.moves:,} moves: the least spacing, of which the closest two had"
        f" {100 * found.closest:.1f} %, the order of the carriers, and the turn of each at every"
        " station."
    )


def _rate(found: Rehearsal) -> str:
    rate = f"{three_digits(found.rate_per_min)} items/min"
    if found.low_per_min is not None and found.high_per_min is not None:
        rate += (
            f", {three_digits(found.low_per_min)} to {three_digits(found.high_per_min)} with"
            " 95 % confidence"
        )
    pace = "; the controller lets no more through" if found.pace_s else ""
    return (
        f"{rate}; {three_digits(found.asked_per_min)} asked,"
        f" {three_digits(found.formula_per_min)} by formula without variation{pace}"
    )


def _verdict(found: Rehearsal) -> str:
    if found.verdict == "holds":
        return "the rate that is asked is made"
    if found.verdict == "short":
        return "the rate that is asked is not made"
    return "these runs cannot tell whether the rate is made; longer ones can"


def _more(found: Rehearsal) -> str:
    if found.enough:
        rate = three_digits(found.enough.rate_per_min)
        return f"{found.enough.carriers} on the same loop would make {rate} items/min"
    best = max(found.tried, key=lambda entry: entry.rate_per_min)
    return (
        f"up to {found.tried[-1].carriers} tried on the same loop, and none makes it:"
        f" {three_digits(best.rate_per_min)} items/min at best, with {best.carriers}"
    )


def station_row(run: StationRun) -> tuple[str, ...]:
    """A station as a row of a table."""
    return (
        run.name,
        share(run.busy),
        f"{max(run.delayed_s, 0.0) + 0.0:.2f}",
        f"{run.gathering_s:.2f}",
        f"{run.blocked_s:.2f}",
        f"{run.queue:.2f}",
        str(run.longest_queue),
    )


def _supply(use: SupplyUse) -> str:
    """A supply in words, its sections counted along the travel."""
    which = f"section {use.first_section}"
    if use.sections > 1:
        which = f"{use.sections} sections from {use.first_section}"
    return f"{use.id} on {which}: " + "; ".join(
        f"{name} {quantity(power, 'W')}, {quantity(counted, 'W')} counted,"
        f" {quantity(limit, 'W')} at most"
        for name, power, counted, limit in (
            ("mean", use.mean_w, use.mean_counted_w, use.mean_limit_w),
            ("peak", use.peak_w, use.peak_counted_w, use.peak_limit_w),
        )
    )
