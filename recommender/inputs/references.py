"""Whether the entries of a catalogue fit together: ids, and what leads from one to another."""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from recommender.inputs.catalogue import Catalogue
    from recommender.inputs.catalogue_entries import Carrier


class Fault(NamedTuple):
    """What is wrong with one entry of a table."""

    table: str
    id: str
    text: str


def reference_faults(catalogue: "Catalogue", tables: Iterable[str]) -> Iterator[Fault]:
    """Ids that are used twice, references that lead nowhere, and parts that are wanting.

    Parameters
    ----------
    catalogue : Catalogue
        Validated entry by entry.
    tables : iterable of str
        The tables whose entries have an id.

    Yields
    ------
    Fault
    """
    yield from _repeated(catalogue, tables)
    for carrier in catalogue.carrier:
        yield from _carrier(carrier, catalogue)
    yield from _rails(catalogue)
    for table in ("engineering", "order_line"):
        for line in getattr(catalogue, table):
            if line.roller is not None and line.roller not in catalogue.rollers:
                yield Fault(table, line.id, _unknown("roller", line.roller, catalogue.rollers))


def _repeated(catalogue: "Catalogue", tables: Iterable[str]) -> Iterator[Fault]:
    first: dict[str, str] = {}
    for table in tables:
        for entry in getattr(catalogue, table):
            if entry.id in first:
                text = f"id {entry.id!r} stands in [[{first[entry.id]}]] already; choose another"
                yield Fault(table, entry.id, text)
            first[entry.id] = table


def _carrier(carrier: "Carrier", catalogue: "Catalogue") -> Iterator[Fault]:
    for key, id_, known in (
        ("family", carrier.family, catalogue.families),
        ("roller", carrier.roller, catalogue.rollers),
        ("lower_roller", carrier.lower_roller, catalogue.rollers),
    ):
        if id_ is not None and id_ not in known:
            yield Fault("carrier", carrier.id, _unknown(key, id_, known))
    family = catalogue.families.get(carrier.family)
    if family is None:
        return
    for key, wanted, there, feature in (
        ("guide_depth", family.lower_guide, carrier.guide_depth is not None, "a lower guide"),
        (
            "coupling_distance",
            family.trucks == 2,
            carrier.coupling_distance is not None,
            "2 trucks",
        ),
    ):
        if wanted and not there:
            text = f"{key} is missing; family {family.id!r} has {feature}"
            yield Fault("carrier", carrier.id, text)
        elif there and not wanted:
            text = f"{key} is given, but family {family.id!r} has not {feature}; leave it out"
            yield Fault("carrier", carrier.id, text)


def _rails(catalogue: "Catalogue") -> Iterator[Fault]:
    guides = {
        **{part.id: "straight" for part in catalogue.straight},
        **{part.id: "bend" for part in catalogue.bend},
    }
    along: dict[str, str] = {}
    for rail in catalogue.lower_rail:
        if rail.along not in guides:
            yield Fault("lower_rail", rail.id, _unknown("along", rail.along, guides))
        elif rail.along in along:
            text = f"along is {rail.along!r} like that of {along[rail.along]!r}; keep one of them"
            yield Fault("lower_rail", rail.id, text)
        along[rail.along] = rail.id
    below = [family.id for family in catalogue.family if family.lower_guide]
    if below:
        for id_ in sorted(guides.keys() - along.keys()):
            text = (
                f"has no [[lower_rail]] along it, but family {below[0]!r} has a lower guide;"
                f' add one with along = "{id_}"'
            )
            yield Fault(guides[id_], id_, text)


def _unknown(key: str, id_: str, known: Iterable[str]) -> str:
    return f"{key} {id_!r} is in no table; known are {', '.join(sorted(known))}"
