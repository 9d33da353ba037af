"""Reading, checking and showing quantities: tables of cases, and properties over any text and any value."""

import sys
from typing import Annotated

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from coachwork import quantities
from coachwork.quantities import (
    ABOVE_ZERO, KINDS, Count, Current, Energy, Fraction, InputError, Power, Q, Quantity, Temperature,
    TemperatureDifference, Time, Voltage, floats, formula, in_display_units, kind_of, kinds_of, number_text,
    read_clock, read_quantity, read_window, set_display_system, show, unit_text, ureg, write_quantity,
)  # fmt: skip

# ------------------------------------------------------------------------------- reading


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("85 W", 85, "W"),
        ("85W", 85, "W"),
        (" 1,280.5  Wh ", 1280.5, "Wh"),
        ("1,234,567 Wh", 1234567, "Wh"),
        ("-40 degF", -40, "degF"),
        ("−40 °F", -40, "degF"),
        ("+.5 kW", 0.5, "kW"),
        ("1e-3 A", 0.001, "A"),
        ("2.5E3 mAh", 2500, "mAh"),
        ("0.0608 ohm/kft", 0.0608, "ohm/kilofoot"),
        ("0.5 W/(m2 K)", 0.5, "W/m**2/K"),
        ("0.5 W/m2/K", 0.5, "W/m**2/K"),
        ("0.5 W m-2 K^-1", 0.5, "W/m**2/K"),
        ("0.5 W·m**-2/K", 0.5, "W/m**2/K"),
        ("0.5 W/(m²·K)", 0.5, "W/m**2/K"),
        ("3 Btuh/(ft2 degF)", 3, "btu_per_hour/ft**2/delta_degF"),
        ("400 cfm", 400, "cubic_foot_per_minute"),
        ("2 inH2O", 2, "inch_H2O"),
        ("100 mil", 100, "mil_inch"),
        ("2 mΩ", 2, "milliohm"),
        ("20 µF", 20, "microfarad"),
        ("20 μF", 20, "microfarad"),
        ("0.17 USD/kWh", 0.17, "USD/kWh"),
        ("85 %", 85, "percent"),
        ("5", 5, ""),
        ("1/h", 1, "1/h"),
        ("12 V A", 12, "V*A"),
        ("5 hours", 5, "h"),
    ],
)
def test_text_is_read(text, value, unit):
    read = read_quantity(text)
    assert read.magnitude == value and type(read.magnitude) is float
    assert read.units == ureg.Unit(unit)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "does not start with a number"),
        ("W", "does not start with a number"),
        ("nan W", "does not start with a number"),
        ("inf", "does not start with a number"),
        ("--5 W", "does not start with a number"),
        ("9**9**9**9 W", "is not one plain number with a unit"),
        ("9^9 W", "is not one plain number with a unit"),
        ("1,00 W", "is not one plain number with a unit"),
        ("1.000,5 W", "is not one plain number with a unit"),
        ("9" * 31 + " W", "is not one plain number with a unit"),
        ("1e999 W", "is too large to calculate with"),
        ("85 watt_hour", 'has the unknown unit "watt_hour"'),
        ("85 Wats", "did you mean watts?"),
        ("85 w", "has the unknown unit"),
        ("85 W;", 'has ";" where a unit should stand'),
        ("5 W/", "ends too early"),
        ("5 /", "ends too early"),
        ("4/0 W", "has a power where none can stand"),
        ("5 W/(m", "ends too early"),
        ("5 W//m", "has two signs in a row"),
        ("5 *W", "has two signs in a row"),
        ("5 W/((m))", "has a bracket where none can stand"),
        ("5 W (m)", "has a bracket where none can stand"),
        ("5 W m)", "has a closing bracket without an opening one"),
        ("5 ()", "has a closing bracket without an opening one"),
        ("5 W**", "has a power without a whole number"),
        ("5 m5", "has a power where none can stand"),
        ("5 m0", "has a power where none can stand"),
        ("5 m2 3", "has a power where none can stand"),
        ("5 W/(m K)2", "has a power where none can stand"),
        ("1 000 W", "has a power where none can stand"),
        ("1 " + "W" * 79, "is 81 characters long"),
        ("__import__('os')", "does not start with a number"),
        ("1 __import__", "where a unit should stand"),
    ],
)
def test_text_is_refused_with_one_sentence(text, said):
    with pytest.raises(InputError) as caught:
        read_quantity(text, "power")
    assert said in str(caught.value) and str(caught.value).startswith('power: "')
    assert "; wanted is " in str(caught.value) and str(caught.value).endswith('".')


