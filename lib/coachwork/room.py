"""Room: a closed space as a network of heat, hour by hour: air, the surfaces round it and the layers behind them.

It is linear, so that its matrices are made once, an hour is one product, and a gain can be followed by itself. Films are
constant, at the year's mean wind. Outside the functions that take quantities everything is °C, W, m, s, kg.
"""

import dataclasses
import functools
import math

import numpy

from coachwork import air, weather
from coachwork.quantities import Fraction, HeatTransfer, InputError, Quantity, floats
from coachwork.sources import table

HOUR = 3600.0
PI = math.pi
RADIANT = 0.6  # share of a person's and a device's heat that is radiation (ASHRAE 140 for its gains)
INSIDE = {"up": 5.0, "level": 2.5, "down": 0.7}  # convection, W/(m2 K), by the way heat goes: ISO 6946 (from memory)
INDOORS = 296.15  # K, at which radiation inside is made linear
EYE_HEIGHT, WIND_HEIGHT, WIND_POWER = 1.5, 10.0, 0.14  # m; open country (ASHRAE Fundamentals ch. 24, from memory)


# ------------------------------------------------------------------------------- glass


@dataclasses.dataclass(frozen=True)
class Glass:
    """A window's glass. panes : 1 or 2. transmittance, reflectance : of the sun, of one pane, straight on. gap : m.

    emissivity : of its faces, for heat radiation.
    """

    panes: int
    transmittance: float
    reflectance: float
    gap: float = 0.012
    emissivity: float = 0.84


GLASSES = {"single clear": Glass(1, 0.834, 0.075), "double clear": Glass(2, 0.834, 0.075),
           "single dark": Glass(1, 0.46, 0.055), "acrylic, double": Glass(2, 0.85, 0.07)}  # fmt: skip


@functools.lru_cache(maxsize=16)
def _angles(glass):
    """By incidence angle from 0 to 90° in whole degrees, and last the mean over a hemisphere: shares of the sun that pass,
    that the outer and the inner pane take in, and that are thrown back; shape (4, 92)."""
    from scipy.optimize import brentq

    tau, rho = glass.transmittance, glass.reflectance

    def inner(r):
        return (rho / r - 1) / tau  # share that survives one way through the sheet

    def gap(r):
        a = inner(r)
        return (1 - r) ** 2 * a / (1 - r * r * a * a) - tau

    surface = brentq(gap, rho / (1 + tau), rho * 0.999)
    index, survives = (1 + math.sqrt(surface)) / (1 - math.sqrt(surface)), inner(surface)
    theta = numpy.radians(numpy.clip(numpy.arange(91), 1e-3, 89.999))
    bent = numpy.arcsin(numpy.sin(theta) / index)
    passes = survives ** (1 / numpy.cos(bent))
    found = 0
    for r in ((numpy.sin(theta - bent) / numpy.sin(theta + bent)) ** 2, (numpy.tan(theta - bent) / numpy.tan(theta + bent)) ** 2):
        t = (1 - r) ** 2 * passes / (1 - (r * passes) ** 2)
        back = r * (1 + passes * t)
        taken = 1 - t - back
        if glass.panes == 1:
            one = numpy.array([t, taken / 2, taken / 2, back])
        else:
            many = 1 - back**2
            one = numpy.array([t * t / many, taken * (1 + t * back / many), taken * t / many, back + t * t * back / many])
        found = found + one / 2
    weights = numpy.sin(2 * theta)
    diffuse = (found * weights).sum(axis=1) / weights.sum()
    return numpy.column_stack([found, diffuse])


def _gap_conductance(glass):
    """W/(m2 K) across the air between two panes: conduction of still air, and radiation, both at 10 °C."""
    return 0.0248 / glass.gap + 4 * weather.STEFAN_BOLTZMANN.magnitude * 283.15**3 / (2 / glass.emissivity - 1)


def _glass_named(glass):
    if glass not in GLASSES:
        raise InputError("glass", f'"{glass}" is given', "one of " + ", ".join(GLASSES), '"double clear"')
    return GLASSES[glass]


def _glass_resists(glass):
    """m2 K/W of the film outside, of the gap, and of the film inside."""
    return 0.04, 1 / _gap_conductance(glass) if glass.panes == 2 else 0.0, 0.13


