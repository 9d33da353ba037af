"""Questions of the sun lesson."""

from coachwork import sun, weather
from coachwork.page.questions import Choice, Question, pick, slip
from coachwork.quantities import (
    Count, Current, Energy, Fraction, Power, Q, SharePerKelvin, SunEnergy, Temperature, Time, Voltage,
)  # fmt: skip


def before_losses(rated_power: Power, irradiation: SunEnergy, daylight: Time) -> Energy:
    """Energy of an array in a day before any loss; the hours of daylight do not matter."""
    return rated_power * weather.sun_hours(irradiation)


def into_bank(
    rated_power: Power, peak_sun_hours: Time, cell_temperature: Temperature, power_coefficient: SharePerKelvin,
    soiling: Fraction, wiring: Fraction, efficiency: Fraction,
) -> Energy:
    """Energy into the bank in a day: heat, dust, wiring and the controller."""
    losses = sun.combined_loss([soiling, wiring, 1 - efficiency])
    return sun.day_energy(rated_power, peak_sun_hours, power_coefficient, cell_temperature, losses)


def left_of(first: Fraction, second: Fraction, third: Fraction) -> Fraction:
    """Share that three losses leave."""
    return 1 - sun.combined_loss([first, second, third])


def string_voltage(
    open_circuit_voltage: Voltage, series: Count, open_circuit_coefficient: SharePerKelvin, coldest: Temperature
) -> Voltage:
    """Voltage of a string on the coldest morning."""
    return sun.cold_voltage(open_circuit_voltage, series, open_circuit_coefficient, coldest)


def ampacity(short_circuit_current: Current, series: Count, parallel: Count) -> Current:
    """Ampacity of the conductors from an array."""
    return sun.array_ampacity(short_circuit_current, parallel)


def bank_amps(rated_power: Power, voltage: Voltage, efficiency: Fraction, bank_voltage: Voltage) -> Current:
    """Amps into the bank; the array's own voltage does not matter."""
    return sun.controller_current(rated_power, efficiency, bank_voltage)


def through_switch(voltage: Voltage, current: Current, bank_voltage: Voltage) -> Power:
    """Watts that a PWM controller passes on."""
    return sun.power_through_switch(current, bank_voltage)


