"""There and back: whoever asks the inverse question with the answer must get back what was given.

`FORMULAS` are pairs of one formula each; their drawn values stand in `RANGES`, by the names that the library's arguments have
everywhere. Pairs that take more than one call follow below them. `ELSEWHERE` names pairs that a topic's own tests hold. The
first test looks through all public functions for two that turn each other round, so that no new pair goes untested.

Agreement is that of floats (1e-9) unless the method itself is coarser; a choice from a table goes there and back to the next
size only, and that is what its test asserts.
"""
import dataclasses
import datetime
import importlib
import inspect
import itertools
import math
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from coachwork import (air, capacity, charging, coach, conductor, cycle_life, design, energy, heating, inverter, profile, sun,
                       weather, whole_system, wiring)  # fmt: skip
from coachwork import commissioning as work
from coachwork.quantities import InputError, Q, convert, current_by_ohms_law, floats, kinds_of
from test_storeys import SHARED, TOPICS

TRAILER = coach.read(coach.main_demo())
FEW, SOME = settings(max_examples=12, deadline=None), settings(max_examples=30, deadline=None)

RANGES = {
    "power": (1, 5000, "W"), "energy": (10, 50_000, "Wh"), "charge": (1, 2000, "Ah"), "capacity": (100, 2000, "Ah"),
    "voltage": (5, 120, "V"), "open_circuit_voltage": (10, 60, "V"), "voltage_drop": (0.001, 5, "V"),
    "current": (0.1, 100, "A"), "charger_current": (1, 200, "A"), "standing_current": (1, 100, "mA"),
    "resistance": (0.1, 100, "mohm"), "internal_resistance": (1, 50, "mohm"), "efficiency": (0.3, 1, ""),
    "state_of_charge": (0.6, 1, ""), "self_discharge": (0.005, 0.2, ""), "age": (1, 20, "day"),
    "acceptance_time": (0.01, 1.5, "h"), "speed_up": (1.05, 20, ""), "temperature": (30, 60, "degC"),
    "reference": (0, 25, "degC"), "ambient": (-40, 20, "degC"), "hours": (0.5, 40, "h"), "time_constant": (5, 60, "h"),
    "humidity_ratio": (0.001, 0.02, ""), "pressure": (70, 105, "kPa"), "air_flow": (1, 500, "cfm"),
    "density": (0.8, 1.4, "kg/m**3"), "mass_change": (1, 500, "lb"), "ahead": (-10, 20, "ft"), "span": (8, 25, "ft"),
    "temperature_difference": (1, 40, "delta_degC"), "rated_power": (50, 5000, "W"), "bank_voltage": (10, 60, "V"),
}  # fmt: skip

# One formula and the one that answers the inverse question; where names differ, what the second calls an argument of the first.
FORMULAS = [
    ("energy.current_from_power", "energy.power_from_current", {}),
    ("energy.inverter_input_current", "sun.power_through_tracker", {}),
    ("sun.controller_current", "charging.charger_input_power", {"bank_voltage": "voltage"}),
    ("quantities.current_by_ohms_law", "commissioning.expected_drop", {}),
    ("wiring.fault_current", "commissioning.expected_drop", {}),
    ("commissioning.drop_resistance", "commissioning.expected_drop", {}),
    ("capacity.terminal_voltage", "capacity.internal_resistance", {}),
    ("capacity.charge_from_current", "commissioning.standing_time", {"current": "standing_current"}),
    ("charging.accepted_current", "charging.knee", {}),
    ("cycle_life.charge_in_storage", "cycle_life.time_to_cut_off", {}),
    ("cycle_life.activation_energy", "cycle_life.arrhenius_speed_up", {}),
    ("heating.temperature_after", "heating.time_constant_measured", {}),
    ("heating.temperature_after", "cycle_life.cooling_time", {}),
    ("air.dew_point", "air.humidity_ratio_from_dew_point", {}),
    ("air.wet_bulb", "air.humidity_ratio_from_wet_bulb", {}),
    ("air.sensible_heat", "air.air_flow_for_rise", {"temperature_difference": "temperature_rise"}),
]