def heat_transfer_of_glass(glass: str) -> HeatTransfer:
    """U-value of glass without its frame.

    Parameters
    ----------
    glass : a row of `GLASSES`

    With ISO 6946 films; the panes themselves resist next to nothing. Source: ISO 6946.
    """
    return Quantity(1 / sum(_glass_resists(_glass_named(glass))), "W/m**2/K")


def solar_gain_of_glass(glass: str, incidence: str = "0") -> Fraction:
    """Solar heat gain coefficient of glass: the light that passes, and the share of the warmed panes' heat that goes in.

    Parameters
    ----------
    glass : a row of `GLASSES`
    incidence : of the sun from straight on, whole degrees as text, or "all round" for light of the sky

    With ISO 6946 films. Source: Fresnel's laws; ASHRAE Fundamentals ch. 15.
    """
    one, at = _glass_named(glass), 91 if incidence == "all round" else int(incidence)
    passes, outer, inner, _ = _angles(one)[:, at]
    outside, between, inside = _glass_resists(one)
    whole = outside + between + inside
    return float(passes + outer * outside / whole + inner * (outside + between) / whole)


# ------------------------------------------------------------------------------- the shell


@dataclasses.dataclass(frozen=True)
class Layer:
    """A layer of a wall: m, W/(m K), kg/m3, J/(kg K)."""

    thickness: float
    conductivity: float
    density: float
    specific_heat: float


@dataclasses.dataclass(frozen=True)
class Face:
    """An opaque part of the shell. area : m2. tilt, azimuth : degrees. layers : from outside to inside.

    absorptivity : of its outside for sun. outside : "air" (sun, sky and wind), "shade" (outdoor air only) or "ground" (a
    steady temperature).
    """

    name: str
    area: float
    tilt: float
    azimuth: float
    layers: tuple
    absorptivity: float
    outside: str = "air"


@dataclasses.dataclass(frozen=True)
class Opening:
    """A window. area : m2. azimuth : degrees. height, width : m, for the shades. overhang : depth of an awning above it and
    above : its height over the glass, fins : depth of what stands on both sides, m. cover : share of sun let through while
    the cover is on, which throws the rest back; outside : it hangs in front of the glass; resists : what it adds, m2 K/W.
    """

    name: str
    area: float
    azimuth: float
    glass: Glass
    tilt: float = 90.0
    height: float = 1.0
    width: float = 1.0
    overhang: float = 0.0
    above: float = 0.0
    fins: float = 0.0
    cover: float = 1.0
    resists: float = 0.0
    outside: bool = False


@dataclasses.dataclass(frozen=True)
class Shell:
    """The space that is cooled. volume : m3. faces, openings : as above. furnishing : J/K. ground : °C under a floor that
    stands on it. altitude : m. wind : m/s, mean of the year at 10 m. air_temperature : mean, K, for radiation outside.
    inner_absorptivity : of inside surfaces for sun.
    """

    volume: float
    faces: tuple
    openings: tuple
    furnishing: float = 0.0
    ground: float = 10.0
    altitude: float = 0.0
    wind: float = 4.0
    outdoors: float = 283.15
    inner_absorptivity: float = 0.6

    @property
    def density(self):
        """Of its air, kg/m3, at 20 °C and the altitude's pressure."""
        return density(20.0, self.altitude)


@functools.lru_cache(maxsize=64)
def density(celsius, altitude):
    """Of dry air, kg/m3, at °C and the pressure of an altitude in m. Source: air.density_si."""
    return float(air.density_si(celsius, 0.0, floats(air.standard_pressure(Quantity(altitude, "m")), "Pa")))


def _films(shell):
    """(convection outside, radiation outside, radiation inside) in W/(m2 K)."""
    here = shell.wind * (EYE_HEIGHT / WIND_HEIGHT) ** WIND_POWER
    return (4.0 + 4.0 * here, 4 * 0.9 * weather.STEFAN_BOLTZMANN.magnitude * shell.outdoors**3,
            4 * weather.STEFAN_BOLTZMANN.magnitude * INDOORS**3)  # fmt: skip


def _views(areas):
    """Carroll's factors: how much better a surface sees the mean radiant temperature than an open one would."""
    factors = numpy.ones(len(areas))
    for _ in range(200):
        factors = 1 / (1 - areas * factors / (areas * factors).sum())
    return factors