@pytest.mark.parametrize("given_", [None, 85, 8.5, True, b"85 W", ["85 W"], Q(85, "W")])
def test_what_is_not_text_is_refused(given_):
    with pytest.raises(InputError, match="is not text; wanted is a number and a unit"):
        read_quantity(given_)


@pytest.mark.parametrize(("text", "hours"), [("00:00", 0), ("6:30", 6.5), ("06:30", 6.5), ("23:59", 23 + 59 / 60), ("24:00", 24)])
def test_a_clock_time_is_read(text, hours):
    assert read_clock(text) == hours


@pytest.mark.parametrize("text", ["", "24:01", "25:00", "6", "6:5", "06:60", "06:30 pm", "-1:00", 6.5, None, "0" * 1_000_000])
def test_a_bad_clock_time_is_refused(text):
    with pytest.raises(InputError, match="is not a time of day; wanted is hours and minutes from 00:00 to 24:00"):
        read_clock(text)


@pytest.mark.parametrize(
    ("text", "span"),
    [("06:00-08:30", (6, 8.5)), ("22:00 – 6:00", (22, 6)), ("6:00 to 7:00", (6, 7)), ("00:00-24:00", (0, 24)), ("22:00-24:00", (22, 24))],
)
def test_a_window_is_read(text, span):
    assert read_window(text) == span


@pytest.mark.parametrize(
    "text", ["", "06:00", "06:00-07:00-08:00", "06:00-06:00", "24:00-00:00", "06:00-", "06:00 - 25:00", None, 6, "6" + " " * 10**6 + "x"]
)
def test_a_bad_window_is_refused(text):
    with pytest.raises(InputError):
        read_window(text)


# ------------------------------------------------------------------------------- writing


@pytest.mark.parametrize(
    ("quantity", "text"),
    [
        (Q(85.0, "W"), "85 W"),
        (Q(85, "W"), "85 W"),
        (Q(0.5, "W/m**2/K"), "0.5 W/(K m2)"),
        (Q(12.8, "V"), "12.8 V"),
        (Q(3.0, "1/h"), "3 /h"),
        (Q(0.85, ""), "0.85"),
        (Q(70, "degF"), "70 degF"),
        (Q(20, "delta_degC"), "20 delta_degC"),
        (Q(1e-7, "A"), "1e-07 A"),
        (Q(2, "yard"), "1.8288 m"),  # a unit that cannot be read is written in one that can
    ],
)
def test_a_quantity_is_written(quantity, text):
    assert write_quantity(quantity) == text


def test_every_unit_that_can_be_read_is_written_and_read_back():
    for short in quantities._UNITS:
        read = read_quantity(f"3 {short}")
        assert read_quantity(write_quantity(read)) == read and write_quantity(read) in (f"3 {short}", "3 %")
    for other, short in quantities._ALSO.items():
        assert read_quantity(f"3 {other}") == read_quantity(f"3 {short}")


# Sizes of units, from their definitions: NIST SP 811, appendix B.
@pytest.mark.parametrize(
    ("one", "other", "relative"),
    [
        ("1 ft", "0.3048 m", 0),
        ("1 mil", "0.0254 mm", 0),
        ("1 mi", "1.609344 km", 0),
        ("1 lb", "0.45359237 kg", 0),
        ("1 gal", "3.785411784 L", 0),
        ("1 hp", "745.6999 W", 1e-7),
        ("1 Btu", "1055.056 J", 1e-6),
        ("1 Btuh", "0.2930711 W", 1e-6),
        ("1 cfm", "0.0004719474 m3/s", 1e-6),
        ("1 cmil", "0.0005067075 mm2", 1e-6),
        ("1 psi", "6894.757 Pa", 1e-6),
        ("1 inHg", "3386.389 Pa", 1e-5),
        ("1 inH2O", "249.08891 Pa", 1e-4),
        ("1 lbf", "4.448222 N", 1e-6),
        ("1 mph", "0.44704 m/s", 0),
        ("1 gph", "1.0515032733333 mL/s", 1e-9),
        ("1 kWh", "3.6 MJ", 0),
        ("1 Ah", "3600 C", 0),
        ("1 day", "24 h", 0),
        ("1 kVA", "1000 VA", 0),
        ("212 degF", "373.15 K", 1e-12),
    ],
)
def test_units_have_their_size(one, other, relative):
    base = [read_quantity(text).to_base_units() for text in (one, other)]
    assert base[0].units == base[1].units
    assert base[0].magnitude == pytest.approx(base[1].magnitude, rel=relative or 1e-14)


