"""The lines of a working say what the function calculates, and their printed numbers give the printed result."""

import math
import re
from typing import Annotated

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coachwork import energy
from coachwork.page.working import NotAFormula, working
from coachwork.quantities import (
    ABOVE_ZERO,
    ConductorArea,
    Current,
    Energy,
    Fraction,
    InputError,
    Length,
    Power,
    Q,
    Ratio,
    Resistance,
    ResistancePerLength,
    Temperature,
    TemperatureDifference,
    Time,
    Voltage,
    floats,
    formula,
    read_quantity,
    set_display_system,
)

COEFFICIENT = 0.00393
REFERENCE = Q(20, "degC")
AT_20, SLOPE, OHMS = Q(293.15, "K"), Q(0.00393, "1/K"), Q(2, "ohm*mm**2")
GAS_CONSTANT = 8.314462618
ACTIVATION = 3.17e4


@formula
def drop(current: Current, length: Length, resistance_per_length: ResistancePerLength) -> Voltage:
    """Round trip."""
    return 2 * current * length * resistance_per_length


@formula
def warm(resistance: Resistance, temperature: Temperature) -> Resistance:
    """Resistance of copper at a temperature."""
    return resistance * (1 + COEFFICIENT * floats(temperature - REFERENCE, "K"))


@formula
def warm_in_numbers(resistance: Resistance, temperature: Temperature) -> Resistance:
    return resistance * (1 + COEFFICIENT * (temperature.to("degC").magnitude - 20))


@formula
def ageing(temperature: Temperature) -> Ratio:
    return math.exp(-ACTIVATION / (GAS_CONSTANT * temperature.magnitude))


@formula
def hotter(ambient: Temperature, temperature_rise: TemperatureDifference) -> Temperature:
    return ambient + temperature_rise


@formula
def by_steps(power: Power, efficiency: Annotated[Fraction, ABOVE_ZERO], voltage: Annotated[Voltage, ABOVE_ZERO],
             hours: Time) -> Energy:  # fmt: skip
    input_power = power / efficiency
    current = input_power / voltage
    return current * voltage * hours


@formula
def diagonal(length: Length, diameter: Length) -> Length:
    return numpy.sqrt(length**2 + diameter**2)


@formula
def net(power: Power, rated_power: Power) -> Power:
    return max(Q(0.0, "W"), rated_power - power * (1 - 0.25))


@formula
def copper(area: ConductorArea, reference: Temperature = Q(293.15, "K")) -> Resistance:
    """The constant AT_20 has the name of an argument in the glossary, and is another thing."""
    return 4 / math.pi * SLOPE * (reference - AT_20) * OHMS / area


def numbers_of(line):
    found = re.findall(r"(?<![\w^.])((?:\d[\d,]*)(?:\.\d+)?)(?: × 10\^(−?\d+))?", line)
    return [float(f"{text.replace(',', '')}e{power.replace('−', '-') or 0}") for text, power in found]


@pytest.fixture(autouse=True)
def us_units():
    set_display_system("US")
    yield
    set_display_system("US")


def test_lines_of_a_plain_formula():
    shown = working(energy.load_energy, power=Q(60, "W"), hours=Q(3, "h"), duty=1 / 3, count=2)
    assert shown.text() == (
        "E = n × D × P × t\n"
        "  = 2 × 0.3333 × 60 W × 3 h\n"
        "  = 120 Wh\n"
        "where\n  P = 60 W  (power)\n  t = 3 h  (hours)\n  n = 2  (count)\n  D = 33.33 %  (duty)"
    )
    bundle = shown._repr_mimebundle_()
    assert bundle["text/plain"] == shown.text() == repr(shown)
    assert r"2 \times 0.3333 \times 60\,\mathrm{W} \times 3\,\mathrm{h}" in bundle["text/latex"]
    assert 'role="math" aria-label="Energy equals count times duty times power times hours; equals 2 times' in (
        bundle["text/html"]
    )
    assert shown.speech().endswith("equals 120 watt hours.")


def test_units_that_differ_from_the_result_get_a_line():
    shown = working(energy.load_energy, power=Q(1.5, "kW"), hours=Q(20, "min"))
    assert "= 30 kW min\n  = 500 Wh" in shown.text()