class _Network:
    """Conductances, masses and where each input enters. node 0 is the air; `outer` and `inner` say, for each face and
    opening, which nodes are its skins."""

    def __init__(self, shell, air_change, covered):
        wind, sky, inside = _films(shell)
        self.shell, parts = shell, [*shell.faces, *shell.openings]
        self.masses, links, self.outer, self.inner = [shell.volume * shell.density * 1006.0 + shell.furnishing], [], [], []

        def node(mass):
            self.masses.append(mass)
            return len(self.masses) - 1

        films = []
        for part in parts:
            if isinstance(part, Face):
                pieces = []
                for layer in part.layers:
                    diffusivity = layer.conductivity / max(layer.density * layer.specific_heat, 1.0)
                    cuts = max(1, min(4, math.ceil(layer.thickness / math.sqrt(diffusivity * 0.5 * HOUR))))
                    pieces += [dataclasses.replace(layer, thickness=layer.thickness / cuts)] * cuts
                places = [node(0.0) for _ in range(len(pieces) + 1)]
                for piece, left, right in zip(pieces, places, places[1:]):
                    half = part.area * piece.thickness * piece.density * piece.specific_heat / 2
                    self.masses[left] += half
                    self.masses[right] += half
                    links.append((left, right, part.area * piece.conductivity / piece.thickness))
                film = INSIDE["level"] if 45 < part.tilt < 135 else INSIDE["up" if part.tilt > 90 else "down"]
                outside, inside_node, emits = places[0], places[-1], 0.9
            else:
                pane = part.area * 0.003 * 2500.0 * 840.0
                resists = (part.resists if covered else 1e-3) if part.resists else 0.0  # one layout with cover and without
                outside = node(pane)
                inside_node = outside
                if part.glass.panes == 2:
                    inside_node = node(pane)
                    links.append((outside, inside_node, part.area * _gap_conductance(part.glass)))
                if resists:  # in series with the inner pane's mass
                    skin = node(part.area * 500.0)
                    links.append((inside_node, skin, part.area / resists))
                    inside_node = skin
                film, emits = INSIDE["level"], part.glass.emissivity
            self.outer.append(outside)
            self.inner.append(inside_node)
            films.append((film, emits))
        count = len(self.masses)
        matrix = numpy.zeros((count + 1, count + 1))  # the last one is the radiant mean, without mass

        def join(left, right, conductance):
            matrix[[left, right], [left, right]] += conductance
            matrix[[left, right], [right, left]] -= conductance

        for link in links:
            join(*link)
        self.areas = numpy.array([part.area for part in parts])
        views = _views(self.areas)
        for part, skin, (film, emits), view in zip(parts, self.inner, films, views):
            join(0, skin, part.area * film)
            join(skin, count, part.area * inside / (1 / view + (1 - emits) / emits))
        self.to_outdoors, self.to_sky, self.to_ground = numpy.zeros((3, len(parts)))  # W/K from outdoor air, by part
        for at, part in enumerate(parts):
            kind = part.outside if isinstance(part, Face) else "air"
            if kind == "ground":
                self.to_ground[at] = part.area / 0.04
            elif kind == "shade":
                self.to_outdoors[at] = part.area * (4.0 + sky)
            else:
                up = (1 + math.cos(math.radians(part.tilt))) / 2
                clear = sky * up**1.5  # the sky near the horizon is as warm as the air (Walton 1983)
                self.to_sky[at] = part.area * clear
                self.to_outdoors[at] = part.area * (wind + sky - clear)
        self.leak = air_change * shell.density * 1006.0
        matrix[0, 0] += self.leak
        matrix[self.outer, self.outer] += self.to_outdoors + self.to_sky + self.to_ground
        radiant = matrix[:count, -1:] @ matrix[-1:, :count] / matrix[-1, -1]
        self.matrix = matrix[:count, :count] - radiant
        self.masses = numpy.array(self.masses)
        self.count = count
        self._sun_inside(parts)

    def _sun_inside(self, parts):
        """Where light that came through a window ends: `falls` for light that meets the floor first, `spreads` for light
        from everywhere, shares by part; what is not taken in goes out again through glass."""
        takes = numpy.array([self.shell.inner_absorptivity if isinstance(part, Face) else 1 - _angles(part.glass)[3, -1]
                             for part in parts])  # fmt: skip
        keeps = numpy.array([1.0 if isinstance(part, Face) else 0.0 for part in parts])
        sees = self.areas / (self.areas.sum() - self.areas[:, None])
        numpy.fill_diagonal(sees, 0.0)
        bounce = numpy.linalg.inv(numpy.eye(len(parts)) - sees.T * (1 - takes))
        floor = next(at for at, part in enumerate(parts) if isinstance(part, Face) and part.tilt > 90)
        first = numpy.zeros(len(parts))
        first[floor] = 1.0
        windows = numpy.array([not isinstance(part, Face) for part in parts])
        spread = (sees * (windows * self.areas)[:, None]).sum(axis=0) / max((windows * self.areas).sum(), 1e-9)
        self.falls, self.spreads = (takes * keeps * (bounce @ first), takes * keeps * (bounce @ spread))