# Pairs that a topic's own file holds: what they are, and the test that goes there and back.
ELSEWHERE = {
    ("energy.charge_from_energy", "energy.energy_from_charge"): "test_energy.test_charge_and_energy_there_and_back",
    ("energy.hours_from_energy", "energy.mean_power"): "test_energy.test_hours_and_mean_power_there_and_back",
    ("energy.energy_efficiency_ratio", "energy.power_at_energy_efficiency_ratio"):
        "test_energy.test_efficiency_ratio_there_and_back",
    ("energy.inverter_loss", "energy.fitted_efficiency"): "test_energy.test_a_sheet_made_from_the_model_is_fitted_back",
    ("energy.power_from_apparent_power", "inverter.apparent_power"): "test_inverter.test_apparent_power_there_and_back",
    ("capacity.rejoin_current", "capacity.rejoin_difference"):
        "test_capacity.test_rejoin_difference_and_current_are_each_others_way_back",
    ("capacity.rated_energy", "capacity.usable_energy"):
        "test_capacity.test_product_is_never_below_the_larger_and_usable_is_the_way_back",
    ("capacity.energy_for_hours", "capacity.run_time"): "test_capacity.test_run_time_and_its_inverse",
    ("capacity.peukert_hours", "capacity.peukert_exponent"): "test_capacity.test_peukert_exponent_there_and_back",
    ("capacity.rate_factor", "capacity.peukert_charge"): "test_capacity.test_rate_factor_is_what_peukert_leaves",
    ("capacity.self_discharge_from_retention", "capacity.state_after_storage"):
        "test_capacity.test_self_discharge_there_and_back",
    ("charging.charge_time", "charging.state_after_charge"): "test_charging.test_charge_time_there_and_back",
    ("charging.charger_current_within", "charging.charger_line_current"):
        "test_charging.test_inlet_arithmetic_there_and_back",
    ("charging.dcdc_input_current", "charging.dcdc_output_within"):
        "test_charging.test_dcdc_there_and_back_and_power_balances",
    ("charging.fuel_rate", "charging.generator_efficiency"): "test_charging.test_fuel_there_and_back",
    ("conductor.copper_resistivity", "conductor.resistivity_temperature"):
        "test_conductor.test_resistivity_and_its_inverse",
    ("conductor.next_standard_rating", "conductor.standard_rating_within"):
        "test_conductor.test_standard_ratings_close_in_from_both_sides",
    ("conductor.resistance_per_length", "conductor.iec_60228_factor"):
        "test_conductor.test_iec_reading_undoes_its_own_temperature_factor",
    ("air.humidity_ratio_from_relative", "air.relative_humidity"): "test_air.test_relative_humidity_there_and_back",
    ("wiring.voltage_drop", "wiring.area_for_drop"): "test_wiring.test_area_for_a_drop_gives_that_drop",
    ("wiring.voltage_drop", "wiring.longest_run"): "test_wiring.test_longest_run_there_and_back",
    ("wiring.area_for_fault", "wiring.withstand"): "test_wiring.test_conductor_of_the_right_area_just_stands_a_fault",
    ("wiring.choose", "wiring.fit"):
        "test_wiring.test_choice_meets_every_demand_and_the_next_smaller_size_does_not",
    ("heating.warm_up_time", "heating.temperature_after"): "test_heating.test_warm_up_is_the_inverse_of_temperature_after",
    ("heating.hold_si", "heating.advance_si"):
        "test_heating.test_hold_brings_the_cells_to_the_set_point_and_no_further",
    ("inverter.largest_charger_share", "inverter.share_inlet"):
        "test_inverter.test_the_largest_share_fits_and_a_larger_one_does_not",
    ("network.thevenin", "network.solve"): "test_network.test_thevenin_foretells_a_new_resistance",
    ("commissioning.resistance_from_two_loads", "a source behind its resistance"):
        "test_commissioning.test_resistance_from_two_loads_there_and_back",
    ("weather.read_year", "an EPW file that it wrote"): "test_weather.test_there_and_back_through_epw",
    ("quantities.read_quantity", "quantities.write_quantity"): "test_quantities.test_any_quantity_is_written_and_read_back",
    ("quantities.convert", "quantities.convert"): "test_start_here.test_converted_there_and_back_is_the_same",
    ("coach.parse", "Coach.save"): "test_coach.test_any_coach_can_be_saved_and_read_back_equal",
}  # fmt: skip

# Tested below by more than one call.
BELOW = {("cycle_life.capacity_after_daily_cycles", "cycle_life.years_of_daily_cycles"),
         ("energy.fitted_efficiency", "energy.inverter_input_power")}  # fmt: skip

# Alike by their arguments, but not each other's inverse: one gives another thing of the same kind.
NOT_INVERSE = {
    ("capacity.rate_factor", "commissioning.capacity_from_test"),  # a factor for the rate; a share shown in a test
    ("charging.charger_input_power", "energy.inverter_input_current"),  # the loss lies on the other side
    ("energy.fitted_efficiency", "inverter.diversified_power"),  # a share of what runs, not of what is lost
    ("charging.shaft_power", "energy.fitted_efficiency"),  # an alternator's efficiency, not an inverter's
    ("cycle_life.capacity_after_daily_cycles", "cycle_life.capacity_after_storage"),  # depth of use; charge in storage
}