# ------------------------------------------------------------------------------- kinds


@pytest.mark.parametrize(
    ("kind", "text", "said"),
    [
        ("power", "60 Wh", 'power: "60 Wh" is energy; wanted is a power in W, for example "85 W" (watt-hours are energy; divide by the hours'),
        ("energy", "60 W", "watts are power; multiply by the hours to get watt-hours"),
        ("energy", "100 Ah", "amp-hours are charge; multiply by volts to get watt-hours"),
        ("charge", "1280 Wh", "watt-hours are energy; divide by volts to get amp-hours"),
        ("current", "100 Ah", "amp-hours are charge; divide by the hours to get amps"),
        ("power", "5 A", "amps are current; multiply by volts to get watts"),
        ("power", "1200 VA", "volt-amperes are not watts; multiply by the power factor to get watts"),
        ("apparent power", "1200 W", "watts are not volt-amperes; divide by the power factor to get volt-amperes"),
        ("power", "-1 W", '"-1 W" is out of range; wanted is a power of at least 0 W'),
        ("power", "85", '"85" has no unit; wanted is a power in W'),
        ("power", "85 %", '"85 %" is fraction'),
        ("fraction", "85", '"85" is out of range; wanted is a fraction of at most 100 %, for example "85 %"'),
        ("fraction", "1 W", '"1 W" has a unit'),
        ("temperature", "20 delta_degC", "is a difference of temperatures"),
        ("temperature", "-500 degC", "is out of range; wanted is a temperature of at least −273 °C"),
        ("temperature difference", "20 degC", 'is a temperature, not a difference; wanted is a temperature difference in K, for example "20 K" '
         '(write "20 K" or "36 delta_degF")'),
        ("length", "12", '"12" has no unit; wanted is a length in m'),
    ],
)  # fmt: skip
def test_a_mixed_up_unit_is_named_with_the_missing_step(kind, text, said):
    set_display_system("SI")
    try:
        with pytest.raises(InputError) as caught:
            KINDS[kind].read(text)
    finally:
        set_display_system("US")
    assert said in str(caught.value)


def test_kinds_read_what_fits():
    assert KINDS["power"].read("1 hp").units == ureg.Unit("hp")
    assert KINDS["power"].read("12000 Btuh").to("W").magnitude == pytest.approx(3516.85, rel=1e-5)
    assert KINDS["fraction"].read("85 %") == KINDS["fraction"].read(0.85) == KINDS["fraction"].read("0.85") == 0.85
    assert KINDS["count"].read(3) == 3.0 and type(KINDS["count"].read(3)) is float
    assert KINDS["temperature"].read("-10 degF").to("degC").magnitude == pytest.approx(-23.33, abs=0.01)
    assert KINDS["temperature difference"].check(read_quantity("36 delta_degF")).to("K").magnitude == pytest.approx(20)
    assert KINDS["apparent power"].check(Q(120, "V") * Q(30, "A")) == Q(3600, "VA")
    assert KINDS["power"].check(Q(12, "V") * Q(5, "A")) == Q(60, "W")


@pytest.mark.parametrize("bad", [True, None, [], {}, "x", float("nan"), float("inf"), 10**400, -1])
def test_a_plain_kind_refuses_what_is_no_number(bad):
    with pytest.raises(InputError, match="^count: "):
        KINDS["count"].read(bad)