@functools.lru_cache(maxsize=64)
def _network(shell, air_change, covered):
    return _Network(shell, air_change, covered)


@functools.lru_cache(maxsize=64)
def _step(shell, air_change, covered):
    """One hour of a network: (decay of the nodes, response to steady inputs, response to 1 W into the air)."""
    net = _network(shell, air_change, covered)
    root = 1 / numpy.sqrt(net.masses)
    values, vectors = numpy.linalg.eigh(root[:, None] * net.matrix * root)
    fades = numpy.exp(-values * HOUR)
    into, out = vectors.T / root, vectors.T * root  # masses make the matrix symmetric
    decay = (out.T * fades) @ into
    gains = (out.T * ((1 - fades) / values)) @ out
    return decay, gains, gains[:, 0].copy()


# ------------------------------------------------------------------------------- a year of hours


@dataclasses.dataclass(frozen=True, eq=False)
class Outdoors:
    """Outdoor air by hours of a year, shape (8760,): air and sky in °C, humidity ratio; means of the hour."""

    celsius: numpy.ndarray
    sky: numpy.ndarray
    humidity: numpy.ndarray


def _sun_outside_air(latitude):
    """kWh/m2 by days of a year, as weather.extraterrestrial_day gives for one day. latitude : degrees. FAO-56, eqs. 21 to 25."""
    turn, phi = 2 * PI * numpy.arange(1, 366) / 365, math.radians(latitude)
    sun = 0.409 * numpy.sin(turn - 1.39)
    sunset = numpy.arccos(numpy.clip(-math.tan(phi) * numpy.tan(sun), -1, 1))
    heights = sunset * math.sin(phi) * numpy.sin(sun) + math.cos(phi) * numpy.cos(sun) * numpy.sin(sunset)
    return weather.SOLAR_CONSTANT.m_as("kW/m**2") * 24 / PI * (1 + 0.033 * numpy.cos(turn)) * numpy.maximum(heights, 0)


@functools.lru_cache(maxsize=16)
def _cloudiness(year):
    """Share in which the sky is clear, by hours, from each day's sun over that of a clear day; FAO-56, eqs. 37, 39."""
    daily = year.level.reshape(365, 24).sum(axis=1) / 1000
    clear = (0.75 + 0.02 * year.altitude / 1000) * _sun_outside_air(year.latitude)
    return numpy.repeat(numpy.clip(1.35 * daily / clear - 0.35, 0.05, 1.0), 24)


@functools.lru_cache(maxsize=16)
def outdoors(year) -> Outdoors:
    """Air, sky and dampness of a year by hours.

    Parameters
    ----------
    year : a weather.Year

    Temperatures are means of the hour. The sky: air.sky_temperature_si for a clear one, clouds by FAO-56 eq. 39.
    """
    middle = (year.temperature + numpy.roll(year.temperature, 1)) / 2
    dew = numpy.minimum((year.dew_point + numpy.roll(year.dew_point, 1)) / 2, middle)
    clear = air.sky_temperature_si(middle, dew)
    share = _cloudiness(year)
    sky = (share * (clear + 273.15) ** 4 + (1 - share) * (middle + 273.15) ** 4) ** 0.25 - 273.15
    pressure = floats(air.standard_pressure(Quantity(year.altitude, "m")), "Pa")
    damp = air.humidity_ratio_si(air.saturation_pressure_si(dew), pressure)
    return Outdoors(middle, sky, damp)


def _plane(year, tilt, azimuth):
    return weather.on_plane(year, Quantity(min(tilt, 90.0), "deg"), Quantity(azimuth % 360, "deg"))