def function(name):
    """A public function by `module.name`."""
    module, _, word = name.partition(".")
    return getattr(importlib.import_module(f"coachwork.{module}"), word)


def draw(data, names):
    """A value for each argument, drawn from its range."""
    limits = {name: RANGES[name] for name in names}
    return {name: Q(data.draw(some.floats(low, high), name), unit) for name, (low, high, unit) in limits.items()}


def number(value, unit=""):
    """A quantity in a unit as a float; plain kinds (shares, counts, ratios) are floats already."""
    return floats(value, unit) if hasattr(value, "units") else float(value)


def same(found, given, unit="", **tolerance):
    assert number(found, unit) == pytest.approx(number(given, unit), **tolerance or {"rel": 1e-9, "abs": 1e-12})


def test_every_pair_that_the_arguments_give_away_is_tested():
    """Two functions that share all arguments but one, where each asks for what the other gives."""
    known = {}
    for module in ("quantities", *SHARED, *TOPICS):
        for name, one in vars(importlib.import_module(f"coachwork.{module}")).items():
            if inspect.isfunction(one) and not name.startswith("_") and one.__module__ == f"coachwork.{module}":
                kinds = {word: kind.name for word, kind in kinds_of(one).items()}
                if "return" in kinds:
                    known[f"{module}.{name}"] = kinds.pop("return"), kinds
    assert len(known) > 300
    found = set()
    for (one, (gives, asks)), (other, (brings, wants)) in itertools.combinations(known.items(), 2):
        shared = {word for word in asks if wants.get(word) == asks[word]}
        only, others = set(asks) - shared, set(wants) - shared
        if shared and len(only) == len(others) == 1 and asks[only.pop()] == brings and wants[others.pop()] == gives:
            found.add(frozenset((one, other)))
    held = {frozenset(pair[:2]) for pair in (*FORMULAS, *ELSEWHERE, *BELOW, *NOT_INVERSE)}
    assert len(found) > 20 and not found - held


@pytest.mark.parametrize("pair, test", ELSEWHERE.items())
def test_the_tests_elsewhere_stand(pair, test):
    module, _, name = test.partition(".")
    words = Path(__file__).with_name(f"{module}.py").read_text(encoding="utf-8")
    body = re.search(rf"\ndef {name}\(.*?(?=\n(?:def |@|# -)|\Z)", words, re.DOTALL)
    assert body, test
    calls = [one.rpartition(".")[2] for one in pair if re.fullmatch(r"[\w.]+", one)]
    assert all(call in words for call in calls)


@pytest.mark.parametrize("there, back, names", FORMULAS)
@given(data=some.data())
@SOME
def test_one_formula_and_its_inverse(there, back, names, data):
    there, back = function(there), function(back)
    asks, wants = inspect.signature(there).parameters, inspect.signature(back).parameters
    values = draw(data, [word for word in asks if word in RANGES])
    shared = {names.get(word, word): value for word, value in values.items() if names.get(word, word) in wants}
    (asked,) = [word for word in values if names.get(word, word) not in wants]
    (answer,) = [word for word, one in wants.items() if word not in shared and one.default is one.empty]
    found = there(**values)
    unit = kinds_of(there)[asked].unit
    # A level or a temperature is known to a part of its range, not of its distance from 0.
    same(back(**shared, **{answer: found}), values[asked], unit, rel=1e-7, abs=1e-7 if unit in ("", "K") else 1e-9)


# ------------------------------------------------------------------ energy, bank, hours


@given(some.floats(10, 3000), some.floats(0.1, 1), some.floats(0.1, 24))
@SOME
def test_load_factor_gives_back_the_energy(peak, factor, hours):
    used = Q(peak * factor * hours, "Wh")
    same(energy.load_factor(used, Q(peak, "W"), Q(hours, "h")), factor)
    same(energy.load_energy(Q(peak, "W"), Q(hours, "h"), 1, factor), used, "Wh")
    same(energy.hours_from_energy(used, energy.mean_power(used, Q(hours, "h"))), Q(hours, "h"), "h")