@pytest.mark.parametrize("bad", [numpy.nan, numpy.inf, -1.0])
def test_every_value_of_an_array_is_checked(bad):
    assert list(KINDS["power"].check(Q(numpy.array([0.0, 1.0]), "kW")).magnitude) == [0, 1000]
    with pytest.raises(InputError, match="^power: "):
        KINDS["power"].check(Q(numpy.array([0.0, bad]), "W"))


def test_a_kind_is_found_in_an_annotation():
    assert kind_of(Power) is KINDS["power"] and kind_of(Power | None) is KINDS["power"] and kind_of(int) is None
    assert kind_of(list[Power]) is KINDS["power"]
    assert kind_of(Annotated[Power, ABOVE_ZERO]).above_zero and not KINDS["power"].above_zero


# ------------------------------------------------------------------------------- formulas


@formula
def energy(power: Power, hours: Time, count: Count = 1.0, duty: Fraction = 1.0, voltage: Voltage | None = None) -> Energy:
    """Wh."""
    return count * duty * power * hours if voltage is None else voltage


@formula
def current(power: Power, voltage: Annotated[Voltage, ABOVE_ZERO]) -> Current:
    """A."""
    return power / voltage


@formula
def warmer(temperature: Temperature, difference: TemperatureDifference) -> Temperature:
    """degC."""
    return temperature + difference


def test_a_formula_takes_and_gives_its_kinds():
    result = energy(Q(2, "kW"), Q(30, "min"), 2, duty=Q(50, "percent"))
    assert (result.magnitude, result.units) == (1000, ureg.Unit("Wh"))
    assert current(Q(1, "kW"), Q(12.5, "V")) == Q(80, "A")
    assert list(energy(Q(numpy.array([1.0, 2.0]), "W"), Q(3, "h")).magnitude) == [3, 6]
    assert warmer(Q(70, "degF"), Q(18, "delta_degF")).magnitude == pytest.approx(31.1111, abs=1e-4)
    assert list(kinds_of(energy)) == ["power", "hours", "count", "duty", "voltage", "return"]


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: energy(Q(2, "Wh"), Q(1, "h")), 'power: "2 Wh" is energy; wanted is a power in W'),
        (lambda: energy(85, Q(1, "h")), 'power: "85" has no unit'),
        (lambda: energy("85 W", Q(1, "h")), 'power: "85 W" is not a power'),
        (lambda: energy(Q(1, "W"), Q(1, "h"), duty=1.2), 'duty: "1.2" is out of range'),
        (lambda: energy(Q(1, "W"), Q(float("nan"), "h")), "hours: "),
        (lambda: current(Q(1, "W"), Q(0, "V")), 'voltage: "0 V" is given; wanted is a voltage above 0'),
    ],
)
def test_a_formula_names_the_argument_that_does_not_fit(call, said):
    with pytest.raises(InputError) as caught:
        call()
    assert said in str(caught.value)


def test_a_formula_that_gives_another_kind_is_a_mistake_of_ours():
    with pytest.raises(TypeError, match="not an energy"):
        energy(Q(1, "W"), Q(1, "h"), voltage=Q(12, "V"))


# ------------------------------------------------------------------------------- showing


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0, 3, "0"), (1280.4, 3, "1,280"), (0.012345, 3, "0.0123"), (99.96, 3, "100"), (12.8, 3, "12.8"), (-0.0001, 2, "−0.0001"),
        (12345.6, 6, "12,345.6"), (12.0, 3, "12"), (float("nan"), 3, "not a number"), (float("inf"), 3, "infinite"), (-0.0, 3, "0"),
    ],
)  # fmt: skip
def test_a_number_is_shown_with_its_figures(value, digits, text):
    assert number_text(value, digits) == text


@pytest.mark.parametrize(
    ("quantity", "us", "si"),
    [
        (Q(1.28, "kWh"), "1.28 kWh", "1.28 kWh"),
        (Q(10, "ft"), "10 ft", "3.05 m"),
        (Q(3.048, "m"), "10 ft", "3.05 m"),
        (Q(20, "degC"), "68 °F", "20 °C"),
        (Q(5, "W/m**2/K"), "0.881 Btu/h/(°F ft2)", "5 W/(K m2)"),
        (Q(2, "milliohm"), "2 mΩ", "2 mΩ"),
        (Q(85, "percent"), "85 %", "85 %"),
        (Q(30, "degree"), "30°", "30°"),
    ],
)
def test_the_display_switch_changes_what_is_shown_and_nothing_else(quantity, us, si):
    told = []
    stop = quantities.on_display_change(lambda: told.append(quantities.display_system()))
    before = quantity.magnitude, quantity.units
    assert show(quantity) == us
    try:
        set_display_system("SI")
        assert show(quantity) == si and told == ["SI"]
        assert in_display_units(in_display_units(quantity)) == in_display_units(quantity)
    finally:
        set_display_system("US")
        stop()
    assert told == ["SI", "US"] and (quantity.magnitude, quantity.units) == before


