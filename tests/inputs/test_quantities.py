"""Quantities: what outside sources say they are, and refused where they cannot be meant."""

import math

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic_core import PydanticCustomError
from scipy import constants

from recommender.inputs.quantities import KINDS, USUAL_UNITS, Kind, parse, pint_factor, write

REGISTRY = pint.UnitRegistry()

UNITS = {
    "mass": ("kg", "g", "mg", "lb", "oz", "t"),
    "length": ("m", "mm", "cm", "um", "in", "ft", "yd"),
    "duration": ("s", "ms", "min", "h"),
    "lead time": ("weeks", "days", "h"),
    "rate": ("1/min", "1/s", "1/h", "Hz", "min^-1"),
    "speed": ("m/s", "mm/s", "m/min", "ft/min", "km/h", "in/s"),
    "acceleration": ("m/s^2", "g0", "mm/s^2", "ft/s^2", "m/s/s"),
    "kinematic viscosity": ("mm^2/s", "cSt", "St"),
    "rotational stiffness": ("N*m/rad", "kN*m/rad"),
    "jerk": ("m/s^3", "g0/s", "mm/s**3"),
    "force": ("N", "kN", "lbf", "kgf"),
    "stiffness": ("N/m", "N/mm", "kN/mm", "lbf/in"),
    "moment": ("N*m", "N·m", "kN*m", "lbf*in"),
    "temperature": ("K", "°C", "degC"),
    "voltage": ("V", "mV", "kV"),
    "resistance per length": ("ohm/m", "mohm/m", "ohm/km", "ohm/ft"),
    "power": ("W", "kW", "hp"),
    "energy": ("J", "kJ", "Wh"),
    "capacitance": ("F", "mF", "uF"),
    "inertia": ("kg*m^2", "g*cm^2", "lb*in^2"),
    "angle": ("rad", "deg", "°"),
    "motor constant": ("N/W^0.5", "lbf/W^0.5"),
}


def refusal(text: object, kind: str) -> str:
    with pytest.raises(PydanticCustomError) as refused:
        parse(text, KINDS[kind])
    return refused.value.message()


def test_every_kind_has_units_to_be_tested_with() -> None:
    assert UNITS.keys() == KINDS.keys()


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("1 lb", "mass", constants.lb),
        ("1 oz", "mass", constants.oz),
        ("1 in", "length", constants.inch),
        ("1 ft", "length", constants.foot),
        ("1 g0", "acceleration", constants.g),
        ("1 lbf", "force", constants.lbf),
        ("1 kgf", "force", constants.kgf),
        ("1 hp", "power", constants.hp),
        ("1 deg", "angle", constants.degree),
        ("1 km/h", "speed", constants.kmh),
        ("1 h", "duration", constants.hour),
        ("3 days", "lead time", 3 * constants.day / constants.week),
        ("90/h", "rate", 90 / constants.hour),
    ],
)
def test_units_are_those_of_scipy(text: str, kind: str, si: float) -> None:
    assert parse(text, KINDS[kind]) == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        # International yard and pound agreement of 1959, as in NIST Special Publication 811.
        ("1 lb", "mass", 0.45359237),
        ("1 yd", "length", 0.9144),
        # 3rd General Conference on Weights and Measures, 1901.
        ("1 g0", "acceleration", 9.80665),
    ],
)
def test_units_are_those_of_the_agreements(text: str, kind: str, si: float) -> None:
    assert parse(text, KINDS[kind]) == pytest.approx(si, rel=1e-15)


@pytest.mark.parametrize("si", USUAL_UNITS)
def test_the_usual_units_are_those_of_pint(si: str) -> None:
    for unit, factor in USUAL_UNITS[si].items():
        expected = pint_factor(f"1{unit}" if unit.startswith("/") else unit, si)
        assert factor == pytest.approx(expected, rel=1e-15)


def test_every_kind_has_usual_units() -> None:
    assert {kind.si for kind in KINDS.values()} == USUAL_UNITS.keys()
    assert all(kind.si in USUAL_UNITS[kind.si] for kind in KINDS.values())


@settings(max_examples=150, deadline=None)
@given(data=st.data(), kind=st.sampled_from(sorted(KINDS)))
def test_a_quantity_is_what_pint_says(data: st.DataObject, kind: str) -> None:
    unit = data.draw(st.sampled_from(UNITS[kind]))
    number = data.draw(st.decimals(min_value=5, max_value=90, places=3))
    expected = REGISTRY.Quantity(float(number), unit.replace("°", "deg")).to(KINDS[kind].si)
    assert parse(f"{number} {unit}", KINDS[kind]) == pytest.approx(expected.magnitude, rel=1e-12)