@given(some.floats(20, 2000))
@SOME
def test_an_inverters_input_times_its_efficiency_is_its_output(watts):
    loss = TRAILER.inverter
    share = energy.fitted_efficiency(Q(watts, "W"), loss.idle, loss.efficiency)
    taken = energy.inverter_input_power(Q(watts, "W"), share)
    curve = energy.inverter_loss(loss.idle, loss.efficiency)
    same(inverter.dc_power(curve, Q(watts, "W")), taken, "W")
    same(floats(taken, "W") * share, watts)


@given(some.floats(50, 5000), some.floats(0.5, 8), some.floats(0.3, 1), some.floats(0, 0.5))
@SOME
def test_array_from_energy_and_energy_from_array(watts, sun_hours, kept, warmer):
    """At the plates' own 25 °C; warmer cells give less by just the coefficient."""
    hours, plate = Q(sun_hours, "h"), Q(25, "degC")
    day = sun.day_energy(Q(watts, "W"), hours, Q(-0.4, "percent/K"), plate, 1 - kept)
    same(sun.rated_power_needed(day, hours, 1 - kept), Q(watts, "W"), "W")
    same(whole_system.array_in_balance(day, hours, kept), Q(watts, "W"), "W")
    hot = sun.day_energy(Q(watts, "W"), hours, Q(-0.4, "percent/K"), Q(25 + 100 * warmer, "degC"), 1 - kept)
    same(floats(hot, "Wh") / floats(day, "Wh"), 1 - 0.4 * warmer)


@given(some.floats(100, 20_000), some.floats(0.5, 9))
@SOME
def test_nights_from_bank_and_bank_from_nights(night, count):
    needed = capacity.autonomy_energy(Q(night, "Wh"), count)
    same(whole_system.nights_carried(needed, Q(night, "Wh")), count)
    same(whole_system.days_until_empty(needed, Q(night, "Wh")), count)


@given(some.floats(100, 20_000), some.floats(5, 3000))
@FEW
def test_hours_from_bank_and_bank_from_hours_by_the_step(stored, watts):
    hours = whole_system.hours_to_empty(Q(stored, "Wh"), Q(watts, "W"))
    same(energy.load_energy(Q(watts, "W"), hours), Q(stored, "Wh"), "Wh")
    same(capacity.run_time(Q(stored, "Wh"), 1.0, Q(watts, "W")), hours, "h")


@given(some.floats(100, 3000), some.floats(100, 3000), some.floats(0.8, 1), some.floats(0.2, 0.8))
@FEW
def test_a_day_that_offers_what_it_takes_leaves_the_bank_as_it_was(day, night, kept, start):
    day, night, full = Q(day, "Wh"), Q(night, "Wh"), Q(20_000, "Wh")
    offered = whole_system.through_the_bank(day, night, kept)
    level = whole_system.level_after_a_day(day, night, offered, kept, full, start * full)
    same(level, start * full, "Wh")


@given(some.floats(100, 5000), some.floats(100, 3000), some.floats(0.8, 1))
@FEW
def test_what_a_generator_runs_for_is_what_the_bank_gives_back(wanted, watts, kept):
    hours = whole_system.generator_time(Q(wanted, "Wh"), Q(watts, "W"), kept)
    back = whole_system.given_back(energy.load_energy(Q(watts, "W"), hours), kept)
    same(back, Q(wanted, "Wh"), "Wh")


@given(some.floats(100, 30_000), some.integers(1, 4))
@SOME
def test_strings_are_a_whole_number_there_and_back_only_to_the_next(label, series):
    one = Q(3072, "Wh")
    count = capacity.strings_needed(Q(label, "Wh"), one, series)
    held = floats(capacity.bank_energy(Q(12.8, "V"), Q(240, "Ah"), series, count), "Wh")
    each = 3072 * series
    assert held * (1 + 1e-9) >= label > held - each or count == 1
    assert capacity.strings_needed(Q(held * (1 - 1e-9), "Wh"), one, series) == count  # 12.8 V x 720 Ah is a hair above 9216 Wh


@given(some.floats(50, 2500))
@FEW
def test_current_found_for_a_power_brings_that_power(watts):
    bank = capacity.arrangement(TRAILER)
    by_power = bank.share(0.5, power=Q(watts, "W"))
    by_current = bank.share(0.5, bank_current=sum(by_power.currents))
    same(energy.power_from_current(by_current.voltage, sum(by_power.currents)), Q(watts, "W"), "W", rel=1e-6)


@given(some.floats(20, 240))
@SOME
def test_reserve_minutes_and_amp_hours(minutes):
    charge = capacity.reserve_charge(Q(minutes, "min"))
    same(work.standing_time(charge, Q(25, "A")), Q(minutes, "min"), "min")


