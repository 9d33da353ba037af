"""The main path a second time: the main demo coach from its loads to its wire schedule, by other ways.

Everything here starts from the text of the coach file, read with tomllib, and from the published tables, read with csv: none of
it passes through the library's readers. The sums are written out, or left to packages that share nothing with ours: lcapy (the
network), pvlib's own ModelChain (sun), psychrolib and ht (air, films), scipy's ODE solver (heat, state of charge).

Each test says how near the two must come, and where our method differs on purpose, why.
"""
import csv
import dataclasses
import datetime
import math
import re
import tomllib
from pathlib import Path

import numpy
import pytest

from coachwork import capacity, coach, energy, heating, sun, whole_system, wiring
from coachwork.quantities import Q, floats

ROOT = Path(__file__).parents[1]
TEXT = tomllib.loads(coach.main_demo().read_text(encoding="utf-8"))
OURS = coach.read(coach.main_demo())

UNITS = {
    "W": 1, "VA": 1, "V": 1, "A": 1, "mA": 1e-3, "Ah": 3600, "h": 3600, "s": 1, "ft": 0.3048, "in": 0.0254, "mm": 1e-3,
    "ft2": 0.3048**2, "in2": 0.0254**2, "ft3": 0.3048**3, "lb": 0.45359237, "mohm": 1e-3, "ohm": 1, "%": 0.01, "%/K": 0.01,
    "deg": 1, "cfm": 0.3048**3 / 60,
}  # fmt: skip


def si(text):
    """A number, or text such as "85 W", in SI units; temperatures in degrees Celsius."""
    if not isinstance(text, str):
        return float(text)
    number, _, unit = text.partition(" ")
    if unit == "degF":
        return (float(number) - 32) / 1.8
    return float(number) if unit == "degC" else float(number) * UNITS[unit]


def rows(name):
    """Rows of a published table."""
    lines = [line for line in (ROOT / "data/tables" / f"{name}.csv").read_text(encoding="utf-8").splitlines()
             if line and not line.startswith("#")]  # fmt: skip
    return list(csv.DictReader(lines))


def covered(windows, minute):
    """Whether a minute of the day lies in any of the clock windows."""
    for window in windows:
        start, end = (60 * int(clock[:2]) + int(clock[3:]) for clock in window.split("-"))
        if start <= minute < end or start > end and not end <= minute < start:
            return True
    return False


# ------------------------------------------------------------------ loads, by the minute and by plain sums


def minutes_of(season):
    """(watts on the DC side, watts on the AC side, whether the inverter is on), each for 1440 minutes."""
    on = [covered(TEXT["inverter"]["on"], minute) for minute in range(1440)]
    dc, ac = [0.0] * 1440, [0.0] * 1440
    for load in TEXT["loads"]:
        if season not in load.get("seasons", [season]):
            continue
        each = si(load["power"]) if "power" in load else si(load["current"]) * si(load["voltage"])
        count, duty, rest = load.get("count", 1), si(load.get("duty", 1)), si(load.get("standby", 0))
        side, may = (ac, on) if load["side"] == "ac" else (dc, [True] * 1440)
        for minute in range(1440):
            if "windows" in load:
                runs = float(covered(load["windows"], minute) and may[minute])
            else:
                runs = si(load["hours"]) / 60 / sum(may) * may[minute]
            side[minute] += count * (runs * each * duty + (may[minute] - runs) * rest)
    return dc, ac, on


def inverter_watts(watts):
    """What the inverter takes: straight lines between the losses of its data sheet. Ours is one smooth curve through them."""
    sheet = TEXT["inverter"]
    points = [(0.0, si(sheet["idle"]))] + [(si(p["power"]), si(p["power"]) * (1 / si(p["efficiency"]) - 1))
                                           for p in sheet["efficiency"]]  # fmt: skip
    return watts + float(numpy.interp(watts, *zip(*points)))


def day_energy(season):
    """Wh of a day at the battery."""
    dc, ac, on = minutes_of(season)
    wired = sum(dc) / (1 - si(TEXT["energy"]["wiring_loss"]))
    return (wired + sum(inverter_watts(watts) if runs else 0.0 for watts, runs in zip(ac, on))) / 60