def test_round_trip_in_both_systems():
    arguments = dict(current=Q(25, "A"), length=Q(12, "ft"), resistance_per_length=read_quantity("1.24 ohm/kft"))
    assert "2 × 25 A × 12 ft × 1.24 Ω/kft" in working(drop, **arguments).text()
    set_display_system("SI")
    assert "2 × 25 A × 3.6576 m × 4.068 Ω/km" in working(drop, **arguments).text()
    assert working(drop, **arguments).text().count("0.744 V") == 1


def test_steps_stand_one_by_one():
    lines = working(
        by_steps, power=Q(700, "W"), efficiency=0.87, voltage=Q(12.8, "V"), hours=Q(2, "h")
    ).text().splitlines()  # fmt: skip
    assert [line.split(" = ")[1] for line in lines if " = " in line][:9] == [
        "P / η", "700 W / 0.87", "804.6 W", "input power / V", "804.6 W / 12.8 V", "62.86 A", "I × V × t",
        "62.86 A × 12.8 V × 2 h", "1,609 Wh",
    ]  # fmt: skip


def test_root_power_and_largest():
    text = working(diagonal, length=Q(3, "ft"), diameter=Q(4, "ft")).text()
    assert "√(L^2 + d^2)" in text and "√((3 ft)^2 + (4 ft)^2)" in text and "= 5 ft" in text
    assert "max(0 W, 1 kW − 400 W × (1 − 0.25))" in working(net, power=Q(400, "W"), rated_power=Q(1, "kW")).text()


def test_fraction_result_is_shown_as_percent():
    text = working(energy.load_factor, energy=Q(5, "kWh"), peak_power=Q(900, "W"), hours=Q(24, "h")).text()
    assert "= 0.231\n   = 23.1 %" in text


@pytest.mark.parametrize(
    "function, expected",
    [
        (warm, "2 mΩ × (1 + 0.00393 × (75 °C − 20 °C))"),
        (warm_in_numbers, "2 mΩ × (1 + 0.00393 × (75 − 20))"),
    ],
)
def test_temperatures_in_a_difference_are_in_celsius(function, expected):
    text = working(function, resistance=Q(2, "mohm"), temperature=Q(167, "degF")).text()
    assert expected in text
    assert "T = 167 °F = 75 °C" in text
    assert "2.43 mΩ" in text


def test_absolute_temperature_is_in_kelvin():
    text = working(ageing, temperature=Q(77, "degF")).text()
    assert "T = 77 °F = 298.15 K" in text
    assert "(8.314462618 × 298.15)" in text
    assert "× 10^−6" in text


def test_constants_stand_as_numbers_and_pi_as_itself():
    text = working(copper, area=Q(10, "mm**2"), reference=Q(25, "degC")).text()
    assert "resistance" not in text and "R = 4 / π × 0.00393/K × (T_0 − 20 °C) × 2 mm2 Ω / A" in text
    assert "4 / π × 0.00393/K × (25 °C − 20 °C) × 2 mm2 Ω / 19,735 cmil" in text


def test_temperature_and_difference():
    text = working(hotter, ambient=Q(95, "degF"), temperature_rise=Q(18, "delta_degF")).text()
    assert "35 °C + 18 °F" in text and "= 45 °C\n" in text and "= 113 °F" in text


def test_arguments_are_refused_before_anything_is_shown():
    with pytest.raises(InputError, match="power: .*watt-hours are energy; divide by the hours"):
        working(energy.load_energy, power=Q(60, "Wh"), hours=Q(3, "h"))


def choice(power: Power) -> Power:
    if power > Q(1, "W"):
        return power
    return 2 * power


def comparison(power: Power) -> Power:
    return power * float(power > Q(1, "W"))


def evaluation(power: Power) -> Power:
    return eval("power")


def comprehension(power: Power) -> Power:
    return sum([power for _ in range(2)])


def twice(power: Power) -> Power:
    value = power
    value = value * 2
    return value


def stray(power: Power) -> Power:
    print(power)
    return power


def shadowed(power: Power, sqrt) -> Power:
    return sqrt(power)


def unitless(power: Power) -> Power:
    return Q(1, "W") * (power / Q(2, "W")).magnitude