def test_an_unknown_display_system_is_refused():
    with pytest.raises(InputError, match='"metric" is not known; wanted is "US" or "SI"'):
        set_display_system("metric")


def test_units_are_shown_as_readers_write_them():
    assert [unit_text(unit) for unit in ("Wh", "milliohm", "degF", "W/m**2", "1/h")] == ["Wh", "mΩ", "°F", "W/m2", "1/h"]
    assert floats(Q(1, "kWh"), "Wh") == 1000


# ------------------------------------------------------------------------------- properties

pieces = some.sampled_from([*quantities._UNITS, *quantities._ALSO, *"0123456789.,eE+-−*/^()²³· _%\t\n", "**", "inH2O", "nan", "__"])
texts = some.text(max_size=100) | some.lists(pieces, max_size=40).map("".join) | some.builds(
    "{} {}".format, some.floats(allow_nan=False), some.lists(pieces, max_size=12).map("".join))  # fmt: skip


@settings(deadline=None, max_examples=300)
@given(texts)
def test_any_text_gives_a_finite_quantity_or_our_own_refusal(text):
    try:
        read = read_quantity(text)
    except InputError:
        return
    assert isinstance(read, Quantity) and numpy.isfinite(read.magnitude)
    assert read_quantity(write_quantity(read)) == read


@settings(deadline=None, max_examples=100)
@given(texts, some.sampled_from(list(KINDS.values())))
def test_any_text_is_of_a_kind_or_is_refused(text, kind):
    try:
        kind.check(kind.read(text))
    except InputError as error:
        assert str(error).startswith(kind.name)


def calls_of(function):
    """Calls of Python and C functions that one call takes: work, counted without a clock."""
    count = 0

    def counter(frame, event, argument):
        nonlocal count
        count += event in ("call", "c_call")

    sys.setprofile(counter)
    try:
        function()
    except InputError:
        pass
    finally:
        sys.setprofile(None)
    return count


@settings(deadline=None, max_examples=100)
@given(texts)
def test_the_work_of_reading_is_bounded_by_the_length(text):
    assert calls_of(lambda: read_quantity(text)) < 20_000 + 1000 * min(len(text), 80)


def test_a_long_text_costs_no_more_than_a_short_one():
    short, long = (calls_of(lambda: read_quantity(text)) for text in ("9" * 81, "9" * 10_000_000))
    assert long <= short + 5


# In a product a temperature counts as a difference, so only the names that stand in products are drawn.
_NAMES = sorted(set(quantities._WRITTEN) - set(quantities._DELTA.values()))
units = some.dictionaries(some.sampled_from(_NAMES), some.sampled_from([-3, -2, -1, 1, 2, 3]), max_size=4)


@settings(deadline=None, max_examples=200)
@given(some.floats(allow_nan=False, allow_infinity=False), units)
def test_any_quantity_is_written_and_read_back(value, powers):
    unit = ureg.Unit("")
    for name, power in powers.items():
        name = quantities._DELTA.get(name, name) if len(powers) > 1 or power != 1 else name
        unit *= ureg.Unit(name) ** power
    quantity = Quantity(value, unit)
    read = read_quantity(write_quantity(quantity))
    assert read.magnitude == value and read.units == unit


@settings(deadline=None, max_examples=200)
@given(some.floats(1e-9, 1e9), some.integers(1, 8))
def test_a_shown_number_is_right_to_its_figures(value, digits):
    shown = float(number_text(value, digits).replace(",", "").replace("−", "-"))
    assert abs(shown - value) <= 0.5000001 * 10 ** min(0, int(numpy.floor(numpy.log10(value))) - digits + 1)