@pytest.mark.parametrize("season", ["summer", "winter"])
def test_loads_by_plain_sums(season):
    """Loads to the last digit; with the inverter 1 %, for a data sheet of three points leaves that much open between them."""
    dc, ac, _ = minutes_of(season)
    day = energy.study(OURS).days[season]
    assert sum(values.sum() for values in day.loads.values()) / 12 == pytest.approx((sum(dc) + sum(ac)) / 60, rel=1e-12)
    assert floats(day.energy, "Wh") == pytest.approx(day_energy(season), rel=0.01)


def test_bank_by_the_factors():
    """A part in a hundred, which is what the inverter's curve brings along; the factors themselves are the same arithmetic."""
    bank = TEXT["capacity"]
    need = day_energy(TEXT["energy"]["design_season"]) * bank["days"] * (1 + si(TEXT["energy"]["margin"]))
    cold = rows("lithium_cold")
    share = numpy.interp(si(bank["coldest"]) * 1.8 + 32, [float(r["temperature [degF]"]) for r in cold],
                         [float(r["share []"]) for r in cold])  # fmt: skip
    label = need / si(bank["depth"]) / si(bank["end_of_life"]) / share
    built = bank["parallel"] * bank["series"] * si(bank["module"]["voltage"]) * si(bank["module"]["charge"]) / 3600
    found = capacity.study(OURS)
    assert floats(found.label_needed, "Wh") == pytest.approx(label, rel=0.01)
    assert floats(found.arrangement.energy, "Wh") == pytest.approx(built, rel=1e-12) and built > label


# ------------------------------------------------------------------ the network


def copper(size, length, celsius, share=1.0):
    """Ohms of copper: IACS resistivity over the area that the gauge's formula gives (ASTM B258), one way."""
    number = 1 - int(size.split("/")[0]) if "/" in size else int(size)
    area = math.pi / 4 * (0.005 * 92 ** ((36 - number) / 39) * 0.0254) ** 2
    return 1.7241e-8 * (1 + 0.00393 * (celsius - 20)) * length / (area * share)


def awg(text):
    return text.removesuffix(" AWG")


def netlist(volts, inside, lead, load):
    """The bank of the coach for lcapy: strings side by side, taken off at opposite ends."""
    count, lines = TEXT["capacity"]["parallel"], []
    for place in range(1, count + 1):
        lines += [f"V{place} {place}0 {place}2 {volts}", f"Ri{place} {place}0 {place}1 {inside}"]
    for place in range(1, count):
        lines += [f"Rp{place} {place}1 {place + 1}1 {lead}", f"Rm{place} {place}2 {place + 1}2 {lead}"]
    return "\n".join([*lines, f"Wg {count}2 0", load.format(plus="11")])


@pytest.fixture(scope="module")
def lead():
    """Ohms of one lead between two modules: 3/0 copper at 50 °C and a joint at each end."""
    bank = TEXT["capacity"]
    return copper(awg(bank["lead_size"]), si(bank["lead_length"]), 50.0) + 2 * si(bank["joint_resistance"])


def test_sharing_and_voltage_by_lcapy(lead):
    """1 % of a string's current and 1 mV a module: the leads' copper comes here from the gauge formula, there from the table."""
    import lcapy

    assert TEXT["capacity"]["take_off"] == "diagonal" and TEXT["capacity"]["series"] == 1
    table = rows("open_circuit_lithium")
    cell = numpy.interp(0.5, [float(r["charge_level []"]) for r in table], [float(r["cell_voltage [V]"]) for r in table])
    module, amps = TEXT["capacity"]["module"], 235.0
    circuit = lcapy.Circuit(netlist(cell * module["cells"], si(module["resistance"]), lead, f"I1 0 {{plus}} {amps}"))
    # lcapy counts a source's current out of its first node (SPICE does the opposite)
    found = capacity.arrangement(OURS).share(0.5, bank_current=Q(amps, "A"))
    strings = [abs(float(circuit[f"Ri{place}"].I.dc.evaluate())) for place in range(1, TEXT["capacity"]["parallel"] + 1)]
    assert sum(strings) == pytest.approx(amps, rel=1e-9)
    assert [floats(one, "A") for one in found.currents] == pytest.approx(strings, rel=0.01)
    assert floats(found.voltage, "V") == pytest.approx(float(circuit[11].V.dc.evaluate()), abs=0.001)