@pytest.mark.parametrize("function, words", [
    (choice, "`if power"), (comparison, "float(power > "), (evaluation, "eval"), (comprehension, "sum"),
    (twice, "second value for value"), (stray, "print"), (unitless, "magnitude"), (lambda power: power, "plain function"),
])  # fmt: skip
def test_anything_else_is_refused_with_the_line(function, words):
    with pytest.raises(NotAFormula, match=r"line \d+: `working` cannot show") as caught:
        working(function, power=Q(3, "W"))
    assert words in str(caught.value)


def test_a_call_is_known_by_its_object_not_its_name():
    with pytest.raises(NotAFormula, match="sqrt"):
        working(shadowed, power=Q(3, "W"), sqrt=lambda x: x)


# ------------------------------------------------------------------- printed numbers give the printed result


def sane(low, high):
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


def same_to_shown_digits(recomputed, line):
    """Whether a reader who works with the printed numbers, and rounds as the print does, gets the printed result."""
    (text, power), *_ = re.findall(r"([\d,]+(?:\.\d+)?)(?: × 10\^(−?\d+))?", line)
    places = len(text.partition(".")[2])
    scale = 10.0 ** int(power.replace("−", "-") or 0)
    return abs(recomputed / scale - float(text.replace(",", ""))) <= 0.5000001 * 10**-places


@settings(max_examples=60, deadline=None)
@given(sane(0.1, 5000), sane(0.01, 24), st.integers(1, 12), sane(0.001, 1))
def test_product_reproduces(power, hours, count, duty):
    lines = working(energy.load_energy, power=Q(power, "W"), hours=Q(hours, "h"), count=count, duty=duty).text()
    _, filled, result = lines.splitlines()[:3]
    assert same_to_shown_digits(math.prod(numbers_of(filled)), result)
    assert numbers_of(result)[0] == pytest.approx(power * hours * count * duty, rel=0.006)


@settings(max_examples=60, deadline=None)
@given(sane(1, 5000), sane(0.05, 1), sane(9, 60))
def test_quotient_reproduces(power, efficiency, voltage):
    text = working(energy.inverter_input_current, power=Q(power, "W"), efficiency=efficiency, voltage=Q(voltage, "V"))
    _, filled, result = text.text().splitlines()[:3]
    top, share, below = numbers_of(filled)
    assert same_to_shown_digits(top / (share * below), result)


@settings(max_examples=60, deadline=None)
@given(sane(0.1, 500), sane(0.1, 100), sane(0.01, 5))
def test_small_differences_reproduce(power, extra, share):
    """Nearly equal numbers lose digits when subtracted: then the inputs must be shown with more of them."""
    rated = power * 0.75 + extra * 1e-4 * share
    text = working(net, power=Q(power, "W"), rated_power=Q(rated, "W")).text().splitlines()
    _, big, small, one, quarter = numbers_of(text[1])
    assert same_to_shown_digits(max(0, big - small * (one - quarter)), text[2])
    assert numbers_of(text[2])[0] == pytest.approx(rated - power * 0.75, rel=0.006, abs=1e-12)


@settings(max_examples=40, deadline=None)
@given(sane(1, 3000), sane(0.5, 1), sane(10, 58), sane(0.1, 24))
def test_steps_reproduce_one_after_the_other(power, efficiency, voltage, hours):
    text = working(by_steps, power=Q(power, "W"), efficiency=efficiency, voltage=Q(voltage, "V"), hours=Q(hours, "h"))
    sides = [line.split(" = ")[1] for line in text.text().partition("\nwhere")[0].splitlines()]
    first, second, third = sides[1], sides[4], sides[7]
    (top, below), (watts, volts), (amps, again, time) = map(numbers_of, (first, second, third))
    assert same_to_shown_digits(top / below, sides[2])
    assert numbers_of(sides[2]) == [watts]
    assert same_to_shown_digits(watts / volts, sides[5])
    assert numbers_of(sides[5]) == [amps]
    assert same_to_shown_digits(amps * again * time, sides[8])


@settings(max_examples=40, deadline=None)
@given(sane(-40, 185))
def test_exponential_reproduces(fahrenheit):
    sides = [line.split(" = ")[1] for line in working(ageing, temperature=Q(fahrenheit, "degF")).text().splitlines()[:3]]
    energy_, gas, kelvin = numbers_of(sides[1])
    assert same_to_shown_digits(math.exp(-energy_ / (gas * kelvin)), sides[2])