# ------------------------------------------------------------------ depth, cycles, years, money


@pytest.mark.parametrize("cell", ["large", "small"])
@given(depth=some.floats(0.5, 1), celsius=some.floats(20, 40), end=some.floats(0.75, 0.9))
@FEW
def test_years_from_a_fade_and_the_fade_after_those_years(cell, depth, celsius, end):
    """Months are joined by straight lines both ways, so the way back is exact."""
    use = cell, depth, Q(celsius, "degC")
    try:
        years = cycle_life.years_of_daily_cycles(*use, end)
    except InputError:  # lasts longer than is worked out: then more must be left at the horizon
        assert cycle_life.capacity_after_daily_cycles(*use, Q(cycle_life.HORIZON, "year")) > end - 1e-3
        return
    same(cycle_life.capacity_after_daily_cycles(*use, years), end, rel=1e-6)


@given(some.floats(0.2, 1), some.sampled_from(["flooded lead-acid", "AGM"]))
@SOME
def test_depth_and_cycles_of_lead_acid(depth, name):
    """As many cycles as the table gives use up one life, and move their depth times their number."""
    cycles = cycle_life.cycles_to_failure(name, depth).high
    same(cycle_life.miners_sum([cycles], [cycles]), 1)
    full = cycle_life.equivalent_full_cycles(cycles, depth)
    moved = cycle_life.throughput(Q(3072, "Wh"), full)
    same(floats(moved, "Wh") / 3072 / depth, cycles)
    years = cycle_life.life_by_count(cycles, 7)
    end = cycle_life.warranty_end(cycles / floats(years, "year"), Q(1, "kWh"), warranty_cycles=cycles)
    same(end.ages["cycles"], years, "year")


@given(some.floats(1, 30), some.floats(100, 5000), some.floats(100, 10_000), some.floats(0.05, 2))
@SOME
def test_money_for_energy_and_energy_for_money(years, yearly, price, tariff):
    yearly, price = Q(yearly, "kWh"), Q(price, "USD")
    life = cycle_life.lifetime_energy(yearly, Q(years, "year"))
    same(energy.energy_cost(life, cycle_life.wear_cost(price, life)), price, "USD")
    end = cycle_life.warranty_end(0, yearly, warranty_energy=life)
    same(end.ages["energy"], Q(years, "year"), "year")
    hours = sun.payback_hours(price, Q(20, "W"), Q(tariff, "USD/kWh"))
    same(energy.energy_cost(energy.load_energy(Q(20, "W"), hours), Q(tariff, "USD/kWh")), price, "USD")


@given(some.floats(1, 20), some.floats(-10, 50), some.floats(5, 15))
@SOME
def test_calendar_life_at_another_temperature_and_home_again(years, celsius, halving):
    home, away, step = Q(25, "degC"), Q(celsius, "degC"), Q(halving, "K")
    there = cycle_life.life_at_temperature(Q(years, "year"), away, home, step)
    same(cycle_life.life_at_temperature(there, home, away, step), Q(years, "year"), "year")


# ------------------------------------------------------------------ charging


@given(some.floats(0.01, 0.3), some.floats(0.05, 1.5), some.floats(50, 500))
@SOME
def test_full_is_where_the_tail_current_flows(rate, hours, amp_hours):
    full = charging.full_charge(rate, Q(hours, "h"))
    found = charging.accepted_current(Q(amp_hours, "Ah"), full, Q(hours, "h"))
    same(found, Q(rate * amp_hours, "A"), "A")


@given(some.floats(100, 5000), some.floats(20, 200), some.floats(0, 15), some.floats(0.5, 1))
@SOME
def test_energy_of_a_charge_time(watt_hours, amps, load, kept):
    hours = charging.time_for_energy(Q(watt_hours, "Wh"), Q(12.8, "V"), Q(amps, "A"), Q(load, "A"), kept)
    into = charging.battery_current(Q(amps, "A"), Q(load, "A"))
    charge = capacity.charge_from_current(into, hours)
    same(floats(energy.energy_from_charge(charge, Q(12.8, "V")), "Wh") * kept, watt_hours)
    share = floats(charge, "Ah") / 1e4
    same(charging.refill_time(Q(1e4, "Ah"), Q(amps, "A"), Q(load, "A"), 0.1, 0.1 + share), hours, "h", rel=1e-6)