def test_largest_fault_by_lcapy(lead):
    """2 %: a short at the bank's take-off and one at the inverter. All modules full, at 60 % of their stated resistance.

    That share, and that chargers add their current, are the workbook's own assumptions; the rest is Ohm's law.
    """
    import lcapy

    module, study = TEXT["capacity"]["module"], wiring.study(OURS)
    short = lcapy.Circuit(netlist(si(module["charge_voltage"]), 0.6 * si(module["resistance"]), lead, "R1 {plus} 0 1e-9"))
    amps = abs(float(short["R1"].I.dc.evaluate()))
    feeding = [one for one in TEXT["circuits"] if one["purpose"] in ("charger", "array") and one["to"] == "positive bus"]
    chargers = sum(si(one["current"]) for one in feeding)
    assert floats(study.highest.into(Q(0.0, "ohm")), "A") == pytest.approx(amps + chargers, rel=0.02)
    main = next(one for one in TEXT["circuits"] if one["purpose"] == "bank")
    path = 2 * copper(awg(main["size"]), si(main["length"]), -17.8, main["per_pole"])
    at_bus = lcapy.Circuit(netlist(si(module["charge_voltage"]), 0.6 * si(module["resistance"]), lead, f"R1 {{plus}} 0 {path}"))
    # BC-5W2 is boat cable of full AWG area, so the formula's copper is the cable's.
    assert floats(study.row("Inverter feed").fault_most, "A") == pytest.approx(
        abs(float(at_bus["R1"].I.dc.evaluate())) + chargers, rel=0.02)  # fmt: skip


# ------------------------------------------------------------------ sun


@pytest.fixture(scope="module")
def weather_file():
    """The year of Denver as pvlib's chain wants it: the middle of each hour, local standard time."""
    import pandas

    text = (ROOT / "data/weather/denver.csv").read_text(encoding="utf-8").splitlines()
    head = {key.strip("# "): value.strip() for key, _, value in (line.partition(":") for line in text if line.startswith("#"))}
    table = list(csv.DictReader(line for line in text if not line.startswith("#")))
    zone = datetime.timezone(datetime.timedelta(hours=float(head["utc offset"])))
    index = pandas.date_range(datetime.datetime(2001, 1, 1, 0, 30, tzinfo=zone), periods=8760, freq="h")
    columns = {"ghi": "ghi", "dni": "dni", "dhi": "dhi", "temp_air": "temperature", "wind_speed": "wind"}
    data = pandas.DataFrame({name: [float(row[own]) for row in table] for name, own in columns.items()}, index=index)
    return head, data


def test_sun_by_pvlibs_own_chain(weather_file):
    """3 % of the year, 4 % of any month that brings a tenth of it.

    On purpose ours differs twice: a level plane takes the file's own level sun instead of putting it together again from beam
    and sky, and the glass throws back light of the sky too, which the chain lets through whole.
    """
    from pvlib.location import Location
    from pvlib.modelchain import ModelChain
    from pvlib.pvsystem import Array, FixedMount, PVSystem

    head, data = weather_file
    plan, module = TEXT["sun"], TEXT["sun"]["module"]
    assert plan["mounting"] == "close to the roof, glass both sides"
    watts = si(module["power"]) * plan["series"] * plan["parallel"]
    array = Array(
        FixedMount(surface_tilt=si(plan["tilt"]), surface_azimuth=si(plan["azimuth"])),
        module_parameters={"pdc0": watts, "gamma_pdc": si(module["power_coefficient"])},
        temperature_model_parameters={"a": -2.98, "b": -0.0471, "deltaT": 1},
    )
    place = Location(float(head["latitude"]), float(head["longitude"]), altitude=float(head["altitude"]))
    chain = ModelChain(PVSystem([array], inverter_parameters={"pdc0": 10 * watts}), place, dc_model="pvwatts", ac_model="pvwatts",
                       aoi_model="physical", spectral_model="no_loss", temperature_model="sapm", losses_model="no_loss")  # fmt: skip
    chain.run_model(data)
    kept = 1.0
    for row in rows("pv_losses"):
        kept *= 1 - (si(plan["soiling"]) if row["loss"] == "soiling" else float(row["for a coach [%]"]) / 100)
    theirs = numpy.nan_to_num(chain.results.dc.to_numpy()) * kept
    found = sun.study(OURS)
    ours = sun.output(dataclasses.replace(found.array, obstacles=()), found.year, Q(13.4, "V")).array
    assert ours.sum() == pytest.approx(theirs.sum(), rel=0.03)
    for month in range(1, 13):
        within = data.index.month == month
        if theirs[within].sum() > 0.1 * theirs.sum():
            assert ours[within].sum() == pytest.approx(theirs[within].sum(), rel=0.04)
    # The controller by hand: its share, and no more than its amps.
    most, volts = si(plan["controller"]["output_current"]), 13.4
    passed = numpy.minimum(ours * si(plan["controller"]["efficiency"]), most * volts)
    assert sun.output(dataclasses.replace(found.array, obstacles=()), found.year, Q(volts, "V")).bank.sum() == pytest.approx(
        passed.sum(), rel=1e-9)  # fmt: skip