@settings(max_examples=200, deadline=None)
@given(data=st.data(), kind=st.sampled_from(sorted(KINDS.values(), key=lambda kind: kind.name)))
def test_what_is_written_reads_back(data: st.DataObject, kind: Kind) -> None:
    value = data.draw(st.floats(min_value=-0.9 * kind.most, max_value=0.9 * kind.most))
    value = value if abs(value) >= kind.least else 0.0
    text = write(value, kind)
    # Lengths of two metres or more are written in metres to the millimetre.
    half_a_place = 0.5e-3 if " m" in text and kind.name == "length" else 0.0
    half_a_place = max(half_a_place, 0.5 * 10.0**-kind.decimals / kind.per_si)
    read = parse(text, kind)
    assert abs(read - value) <= half_a_place * (1 + 1e-9) + 1e-12 * abs(value)
    assert write(read, kind) == text


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_example_in_a_refusal_is_accepted(kind: str) -> None:
    assert parse(KINDS[kind].example, KINDS[kind]) > 0


@pytest.mark.parametrize("bare", [30, 30.0, "30", " 30 ", math.nan, math.inf, True, None, ["3 kg"]])
def test_a_bare_number_is_refused(bare: object) -> None:
    assert refusal(bare, "mass") == (
        'has no unit; write a mass as text with a unit, such as "30 kg"'
    )


@pytest.mark.parametrize("text", ["", "kg", "thirty kg", "nan kg", "inf kg", "-inf kg", "- 3 kg"])
def test_what_is_no_number_is_refused(text: str) -> None:
    assert refusal(text, "mass").startswith("is not a number; write a mass")


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("30 mm", "mass"),
        ("30 N", "mass"),
        ("30 kg", "force"),
        ("30 kg", "length"),
        ("5 m/s", "acceleration"),
        ("5 m/s^2", "speed"),
        ("18 s", "rate"),
        ("20 degC", "angle"),
    ],
)
def test_a_wrong_dimension_is_refused(text: str, kind: str) -> None:
    name = KINDS[kind].with_article
    assert refusal(text, kind).startswith(f"is not {name}; write {name} as text with a unit")


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("18 rpm", "rate"),  # would come out as 113 items a minute
        ("18 turns/min", "rate"),
        ("18 deg/s", "rate"),
        ("30 percent", "angle"),
    ],
)
def test_an_angle_is_no_number_of_items(text: str, kind: str) -> None:
    assert refusal(text, kind).startswith("is not a")


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("30 kgs", "mass"),
        ("30 2 kg", "mass"),
        ("3_0 kg", "mass"),
        ("30 kg # about", "mass"),
        ("30 kg; 1", "mass"),
        ("30 kg\0", "mass"),
        ("30 kg + 2 kg", "mass"),
        ("30 kg**9**9**9", "mass"),
        ("18 rev/min", "rate"),
        ("1/2 min", "rate"),
        ("30 dBm", "power"),
    ],
)
def test_a_unit_that_cannot_be_read_is_refused(text: str, kind: str) -> None:
    assert refusal(text, kind).startswith("has a unit that is not known; write ")


def test_what_is_not_finite_is_refused() -> None:
    assert refusal("1e400 kg", "mass").startswith("is not finite")


@pytest.mark.parametrize(
    ("text", "kind"),
    [("30 Mt", "mass"), ("1e-300 kg", "mass"), ("30 km", "length"), ("-30 km", "length")],
)
def test_a_slip_of_the_pen_is_refused(text: str, kind: str) -> None:
    message = refusal(text, kind)
    assert message.startswith("is beyond what a ")
    assert message.endswith("look at its unit")


@settings(max_examples=300, deadline=None)
@given(
    text=st.one_of(
        st.text(max_size=30),
        st.text(alphabet="0123456789.eE+-*/^() kgmsNW\t²°", max_size=20),
    ),
    kind=st.sampled_from(sorted(KINDS)),
)
def test_any_text_is_read_or_refused(text: str, kind: str) -> None:
    try:
        value = parse(text, KINDS[kind])
    except PydanticCustomError:
        return
    assert math.isfinite(value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("7,5 kg", "has a comma; write 7.5, with a point"),
        ("30,50 kg", "has a comma; write 30.5, with a point"),
        ("-0,25 kg", "has a comma; write -0.25, with a point"),
        ("1,200 kg", "has a comma; write 1.2, with a point, or 1200"),
        ("1,200.5 kg", "has a comma; write 1200.5, without it"),
        ("1,200,000 g", "has a comma; write 1200000, without it"),
        ("7,5", "has a comma; write 7.5, with a point"),
    ],
)
def test_a_comma_is_answered_with_what_to_write(text: str, said: str) -> None:
    assert refusal(text, "mass") == said


@pytest.mark.parametrize(
    "text",
    [
        "15 items/min",
        "15 item/min",
        "15 parts/min",
        "15 pcs/min",
        "15 boxes / minute",
        "15 items per minute",
        "15 per minute",
        "15 a minute",
        "15/min",
        "900/h",
        "900 items/h",
        "900 parts per hour",
        "0.25 per second",
    ],
)
def test_a_rate_is_read_as_people_say_it(text: str) -> None:
    # 15 a minute are 900 an hour and one in four seconds.
    assert parse(text, KINDS["rate"]) == pytest.approx(0.25, rel=1e-12)


@pytest.mark.parametrize("text", ["15 kg/min", "15 turns/min", "15 rpm", "15 m/min", "15 min"])
def test_what_is_not_counted_is_no_rate(text: str) -> None:
    assert refusal(text, "rate").startswith("is not a rate; write ")