QUESTIONS = [
    Question(
        "On a flat roof {irradiation} of sun arrive on a June day. The sun is up for {daylight}. What would {rated_power} of "
        "modules give if nothing were lost?",
        given=dict(
            irradiation=pick(5.5, 6.0, 6.5, 7.0, unit="kWh/m**2"), daylight=pick(14, 14.5, 15, unit="h"),
            rated_power=pick(400, 600, 800, 1200, unit="W"),
        ),
        answer=before_losses,
        unit="Wh",
        slips=[
            slip("You took the hours of daylight. Watts on a plate hold in full sun only: count peak sun hours.",
                 factor=lambda g: float((g["daylight"] / weather.sun_hours(g["irradiation"])).to("").magnitude)),
            slip("Those are the watts of the plate for one hour.",
                 factor=lambda g: 1 / weather.sun_hours(g["irradiation"]).to("h").magnitude),
        ],
        outcome=1,
        see="4 The idea",
    ),
    Choice(
        "A crew lives in high desert in December. It can tilt its modules to face south, or buy half as many again and lay them "
        "flat. Which brings more that month?",
        right="Tilting: the low sun then meets them nearly square, and the month brings about twice as much",
        wrong={
            "Half as many again, flat: more modules are always better":
                "They bring half as much again. In Denver in December a tilt of 45° about doubles it.",
            "Neither: in December there is no sun": "A clear winter day has sun; it stands low.",
            "Tilting, and it brings twice as much in June too": "In June the sun stands high: flat modules do as well or better.",
        },
        outcome=1,
        see="6 Try it",
    ),
    Question(
        "Three losses take {first}, {second} and {third}. What share is left?",
        given=dict(first=pick(10, 12, unit="percent"), second=pick(15, 20, unit="percent"), third=pick(14, 18, unit="percent")),
        answer=left_of,
        unit="percent",
        tolerance=0.01,
        slips=[
            slip("You added the losses. Each takes its share of what the others left: multiply what they leave.",
                 factor=lambda g: (1 - sum(g[name].to("").magnitude for name in ("first", "second", "third")))
                 / left_of(**{name: value.to("").magnitude for name, value in g.items()})),
            slip("That is what is lost. The question asks for what is left.",
                 factor=lambda g: 1 / left_of(**{name: value.to("").magnitude for name, value in g.items()}) - 1),
            slip("You left out the third.", third=0.0),
        ],
        outcome=2,
        see="5 Worked example",
    ),
    Question(
        "{rated_power} of modules have {peak_sun_hours} of full sun. Their cells are at {cell_temperature}, their power changes by "
        "{power_coefficient} from 25 °C (77 °F). Dust takes {soiling}, wiring {wiring}, and the controller is {efficiency} efficient. What "
        "reaches the bank?",
        given=dict(
            rated_power=pick(400, 800, 1000, 1200, unit="W"), peak_sun_hours=pick(4.5, 5, 5.5, 6, unit="h"),
            cell_temperature=pick(55, 60, unit="degC"), power_coefficient=Q(-0.4, "percent/kelvin"),
            soiling=Q(8, "percent"), wiring=Q(3, "percent"), efficiency=pick(95, 96, unit="percent"),
        ),
        answer=into_bank,
        unit="Wh",
        slips=[
            slip("That is what the plates promise. Heat, dust, wiring and the controller take their shares.",
                 cell_temperature=Q(25, "degC"), soiling=0.0, wiring=0.0, efficiency=1.0),
            slip("You forgot the heat: the plate holds at a cell temperature of 25 °C.", cell_temperature=Q(25, "degC")),
            slip("You counted the heat from zero. The plate holds at 25 °C: count from there.",
                 cell_temperature=lambda g: Q(g["cell_temperature"].to("degC").magnitude + 25, "degC")),
            slip("You forgot the controller.", efficiency=1.0),
            slip("You forgot the dust.", soiling=0.0),
        ],
        tolerance=0.008,
        outcome=2,
        see="5 Worked example",
    ),
    Question(
        "{series} modules with {open_circuit_voltage} of open-circuit voltage stand in series. It changes by "
        "{open_circuit_coefficient}. What does the string reach on a morning of {coldest}?",
        given=dict(
            series=pick(2, 3, 4), open_circuit_voltage=pick(22.5, 24.4, 37.3, unit="V"),
            open_circuit_coefficient=pick(-0.27, -0.30, unit="percent/kelvin"), coldest=pick(-13, -4, 5, unit="degF"),
        ),
        answer=string_voltage,
        unit="V",
        tolerance=0.01,
        slips=[
            slip("That is the plate, at 25 °C. On a cold morning it is higher, and that is what breaks controllers.",
                 coldest=Q(25, "degC")),
            slip("That is one module. There are {series} in series.", series=1),
            slip("You let the cold lower the voltage. The sign is the other way: colder is higher.",
                 coldest=lambda g: Q(50 - g["coldest"].to("degC").magnitude, "degC")),
            slip("You took the Fahrenheit difference as it stands. The coefficient is for a kelvin: divide by 1.8.",
                 coldest=lambda g: Q(25 - (77 - g["coldest"].to("degF").magnitude), "degC")),
        ],
        outcome=3,
        see="5 Worked example",
    ),
    Question(
        "A module has a short-circuit current of {short_circuit_current}. {series} stand in series, {parallel} such strings side by "
        "side. What ampacity do the conductors to the controller need?",
        given=dict(short_circuit_current=pick(9.5, 10.4, 11.2, 13.6, unit="A"), series=pick(3, 4), parallel=Q(2, "")),
        answer=ampacity,
        unit="A",
        slips=[
            slip("You took 1.25 once. It counts twice: for bright hours, and because the current is continuous.", factor=0.8),
            slip("That is the short-circuit current as it stands, without 1.25 and 1.25.", factor=0.64),
            slip("You multiplied by the modules in series. In series the volts add; the amps are those of one string.",
                 parallel=lambda g: g["series"]),
            slip("That is one string. There are {parallel}.", parallel=1),
        ],
        outcome=4,
        see="5 Worked example",
    ),
    Question(
        "{rated_power} of modules work at {voltage} into an MPPT controller, {efficiency} efficient. How many amps go into a bank "
        "of {bank_voltage}?",
        given=dict(
            rated_power=pick(600, 800, 1000, 1200, unit="W"), voltage=pick(40.8, 61.2, 62.4, unit="V"),
            efficiency=pick(94, 95, 96, unit="percent"), bank_voltage=pick(12.8, 25.6, unit="V"),
        ),
        answer=bank_amps,
        unit="A",
        tolerance=0.01,
        slips=[
            slip("Those are the amps on the array's side. The controller trades volts for amps.",
                 factor=lambda g: float((g["bank_voltage"] / g["voltage"] / g["efficiency"]).to("").magnitude)),
            slip("You forgot the controller's loss.", efficiency=1.0),
            slip("You divided by the efficiency. The controller gives less than it takes.",
                 factor=lambda g: g["efficiency"].to("").magnitude ** -2),
        ],
        outcome=4,
        see="5 Worked example",
    ),
    Question(
        "A module works at {voltage} and {current}. A PWM controller joins it to a bank at {bank_voltage}. How many watts go into "
        "the bank?",
        given=dict(voltage=pick(18, 18.6, 20.4, unit="V"), current=pick(5.5, 5.9, 9.8, unit="A"),
                   bank_voltage=pick(12.8, 13.2, 13.6, unit="V")),
        answer=through_switch,
        unit="W",
        slips=[
            slip("That is what the module could give. A switch takes its amps at the bank's volts.",
                 factor=lambda g: float((g["voltage"] / g["bank_voltage"]).to("").magnitude)),
        ],
        outcome=2,
        see="4 The idea",
    ),
    Question(
        "A coach takes {energy} a day in its worst month, which has {peak_sun_hours} of full sun. All losses together take "
        "{losses}. How many watts of modules would carry it?",
        given=dict(energy=pick(1500, 2000, 2400, 3000, unit="Wh"), peak_sun_hours=pick(2.1, 2.5, 3.0, unit="h"),
                   losses=pick(20, 24, 28, unit="percent")),
        answer=sun.rated_power_needed,
        unit="W",
        slips=[
            slip("You left the losses out.", losses=0.0),
            slip("You made the array smaller for its losses. They make it larger: divide by what is left.",
                 factor=lambda g: (1 - g["losses"].to("").magnitude) ** 2),
            slip("You divided by the loss. Divide by what is left of the sun.",
                 losses=lambda g: 1 - g["losses"].to("").magnitude),
            slip("You divided by 24 hours. The plate holds in full sun only.",
                 peak_sun_hours=lambda g: Q(24, "h")),
        ],
        outcome=5,
        see="5 Worked example",
    ),
    Choice(
        "You want to take a solar controller off the wall at noon. What do you open first?",
        right="The array's disconnect, with the sun off the modules if you can; then the fuse on the bank's side",
        wrong={
            "The fuse on the bank's side, then the array":
                "Many controllers are destroyed by an array without a bank, and you would part the array while it gives power.",
            "The plugs between the modules on the roof": "They part direct current under load: an arc. They are not switches.",
            "Nothing: a controller can be unscrewed while it works": "Its terminals carry the string's full voltage in daylight.",
        },
        outcome=4,
        see="3 Before you touch anything",
    ),
]