@given(some.floats(0.1, 0.5), some.floats(0.5, 20), some.floats(1, 40))
@SOME
def test_fuel_mass_for_energy_and_its_efficiency(efficiency, kilowatt_hours, heat):
    burned = Q(kilowatt_hours * 3.6 / heat / efficiency, "kg")
    used = charging.specific_fuel(burned, Q(kilowatt_hours, "kWh"))
    same(charging.engine_efficiency(used, Q(heat, "MJ/kg")), efficiency)


@given(some.floats(0.2, 10), some.sampled_from("ABCDEFGHJKLMNPRSTU"), some.sampled_from([115.0, 230.0]))
@SOME
def test_code_letter_to_amps_and_back_to_volt_amperes(horsepower, letter, volts):
    each = inverter.code_letter(letter)
    amps = inverter.locked_rotor_current(Q(horsepower, "hp"), each, Q(volts, "V"))
    same(inverter.start_power_from_current(amps, Q(volts, "V")), Q(horsepower * float(each) * 1000, "W"), "W")


@given(some.floats(1, 300), some.floats(0, 1))
@SOME
def test_ripple_and_mean_make_the_rms(amps, share):
    ripple = inverter.ripple_current(Q(amps, "A"), share)
    same(wiring.rms_current(Q(amps, "A"), ripple), inverter.rms_with_ripple(Q(amps, "A"), share), "A")


# ------------------------------------------------------------------ conductors: a table goes back to the next size only


@given(some.floats(0.5, 250), some.floats(1, 40), some.floats(0.02, 2))
@SOME
def test_size_from_drop_and_drop_from_size(amps, feet, volts):
    """The area that a drop asks for lies between two sizes: the larger keeps the drop, the next smaller does not."""
    warm, current, length = Q(50, "degC"), Q(amps, "A"), Q(feet, "ft")
    area = wiring.area_for_drop(current, length, Q(volts, "V"), conductor.copper_resistivity(warm))
    order = sorted(wiring.SIZES, key=lambda size: floats(conductor.area(size), "mm**2"))
    lost = {size: floats(wiring.voltage_drop(
        current, length, conductor.copper_resistance_per_length(conductor.area(size), warm, 1.0)), "V") for size in order}
    enough = [size for size in order if conductor.area(size) >= area]
    for size in order:
        assert (lost[size] <= volts * (1 + 1e-9)) == (size in enough or lost[size] == pytest.approx(volts))
    if enough:
        own = wiring.area_for_drop(current, length, Q(lost[enough[0]], "V"), conductor.copper_resistivity(warm))
        same(own, conductor.area(enough[0]), "mm**2")


@given(some.floats(1, 150), some.sampled_from([0.03, 0.1]))
@FEW
def test_the_longest_run_of_a_size_is_where_the_choice_goes_on_to_the_next(amps, drop):
    run = wiring.Run(Q(amps, "A"), Q(5, "ft"), drop=drop, device="class T fuse")
    usable = [one for one in wiring.reaches(run) if not one.misses and floats(one.longest, "m") > 0.1]
    order = list(wiring.SIZES)
    for reach, larger in zip(usable[:3], usable[1:4]):
        within = wiring.choose(dataclasses.replace(run, length=0.9999 * reach.longest))
        beyond = wiring.choose(dataclasses.replace(run, length=1.0001 * reach.longest))
        assert order.index(within.size) <= order.index(reach.size) < order.index(beyond.size) <= order.index(larger.size)


@given(some.floats(1, 500), some.floats(-40, 100), some.floats(-40, 100))
@SOME
def test_a_resistance_at_another_temperature_and_back(milliohms, one, other):
    """Each coefficient belongs to its own temperature: 0.00393 at 20 °C is 0.00323 at 75 °C."""
    def coefficient(celsius):
        return Q(1 / (1 / 0.00393 + celsius - 20), "1/K")

    at, away = Q(one, "degC"), Q(other, "degC")
    there = conductor.resistance_at(Q(milliohms, "mohm"), away, at, coefficient(one))
    same(conductor.resistance_at(there, at, away, coefficient(other)), Q(milliohms, "mohm"), "mohm")


@given(some.sampled_from(["14", "8", "2", "1/0", "4/0"]), some.floats(1, 100), some.floats(-40, 100))
@SOME
def test_area_from_resistance_and_resistance_from_area(size, feet, celsius):
    warm, length = Q(celsius, "degC"), Q(feet, "ft")
    ohms = conductor.resistance(conductor.copper_resistance_per_length(conductor.area(size), warm, 1.0), length)
    same(conductor.area_for_resistance(length, ohms, conductor.copper_resistivity(warm)), conductor.area(size), "mm**2")
    # The gauge is a formula and its table is rounded: a diameter of four figures gives an area to a part in a thousand.
    solid = conductor.round_area(conductor.wire_diameter(conductor.gauge_number(size)))
    same(solid, conductor.area(size), "mm**2", rel=1e-3)