# ------------------------------------------------------------------ heat


def test_films_by_correlations_of_ht():
    """A quarter: the handbook's films are single values for a range of walls, and the correlations for plates differ as much.

    Still air on the inside of a wall 14 in high, 5 K warmer than it; 15 mph of wind along the outside of a 28 in box, turbulent
    from its edge on. A smooth laminar stream would take half as much; the handbook means gusts on a rough wall.
    """
    import ht

    temperature, conductivity, viscosity, prandtl = 283.15, 0.0249, 1.42e-5, 0.71  # dry air at 10 °C (Incropera, Table A.4)
    height, length, wind = si(TEXT["heating"]["height"]), si(TEXT["heating"]["length"]), 15 * 0.44704
    grashof = 9.81 / temperature * 5 * height**3 / viscosity**2
    radiated = 0.9 * 4 * 5.670374e-8 * temperature**3
    still = ht.Nu_free_vertical_plate(prandtl, grashof) * conductivity / height + radiated
    moving = ht.Nu_horizontal_plate_turbulent_Schlichting(wind * length / viscosity, prandtl) * conductivity / length + radiated
    films = {row["surface"]: float(row["US print [ft2 degF/Btuh]"]) * 0.1761 for row in rows("surface_films")
             if row["US print [ft2 degF/Btuh]"]}  # fmt: skip
    assert 1 / still == pytest.approx(films["inside, wall"], rel=0.25)
    assert 1 / moving == pytest.approx(films["outside, winter"], rel=0.25)


@pytest.fixture(scope="module")
def box():
    """The battery box from its measures: (walls W/K, air and half the walls J/K, cells J/K, cells to air W/K)."""
    plan, bank, air = TEXT["heating"], TEXT["capacity"], {}
    long, wide, high = (si(plan[name]) for name in ("length", "width", "height"))
    solids = {row["material"]: row for row in rows("shell_materials")}
    films = {row["surface"]: float(row["US print [ft2 degF/Btuh]"] or 0) * 0.1761 for row in rows("surface_films")}
    layers = [(si(one["thickness"]), solids[one["material"]]) for one in plan["layers"]]
    resists = sum(thick / float(row["conductivity [W/(m K)]"]) for thick, row in layers) + films["outside, winter"]
    walls = sum(area / (resists + films[film]) for area, film in (
        (long * wide, "inside, heat going up"), (2 * (long + wide) * high, "inside, wall"),
        (long * wide, "inside, heat going down")))  # fmt: skip
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    air = psychrolib.GetDryAirDensity(0.0, psychrolib.GetStandardAtmPressure(1650.0))
    modules = bank["series"] * bank["parallel"]
    solid = si(bank["module"]["volume"]) * modules
    half = sum(thick * float(row["density [kg/m3]"]) * float(row["specific heat [J/(kg K)]"]) for thick, row in layers) / 2
    area = 2 * (long * wide + (long + wide) * high)
    return (walls * (1 + si(plan["bridges"])), (long * wide * high - solid) * air * 1006 + area * half,
            si(bank["module"]["mass"]) * modules * 1000.0, 6 * solid ** (2 / 3) / films["inside, wall"])  # fmt: skip


def test_the_box_by_its_measures_and_psychrolib(box):
    """A thousandth: the air's density by psychrolib, the rest by the sums of ISO 6946."""
    ours = heating.box_of(OURS)
    assert (ours.walls, ours.air_heat, ours.cell_heat, ours.cells_to_air) == pytest.approx(box, rel=1e-3)