@functools.lru_cache(maxsize=256)
def _through(year, opening):
    """Sun on a square metre of a window by hours: that passes as a beam, that passes spread out, that its outer and inner
    pane take in; shape (4, 8760)."""
    plane, shares = _plane(year, opening.tilt, opening.azimuth), _angles(opening.glass)
    beam, sky = plane.beam, plane.sky
    if opening.overhang or opening.fins:
        zenith, sun = weather.sun_track(year)
        turn = numpy.radians((sun - opening.azimuth + 180) % 360 - 180)
        faces = numpy.abs(turn) < PI / 2 - 1e-3
        cosine = numpy.where(faces, numpy.cos(turn), 1.0)
        height = numpy.tan(numpy.radians(numpy.clip(90 - zenith, 0, 89)))
        down = numpy.clip((opening.overhang * height / cosine - opening.above) / opening.height, 0, 1)
        aside = numpy.clip(opening.fins * numpy.abs(numpy.tan(numpy.where(faces, turn, 0.0))) / opening.width, 0, 1)
        beam = beam * (1 - down) * (1 - aside)
        rises = opening.above + opening.height / 2
        sky = sky * rises / math.hypot(rises, opening.overhang)
    spread = sky + plane.ground
    at = numpy.clip(plane.incidence, 0, 90)
    by_angle = [numpy.interp(at, numpy.arange(91), row[:91]) * beam for row in shares]
    return numpy.array([by_angle[0], shares[0, -1] * spread, by_angle[1] + shares[1, -1] * spread,
                        by_angle[2] + shares[2, -1] * spread])  # fmt: skip


GROUPS = ("roof", "walls", "floor", "windows, warmth", "windows, sun", "air exchange", "people and devices")


def _group(part):
    if isinstance(part, Opening):
        return GROUPS.index("windows, warmth")
    return GROUPS.index("roof" if part.tilt < 45 else "floor" if part.tilt > 90 else "walls")


def _sources(net, year, hours, inside, covered, hotter=0.0, zero=0.0):
    """What drives a network: a list of (group, level by hours, W that a level of 1 puts into each node).

    inside : sensible W. covered : 1 in hours in which the covers are on. zero : °C from which temperatures are measured.
    """
    shell, where, found = net.shell, outdoors(year), []
    celsius, sky = where.celsius[hours] + hotter - zero, where.sky[hours] + hotter - zero
    ground, only = numpy.full(len(hours), shell.ground - zero), numpy.eye(net.count)
    for at, part in enumerate([*shell.faces, *shell.openings]):
        group, skin = _group(part), only[net.outer[at]]
        for level, conductance in ((celsius, net.to_outdoors), (sky, net.to_sky), (ground, net.to_ground)):
            found.append((group, level, conductance[at] * skin))
        if isinstance(part, Face) and part.outside == "air" and part.tilt <= 90:
            light = _plane(year, part.tilt, part.azimuth).total[hours]
            found.append((group, light, part.absorptivity * part.area * skin))
        if isinstance(part, Opening):
            beam, spread, outer, inner = _through(year, part)[:, hours]
            left = 1 - (1 - part.cover) * covered
            pane = left if part.outside else 1.0
            for light, into in ((outer * pane, skin), (inner * pane, only[net.inner[at]]),
                                (beam * left, net.falls @ only[net.inner]), (spread * left, net.spreads @ only[net.inner])):
                found.append((GROUPS.index("windows, sun"), light, part.area * into))  # fmt: skip
    found.append((GROUPS.index("air exchange"), celsius, net.leak * only[0]))
    surfaces = net.areas / net.areas.sum() @ only[net.inner]
    found.append((GROUPS.index("people and devices"), inside, (1 - RADIANT) * only[0] + RADIANT * surfaces))
    return found


@dataclasses.dataclass(frozen=True, eq=False)
class Air:
    """Hours of a shell: air temperature (°C) at the end of each hour, heat put in and taken out (W, means of the hour)."""

    celsius: numpy.ndarray
    heating: numpy.ndarray
    cooling: numpy.ndarray


def _undisturbed(decays, nodes, driven):
    """What days come to in which no unit runs: air by hours, then the nodes at the end, shape (many, 24 + nodes).

    decays : of the hours. nodes : at the start, (many, nodes). driven : what each hour adds to them, (many, 24, nodes).
    """
    warm = []
    for hour, decay in enumerate(decays):
        nodes = nodes @ decay.T + driven[:, hour]
        warm.append(nodes[:, 0])
    return numpy.column_stack([*warm, nodes])


