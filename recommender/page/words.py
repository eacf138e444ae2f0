"""What the fields of a case are called on the page; a key without a name here is its own name."""

from collections.abc import Mapping
from typing import Final

GROUPS: Final[Mapping[str, str]] = {
    "": "The enquiry",
    "load": "The load, one item",
    "load.liquid": "Liquid, where the load is an open tray",
    "rate": "Rate",
    "station": "Stations, in the order of the travel",
    "loop": "The loop and its room",
    "tooling": "Fixture on the carrier",
    "limits": "What the load bears at most",
    "site": "Surroundings",
    "life": "Life of the rollers",
    "commercial": "Money and time",
}
"""Groups of fields, in the order in which they stand on the page."""

LABELS: Final[Mapping[str, str]] = {
    "title": "Title",
    "units": "Units of the answer",
    "load.mass": "Mass",
    "load.length": "Length along the travel",
    "load.width": "Width across the travel",
    "load.reach": "Reach outward of the guide",
    "load.offset": "Offset ahead of the middle",
    "load.cg_height": "Centre of gravity above the carrier",
    "load.held": "Held",
    "load.friction": "Coefficient of friction",
    "load.pocket": "Depth of the nest",
    "load.clamping_force": "Force of the clamp",
    "load.liquid.length": "Length of the liquid",
    "load.liquid.width": "Width of the liquid",
    "load.liquid.depth": "Depth of the liquid",
    "load.liquid.freeboard": "From the calm surface to the rim",
    "load.liquid.viscosity": "Kinematic viscosity",
    "tooling.mass": "Mass of the fixture",
    "tooling.reach": "Reach outward of the guide",
    "tooling.cg_height": "Centre of gravity above the carrier",
    "tooling.per": "One for each",
    "rate.items": "Items",
    "rate.per_carrier": "Items that may share a carrier",
    "rate.reserve": "Reserve, as a share",
    "loop.plane": "Plane",
    "loop.max_length": "Guide at most",
    "loop.max_width": "Width with loads at most",
    "loop.max_height": "Height with loads at most",
    "loop.max_extent": "Extent along the straights at most",
    "loop.restart": "Restart of the carriers",
    "station.name": "Name",
    "station.dwell": "Dwell",
    "station.dwell_for": "Dwell for each",
    "station.settling": "Settling before the dwell",
    "station.tolerance": "At rest within, to either side",
    "station.dwell_variation": "Variation of the dwell",
    "station.after": "At least behind the one before",
    "station.length": "Length of the station",
    "station.positions": "Carriers served at once",
    "station.side": "Side",
    "station.at": "Place from the start of its straight",
    "station.clear_of_joints": "Keep clear of joints",
    "station.force": "Process force: along, outward, up",
    "limits.acceleration": "Acceleration",
    "limits.jerk": "Jerk",
    "limits.speed": "Speed",
    "site.ambient": "Warmest air",
    "life.hours": "Hours of running",
    "life.years": "Years over which they spread",
    "life.reliability": "Reliability in per cent",
    "commercial.budget": "Budget",
    "commercial.latest_delivery": "Delivery at the latest",
    "commercial.without": "Left out of the order",
}

HELP: Final[Mapping[str, str]] = {
    "title": "What the enquiry is called, for headings.",
    "units": "As most masses and lengths of the case are written, unless said.",
    "load.mass": "Mass of one item.",
    "load.liquid.length": "Along the travel; leave the group open unless the load is a tray.",
    "load.liquid.depth": "Of the liquid at rest.",
    "load.liquid.freeboard": "A wave must stay below the rim.",
    "tooling.per": "One fixture for all items on a carrier, or one for each item.",
    "rate.items": "Items per time; a revolution is an angle, so no rpm.",
    "rate.reserve": "Asked of every takt on top of the rate, such as 0.05; a rule of the house"
    " unless said.",
    "station.name": "Each station has its own name.",
    "station.dwell": "Standstill for the work; settling comes on top.",
    "station.dwell_for": "For all items on a carrier together, or for each in turn.",
    "station.settling": "Time to come to rest; worked out unless said.",
    "station.after": "Distance from the station before, along the travel.",
    "station.side": "front, back or any; of an upright loop upper or lower.",
    "station.at": "A fixed place; else it is chosen.",
    "station.clear_of_joints": "Keep the carriers that stand there off joints between sections.",
    "commercial.budget": "In the money of the catalogue, such as 60000 EUR. Options that cost more"
    " are refused.",
    "commercial.latest_delivery": "Weeks from the order until the loop runs.",
    "commercial.without": "Groups of the parts list that are not ordered.",
}

MAIN_OF_STATION: Final = ("name", "dwell")
"""Fields of a station that are always seen; the others fold away while they are open."""

OPENED: Final = frozenset({"", "load", "rate", "station"})
"""Groups that are unfolded although nothing is given in them."""