def test_the_coldest_night_by_scipys_solver(box):
    """Heater energy 2 %, coldest cells 0.1 K: ours looks at its thermostat once a minute, the solver finds the moment."""
    from scipy.integrate import solve_ivp

    walls, air, cells, between = box
    plan, coldest = TEXT["heating"], si(TEXT["place"]["coldest"])
    on, off, power, swing = si(plan["heater_on"]), si(plan["heater_off"]), si(plan["heater"]), floats(heating.WINTER_RANGE, "K")
    strings, mean = TEXT["capacity"]["parallel"], day_energy("winter") / 24 / 12.8
    own = mean**2 * si(TEXT["capacity"]["module"]["resistance"]) / strings

    def outside(seconds):
        since = (15 + seconds / 3600 - 6) % 24
        phase = since / 9 if since < 9 else 1 + (since - 9) / 15
        return coldest + swing / 2 * (1 - math.cos(math.pi * phase))

    at, state, runs, lowest, burned = 0.0, [max(on, coldest + swing)] * 2, False, math.inf, 0.0
    while at < 86400:
        watts = power if runs else 0.0
        to_air, to_cells = (0.0, watts) if plan["heater_kind"] == "on the modules" else (watts, 0.0)

        def change(t, y):
            return [(walls * (outside(t) - y[0]) + between * (y[1] - y[0]) + to_air) / air,
                    (between * (y[0] - y[1]) + to_cells + own) / cells]  # fmt: skip

        def switches(t, y):
            return y[1] - (off if runs else on)

        switches.terminal, switches.direction = True, 1 if runs else -1
        part = solve_ivp(change, (at, 86400), state, events=switches, rtol=1e-8, max_step=600)
        lowest, burned = min(lowest, part.y[1].min()), burned + watts * (part.t[-1] - at) / 3600
        at, state, runs = part.t[-1], part.y[:, -1], not runs
    night = heating.night_of(OURS)
    assert floats(night.energy, "Wh") == pytest.approx(burned, rel=0.02) and burned > 50
    assert floats(night.lowest, "degC") == pytest.approx(lowest, abs=0.1)


# ------------------------------------------------------------------ the whole system


@pytest.mark.parametrize("first, start", [("01-06", 0.95), ("03-10", 0.5), ("10-01", 0.7)])
def test_two_days_of_the_bank_by_scipys_solver(first, start):
    """Half a percent of the full bank at every hour: ours takes an hour's flows as steady, the solver follows them.

    What comes from outside (loads, sun) is ours, for it is tested above; how the bank moves between them is the solver's. No air
    conditioner in these days, and the generator left at home.
    """
    from scipy.integrate import solve_ivp

    series = whole_system.series_of(OURS)
    system = dataclasses.replace(whole_system.system_of(OURS), generator=0.0, start=0.0, stop=0.0)
    day = whole_system.day_number(first)
    part = slice(24 * day, 24 * day + 48)
    two = dataclasses.replace(series, **{field.name: getattr(series, field.name)[part] for field in dataclasses.fields(series)
                                         if isinstance(getattr(series, field.name), numpy.ndarray)})  # fmt: skip
    assert two.away.all()
    two = dataclasses.replace(two, cooling=numpy.zeros(48))
    found = whole_system.run(two, system, start)
    leak = -math.log(1 - system.leak)

    def change(t, y):
        spare = offered - load
        if spare > 0:
            return [min(spare, most, max(0.0, system.full - y[0]) / system.acceptance) * system.stored_share - leak * y[0]]
        return [max(spare, -system.discharge_limit) * (y[0] > system.floor) - leak * y[0]]

    level, levels = start * system.full, []
    for hour in range(48):
        offered = two.sun[hour] * system.array + two.engine[hour] + two.shore[hour]
        load, most = two.load[hour], two.share[hour] * system.charge_limit
        level = solve_ivp(change, (0, 1), [level], rtol=1e-8, atol=1e-3, max_step=0.05).y[0, -1]
        levels.append(level / system.full)
    assert found.state_of_charge == pytest.approx(numpy.array(levels), abs=0.005)
    assert numpy.ptp(levels) > 0.1


# ------------------------------------------------------------------ the wire schedule