@functools.lru_cache(maxsize=64)
def _day(shell, timetable):
    """A day by its hours' (air change, covered): the hours' decays; what 1 K of each node at the start comes to, and what 1 W
    into the air in each hour, as `_undisturbed` gives it; and what that watt does to the air in its own hour."""
    decays, _, pushes = zip(*(_step(shell, *hour) for hour in timetable))
    count, pushes = len(decays[0]), numpy.array(pushes)
    from_start = _undisturbed(decays, numpy.eye(count), numpy.zeros((count, 24, count)))
    from_watt = _undisturbed(decays, numpy.zeros((24, count)), numpy.eye(24)[:, :, None] * pushes)
    return decays, from_start, from_watt, pushes[:, 0].tolist()


def _alone(shell, year, hours, flows, wraps, gains, covered, hotter):
    """Days of a shell in which no unit runs: the `_day` of each one's timetable, and what each comes to from nodes at 0, as
    `_undisturbed` gives it. All but shell, year and hotter by hours; flows : m3/s of outdoor air. wraps : covers insulate."""
    settings = numpy.stack([flows, wraps]).reshape(2, -1, 24)
    kinds = [settings[:, one].tobytes() for one in range(len(hours) // 24)]
    timetables = {kind: tuple(zip(*settings[:, one].tolist())) for kind, one in dict(zip(kinds, range(len(kinds)))).items()}
    driven = None
    for flow, wrapped in set().union(*timetables.values()):
        net, here = _network(shell, flow, wrapped), numpy.flatnonzero((flows == flow) & (wraps == wrapped))
        _, levels, into = zip(*_sources(net, year, hours[here], gains[here], covered[here], hotter))
        driven = numpy.zeros((len(hours), net.count)) if driven is None else driven
        driven[here] = numpy.array(levels).T @ (numpy.array(into) @ _step(shell, flow, wrapped)[1])
    driven, found = driven.reshape(-1, 24, net.count), numpy.empty((len(kinds), 24 + net.count))
    days = {kind: _day(shell, timetable) for kind, timetable in timetables.items()}
    for kind, (decays, *_) in days.items():
        those = [one for one, its in enumerate(kinds) if its == kind]
        found[those] = _undisturbed(decays, numpy.zeros((len(those), net.count)), driven[those])
    return [days[kind] for kind in kinds], found


def simulate(shell, year, heat_to=None, cool_to=None, gains=0.0, air_change=0.0, vent=0.0, vents=0.0, covered=0.0,
             most=math.inf, day=None, hotter=0.0) -> Air:  # fmt: skip
    """A year of a shell, or one day of it over and over, with ideal heating and cooling.

    Parameters
    ----------
    shell : a Shell
    year : a weather.Year
    heat_to, cool_to : °C, a number or by hours, None for neither
    gains : sensible heat of people and devices, W, a number or by hours
    air_change : outdoor air that leaks in, m3/s
    vent : more of it, in the hours in which `vents` is 1
    covered : 1 in hours in which window covers are on
    most : most that cooling can remove, W, a number or by hours
    day : None for the year (8760 hours), or a day from 0 that is repeated until it does not change (24 hours)
    hotter : K added to outdoor air and sky, for a design day

    The last ten days of the year are run first, so that the start does not show. The network is linear: what its days do
    by themselves is found for all at once, and hour by hour only what a unit adds.
    Source: balance of heat; exact for inputs that are steady over the hour.
    """
    hours = numpy.arange(weather.HOURS) if day is None else numpy.arange(24 * day, 24 * day + 24)
    n = len(hours)
    low, high, most = (numpy.broadcast_to(one, n).reshape(-1, 24)
                       for one in (-1e9 if heat_to is None else heat_to, 1e9 if cool_to is None else cool_to, most))  # fmt: skip
    gains, covered, vents = (numpy.broadcast_to(numpy.asarray(one, float), n) for one in (gains, covered, vents))
    flows = air_change + vent * (vents > 0.5)
    wraps = (covered > 0.5) & any(one.resists for one in shell.openings)
    days, alone = _alone(shell, year, hours, flows, wraps, gains, covered, hotter)
    celsius, power = numpy.empty((len(days), 24)), numpy.zeros((len(days), 24))
    nodes = numpy.full(alone.shape[1] - 24, float(outdoors(year).celsius[hours].mean()))
    for one in [*(range(-10, 0) if day is None else [0] * 12), *range(len(days))]:
        _, from_start, from_watt, own = days[one]
        found = alone[one] + nodes @ from_start  # air of the hours, nodes at midnight
        (asks,), power[one] = ((found[:24] < low[one]) | (found[:24] > high[one])).nonzero(), 0.0
        for hour in range(asks[0], 24) if len(asks) else ():
            warm = found.item(hour)
            if warm < low[one, hour]:
                power[one, hour] = (low[one, hour] - warm) / own[hour]
            elif warm > high[one, hour]:
                power[one, hour] = -min((warm - high[one, hour]) / own[hour], most[one, hour])
            found += power[one, hour] * from_watt[hour]  # in this hour and those after it
        celsius[one], nodes = found[:24], found[24:]
    return Air(celsius.ravel(), numpy.maximum(power, 0.0).ravel(), numpy.maximum(-power, 0.0).ravel())


@functools.lru_cache(maxsize=64)
def _modes(shell, air_change):
    """(1 over the root of the masses, rates, shapes) of a network whose air is held at one temperature."""
    net = _network(shell, air_change, False)
    root = 1 / numpy.sqrt(net.masses[1:])
    return root, *numpy.linalg.eigh(root[:, None] * net.matrix[1:, 1:] * root)


def entering(shell, year, held, gains=0.0, air_change=0.0, covered=0.0, day=0, hotter=0.0) -> dict:
    """Heat that comes into the air of a shell, held at one temperature through a day that is repeated: group to W by hours.

    Parameters
    ----------
    held : °C of the air
    shell, year, gains, air_change, covered, day, hotter : as for `simulate`; covers do not insulate here

    The network is linear, so the groups add up to the whole. Negative: heat goes out there. Source: as `simulate`.
    """
    hours, (gains, covered) = numpy.arange(24 * day, 24 * day + 24), (numpy.broadcast_to(one, 24) for one in (gains, covered))
    net = _network(shell, air_change, False)
    put = numpy.zeros((len(GROUPS), 24, net.count))
    # temperatures from that of the air: what enters is then a gain, and the air is a border that stays at 0
    for group, level, into in _sources(net, year, hours, gains, covered, hotter, held):
        put[group] += level[:, None] * into
    root, rates, shapes = _modes(shell, air_change)
    fades = numpy.exp(-rates * HOUR)
    couples = (-net.matrix[0, 1:] * root) @ shapes
    settled = (put[:, :, 1:] * root) @ shapes / rates  # (groups, 24, modes)
    state, found = numpy.zeros((len(GROUPS), len(rates))), put[:, :, 0].copy()
    for hour in range(24):
        state = settled[:, hour] + (state - settled[:, hour]) * fades
    state = state / (1 - fades**24)  # the same at the end of the day as at its start
    for hour in range(24):
        apart = state - settled[:, hour]
        found[:, hour] += (settled[:, hour] + apart * (1 - fades) / (rates * HOUR)) @ couples
        state = settled[:, hour] + apart * fades
    return dict(zip(GROUPS, found))


# ------------------------------------------------------------------------------- ASHRAE Standard 140


CASES = ("600", "620", "600FF", "900")


@functools.cache
def case_year():
    """The weather of the suite: Denver TMY3 with a ground that throws back a fifth. Source: ANSI/ASHRAE Standard 140-2023."""
    return dataclasses.replace(weather.year("Denver"), albedo=numpy.full(weather.HOURS, 0.2))


def case_shell(case: str) -> Shell:
    """The box of a case of the test suite: 8 by 6 by 2.7 m with 12 m2 of glass, on the ground.

    Parameters
    ----------
    case : one of `CASES`

    Source: ANSI/ASHRAE Standard 140-2023, building thermal envelope (read in open re-implementations, and from memory);
    data/tables/ashrae_140_layers.csv.
    """
    if case not in CASES:
        raise InputError("case", f'"{case}" is given', "one of " + ", ".join(CASES), '"600"')
    year, box = case_year(), "heavy" if case == "900" else "light"
    layers = {"wall": [], "roof": [], "floor": []}
    for row in table("ashrae_140_layers").rows:
        if row["box"] == box:
            layers[row["part"]].append(Layer(floats(row["thickness"], "m"), floats(row["conductivity"], "W/m/K"),
                                             floats(row["density"], "kg/m**3"), floats(row["specific heat"], "J/kg/K")))  # fmt: skip
    lights = (90.0, 270.0) if case == "620" else (180.0, 180.0)
    faces = [Face(f"wall {azimuth:g}", long * 2.7 - 6.0 * lights.count(azimuth), 90.0, azimuth, tuple(layers["wall"]), 0.6)
             for azimuth, long in ((0.0, 8.0), (90.0, 6.0), (180.0, 8.0), (270.0, 6.0))]  # fmt: skip
    faces += [Face("roof", 48.0, 0.0, 180.0, tuple(layers["roof"]), 0.6),
              Face("floor", 48.0, 180.0, 180.0, tuple(layers["floor"]), 0.6, "ground")]  # fmt: skip
    openings = [Opening(f"window {at}", 6.0, azimuth, GLASSES["double clear"], height=2.0, width=3.0)
                for at, azimuth in enumerate(lights)]  # fmt: skip
    return Shell(129.6, tuple(faces), tuple(openings), 0.0, 10.0, year.altitude, float(year.wind.mean()),
                 float(year.temperature.mean()) + 273.15)  # fmt: skip


@functools.cache
def case_results(case: str) -> dict:
    """What this workbook finds for a case: quantity, as data/tables/ashrae_140.csv names it, to value.

    Parameters
    ----------
    case : one of `CASES`

    Source: `simulate` on the Denver TMY3 year.
    """
    free = case.endswith("FF")
    found = simulate(case_shell(case), case_year(), None if free else 20.0, None if free else 27.0, 200.0,
                     0.5 * 129.6 / HOUR)  # fmt: skip
    if free:
        return {"Maximum temperature": Quantity(float(found.celsius.max()), "degC"),
                "Minimum temperature": Quantity(float(found.celsius.min()), "degC")}  # fmt: skip
    return {"Annual heating load": Quantity(float(found.heating.sum()) / 1e6, "MWh"),
            "Annual cooling load": Quantity(float(found.cooling.sum()) / 1e6, "MWh"),
            "Peak heating load": Quantity(float(found.heating.max()) / 1000, "kW"),
            "Peak cooling load": Quantity(float(found.cooling.max()) / 1000, "kW")}  # fmt: skip


def sun_on_floor(case: str) -> Fraction:
    """Share of the sun through a case's windows that ends in its floor, when the floor meets it first.

    Parameters
    ----------
    case : one of `CASES`

    Source: `case_shell`; diffuse light is shared by area and comes back until it is taken in or lost through glass.
    """
    shell = case_shell(case)
    net = _network(shell, 0.0, False)
    return float(net.falls[[face.name for face in shell.faces].index("floor")])


def case_value(case: str, quantity: str) -> Quantity:
    """One result of `case_results`.

    Parameters
    ----------
    case : one of `CASES`
    quantity : as data/tables/ashrae_140.csv names it

    Source: as there.
    """
    found = case_results(case)
    if quantity not in found:
        raise InputError("quantity", f'"{quantity}" is given', "one of " + ", ".join(found), f'"{next(iter(found))}"')
    return found[quantity]


def case_verdict(case: str, quantity: str) -> str:
    """Where a result lies: "inside the programs' range", "inside the acceptance limits", or "outside".

    Parameters
    ----------
    case, quantity : as for `case_value`

    Source: data/tables/ashrae_140.csv.
    """
    row = table("ashrae_140").row(case=case, quantity=quantity)
    value = floats(case_value(case, quantity), row["unit"])
    if row["programs low"] <= value <= row["programs high"]:
        return "inside the programs' range"
    if row["acceptance low"] is not None and row["acceptance low"] <= value <= row["acceptance high"]:
        return "inside the acceptance limits"
    return "outside"


def case_table() -> list[dict]:
    """Every result of the cases beside the programs' range and the acceptance limits, a dict a row.

    Source: `case_results` and data/tables/ashrae_140.csv.
    """
    return [{"case": row["case"], "quantity": row["quantity"], "in": row["unit"],
             "ours": f'{floats(case_value(row["case"], row["quantity"]), row["unit"]):.4g}',
             "programs": f'{row["programs low"]:g} to {row["programs high"]:g}',
             "accepted": "" if row["acceptance low"] is None else f'{row["acceptance low"]:g} to {row["acceptance high"]:g}',
             "verdict": case_verdict(row["case"], row["quantity"])} for row in table("ashrae_140").rows]  # fmt: skip