@given(some.floats(0.1, 300), some.floats(0.01, 10), some.floats(0.1, 200))
@SOME
def test_heat_and_drop_of_a_joint(amps, milliohms, share):
    current, ohms = Q(amps, "A"), Q(milliohms, "mohm")
    drop = work.expected_drop(current, ohms)
    same(wiring.joint_heat(current, ohms), energy.power_from_current(drop, current), "W")
    same(inverter.resistive_power(drop, ohms), wiring.joint_heat(current, ohms), "W")
    marked, full = Q(500, "A"), Q(50, "mV")
    seen = work.shunt_voltage(current, marked, full)
    same(current_by_ohms_law(seen, work.drop_resistance(full, marked)), current, "A")
    rise = work.rise_at(Q(20, "delta_degC"), current, Q(share, "A"))
    same(work.rise_at(rise, Q(share, "A"), current), Q(20, "delta_degC"), "delta_degC")


@given(some.floats(1, 200), some.floats(0.1, 50), some.floats(0.05, 0.99))
@SOME
def test_time_of_a_precharge_and_the_share_it_reaches(ohms, millifarads, share):
    seconds = floats(wiring.precharge_time(Q(ohms, "ohm"), Q(millifarads, "mF"), share), "s")
    same(1 - math.exp(-seconds / (ohms * millifarads / 1000)), share)


# ------------------------------------------------------------------ heat and air


@given(some.floats(-20, 45), some.floats(0.1, 1), some.floats(0, 10_000))
@SOME
def test_the_state_of_air_by_any_measure_of_its_dampness(celsius, share, feet):
    first = air.moist_air(Q(celsius, "degC"), Q(feet, "ft"), relative_humidity=share)
    for by in ({"dew_point": first.dew_point}, {"wet_bulb": first.wet_bulb}):
        again = air.moist_air(Q(celsius, "degC"), Q(feet, "ft"), **by)
        same(again.relative_humidity, share, rel=1e-5)


@given(some.floats(200, 4000), some.floats(70, 105))
@SOME
def test_vapor_pressure_and_dew_point(vapor, kilopascal):
    same(air.saturation_pressure_si(air.dew_point_si(vapor)), vapor, rel=1e-9)
    same(air.vapor_pressure_si(air.humidity_ratio_si(vapor, 1000 * kilopascal), 1000 * kilopascal), vapor)


@given(some.floats(5, 500), some.floats(1, 30), some.floats(0, 10_000), some.floats(-20, 45))
@SOME
def test_a_fan_for_a_rise_carries_the_heat(watts, rise, feet, celsius):
    flow = heating.fan_for_rise(Q(watts, "W"), Q(rise, "delta_degC"), Q(feet, "ft"), Q(celsius, "degC"))
    density = air.dry_air_density(air.standard_pressure(Q(feet, "ft")), Q(celsius, "degC"))
    same(air.sensible_heat(flow, density, Q(rise, "delta_degC")), Q(watts, "W"), "W")


@given(some.floats(0.1, 5), some.floats(1, 60), some.floats(1, 300), some.floats(0.2, 4))
@SOME
def test_heat_of_a_wall_and_of_its_heater(resistance, rise, watts, surface):
    heat_loss = heating.wall_heat_loss(Q(resistance, "m**2*K/W"))
    box = heating.box_conductance(heat_loss, Q(surface, "m**2"), 0.0)
    lost = heating.steady_loss(box, Q(rise, "delta_degC"))
    same(floats(lost, "W") * resistance / surface, rise)
    heater = Q(watts, "W") + lost
    same(heating.heater_duty(lost, heater) * heater, lost, "W")
    same(heating.heat_over_hours(box, Q(rise, "delta_degC"), Q(10, "h")), energy.load_energy(lost, Q(10, "h")), "Wh")


@given(some.floats(20, 300), some.floats(1, 40))
@SOME
def test_heat_into_a_bank_and_its_rise(pounds, rise):
    stored = heating.stored_heat(Q(pounds, "lb"), Q(1000, "J/(kg*K)"))
    heat = cycle_life.warm_up_energy(Q(pounds, "lb"), Q(1000, "J/(kg*K)"), Q(rise, "delta_degC"))
    same(floats(heat, "J") / floats(stored, "J/K"), rise)


# ------------------------------------------------------------------ sun, weight, measurements, units