CIRCUITS = [one for one in TEXT["circuits"] if one.get("existing") != "remove" and "size" in one]
AMBIENT = si(TEXT["wiring"]["ambient"])
STANDS = {row["type"]: float(row["dry [degC]"]) for row in rows("insulations")}
SAE = ("GPT", "GXL", "SXL", "TXL", "SGT", "SGX")


def printed(table, size, celsius):
    """Ampacity that a table prints for a size, in the column of the insulation; None where it has no such row."""
    columns = [int(key.split()[0]) for key in rows(table)[0] if key.endswith("[A]")]
    column = max(one for one in columns if one <= celsius)
    return next((float(row[f"{column} degC [A]"]) for row in rows(table) if row["size"] == size), None), column


@pytest.mark.parametrize("circuit", CIRCUITS, ids=[one["name"] for one in CIRCUITS])
def test_the_wire_schedule_by_the_formulas_of_the_code(circuit):
    """Ampacity 3 %: NEC 310.15(B)(2) as a formula, where ours reads bands of the printed table, which is rounded.

    Drop 3 %: VD = 2 K I L / cmil with K of copper at the conductor's temperature, plus joints and fuse; NEC Chapter 9 Table 8
    prints stranded copper 1 to 2 % above the standard's. Primary cable by SAE has less copper than AWG: there its own table.
    """
    row, size, marking = wiring.study(OURS).row(circuit["name"]), awg(circuit["size"]), circuit.get("insulation")
    table = "cfr_33_183_425_table_5" if circuit.get("rule") == "33 CFR 183.425" else "nec_310_16"
    per_pole, amps = circuit.get("per_pole", 1), math.hypot(si(circuit.get("limit", circuit["current"])), si(circuit.get("ripple", 0)))
    area = {r["size"]: float(r["area [cmil]"]) for r in rows("sae_cable")} if marking in SAE else {}
    number = 1 - int(size.split("/")[0]) if "/" in size else int(size)
    full = 25 * 92 ** ((36 - number) / 19.5)  # circular mils: the square of the diameter in mils
    base, column = printed(table, size, STANDS[marking])
    usable = floats(row.ampacity, "A")
    caps = {"16": 10, "14": 15, "12": 20, "10": 30} if table == "nec_310_16" else {}  # NEC 240.4(D)
    if base is not None:
        factor = math.sqrt((STANDS[marking] - AMBIENT) / (STANDS[marking] - 30)) if AMBIENT > 30 else 1.0
        more = per_pole * 2
        if per_pole > 1 and table != "nec_310_16":  # four conductors side by side: 33 CFR 183.425 note 2
            factor *= next(float(r["factor []"]) for r in rows("cfr_33_183_425_note_2")
                           if int(r["from []"]) <= more <= int(r["to []"] or 99))  # fmt: skip
        if marking in SAE:
            factor *= (area[size] / full) ** 0.75  # ours: less copper carries less
        may = base * factor * per_pole
        terminal = printed(table, size, min(75, STANDS[marking]))[0] * per_pole
        assert usable == pytest.approx(min(may, terminal, caps.get(size, math.inf)), rel=0.03)
        hot = AMBIENT + (column - AMBIENT) * (amps / may) ** 2
        assert floats(row.temperature, "degC") == pytest.approx(hot, abs=2.0)
    assert usable >= 1.25 * amps or circuit["purpose"] == "chassis return"
    if "fuse" in circuit:
        assert 1.25 * amps <= si(circuit["fuse"]) <= usable * 1.0001
    devices = {one["name"]: one for one in tomllib.loads((ROOT / "data/equipment/fuses.toml").read_text())["family"]}
    fuse = si(devices[circuit["device"]]["drop"]) / si(circuit["fuse"]) if "fuse" in circuit else 0.0
    celsius = floats(row.temperature, "degC")
    k = 10.371 * (1 + 0.00393 * (celsius - 20))  # ohm circular mil / ft
    feet, flowing = si(circuit["length"]) / 0.3048, si(circuit.get("limit", circuit["current"]))
    joint = 1e-4 if number <= 8 else 1e-3
    back = 1 if circuit.get("returns") == "chassis" else 2
    ohms = back * k * feet / (area.get(size, full) * per_pole) + 4 * joint / per_pole + fuse + 0.003 * (back == 1)
    assert floats(row.drop, "V") == pytest.approx(flowing * ohms, rel=0.03)