@given(some.floats(25, 60), some.integers(1, 365), some.floats(7, 17))
@FEW
def test_tilt_from_the_sun_and_the_sun_square_to_it(latitude, day, hour):
    """A plane as steep as the sun is low, and turned to it, has the sun square to it; any other less."""
    declination, turn = weather.declination(day), Q(15 * (hour - 12), "deg")
    place = Q(latitude, "deg"), declination, turn
    height = weather.incidence_cosine(*place, Q(0, "deg"), Q(0, "deg"))
    if height < 0.05:
        return
    d, h, f = (math.radians(floats(one, "deg")) for one in (declination, turn, place[0]))
    toward = math.degrees(math.atan2(math.cos(d) * math.sin(h), math.sin(f) * math.cos(d) * math.cos(h) - math.cos(f) * math.sin(d)))
    tilt = math.degrees(math.acos(height))
    same(weather.incidence_cosine(*place, Q(tilt, "deg"), Q(toward, "deg")), 1.0)
    for other in (tilt + 10, tilt - 10):
        if 0 < other < 90:
            found = weather.incidence_cosine(*place, Q(other, "deg"), Q(toward, "deg"))
            same(found, math.cos(math.radians(10)))


@given(some.floats(-60, 60), some.integers(1, 365))
@SOME
def test_at_sunset_the_sun_is_on_the_horizon(latitude, day):
    declination = weather.declination(day)
    angle = weather.sunset_hour_angle(Q(latitude, "deg"), declination)
    level = weather.incidence_cosine(Q(latitude, "deg"), declination, angle, Q(0, "deg"), Q(0, "deg"))
    same(level, 0.0, abs=1e-9)
    same(weather.daylight_hours(angle), angle / Q(7.5, "deg/h"), "h")


@given(some.floats(25, 48), some.floats(-125, -65), some.integers(0, 364))
@settings(max_examples=5, deadline=None)
def test_at_sunrise_and_sunset_the_sun_stands_there(latitude, longitude, day):
    """Sunrise is an upper limb on the horizon: the middle 50' below it, of which 34' are refraction."""
    date = datetime.date(2015, 1, 1) + datetime.timedelta(days=day)
    offset = round(longitude / 15)
    found = weather.daylight(date.isoformat(), Q(latitude, "deg"), Q(longitude, "deg"), offset)
    zone = datetime.timezone(datetime.timedelta(hours=offset))
    for hours in (found.sunrise, found.sunset):
        moment = datetime.datetime(date.year, date.month, date.day, tzinfo=zone) + datetime.timedelta(hours=floats(hours, "h"))
        at = weather.sun_position(moment.isoformat(), Q(latitude, "deg"), Q(longitude, "deg"))
        same(at.true_elevation, Q(-50 / 60, "deg"), "deg", abs=0.003)


@given(some.floats(0.001, 0.2))
@FEW
def test_hours_above_an_exceeded_temperature(share):
    """A year has 8760 hours: the count is right to the next hour, and to hours of the same tenth of a degree."""
    air_of_year = weather.year("Denver").temperature
    level = floats(weather.temperature_exceeded("Denver", share), "degC")
    assert (air_of_year > level + 1e-9).mean() <= share + 1 / 8760 and (air_of_year >= level - 0.11).mean() >= share - 1 / 8760


@given(some.floats(2000, 15_000), some.floats(0.08, 0.5), some.floats(8, 25), some.floats(10, 300))
@SOME
def test_where_the_mass_sits_and_what_it_puts_on_the_front(pounds, share, feet, added):
    whole, span = Q(pounds, "lb"), Q(feet, "ft")
    ahead = design.center_of_mass(share * whole, whole, span)
    front = design.front_change(whole, ahead, span)
    same(front, share * whole, "lb")
    same(design.front_share(front, whole), share)
    same(design.rear_change(whole, ahead, span) + front, whole, "lb")
    same(design.room_left(whole + Q(added, "lb"), whole), Q(added, "lb"), "lb", rel=1e-7)


@given(some.integers(0, 287), some.integers(1, 287))
@SOME
def test_a_window_and_the_hours_it_covers(start, length):
    end = (start + length) % 288
    clock = lambda step: f"{step // 12:02}:{step % 12 * 5:02}"  # noqa: E731
    window = [f"{clock(start)}-{clock(end)}"]
    assert profile.window_hours(window) == pytest.approx(length / 12)
    assert profile.covered_share(window).sum() / 12 == pytest.approx(length / 12)
    same(convert(convert(Q(length, "ft"), "m"), "ft"), Q(length, "ft"), "ft")
