# SPDX-License-Identifier: Apache-2.0
"""What a rack does to every carrier, reckoned apart from daemon/ from the JSON of its files.

Written from config/README.md, daemon/rack/levels/README.md and the sources that the headers of daemon/rf name.
Powers are followed in milliwatts through every element of every antenna's chain; intermodulation is every triple of
carriers at every stage. Decibels only at the doors.
"""
import cmath
import functools
import math

import numpy

LIGHT = 299_792_458.0
KT0 = 1.380649e-23 * 290 * 1000  # mW/Hz
DIPOLE = 2.15
NOTHING = -999.0


def ratio(decibels):
    return 10 ** (decibels / 10)


def db(power):
    return 10 * math.log10(power) if power > 0 else NOTHING


def hertz(megahertz):
    return round(megahertz * 1e6)


# Ways through the air


def free_space(frequency, metres):
    return 20 * math.log10(4 * math.pi * metres * frequency / LIGHT)


def beyond_near_field(frequency, metres):
    return max(metres, LIGHT / frequency / (2 * math.pi))


def two_rays(frequency, metres, high, low, rho):
    """Of the direct ray and of one that comes from below the surface, as vectors."""
    reflected = math.sqrt(metres**2 + 4 * high * low)
    turn = cmath.exp(-2j * math.pi * (reflected - metres) * frequency / LIGHT)
    return free_space(frequency, metres) - 20 * math.log10(abs(1 - rho * metres / reflected * turn))


def way_losses(propagation, frequency, metres, antenna_height, carrier_height):
    """The least and the usual."""
    metres = beyond_near_field(frequency, metres)
    free = free_space(frequency, metres)
    if "two_ray" in propagation:
        over = propagation["two_ray"]
        rho = over.get("reflection", 1)
        high = antenna_height or over["antenna_height_m"]
        low = carrier_height or over["carrier_height_m"]
        usual = free
        if metres > 4 * high * low * frequency / LIGHT:
            usual = max(free, two_rays(frequency, metres, high, low, rho))
        return free - 20 * math.log10(1 + rho), usual
    if "indoor" in propagation:
        decade = propagation["indoor"]["loss_per_decade_db"]
        among = free if metres < 1 else free_space(frequency, 1) + decade * math.log10(metres)
        return min(free, among), among
    return free, free


def man_made(what, frequency):
    """Over kT0B as a ratio, not below 1."""
    if what is None:
        return 1.0
    if "measured_db" in what:
        return ratio(what["measured_db"])
    mhz = frequency / 1e6
    lines = {"city": (76.8, 27.7), "residential": (72.5, 27.7), "rural": (67.2, 27.7), "quiet rural": (53.6, 28.6)}
    c, d = lines[what["as_in"]]
    if what["as_in"] == "city" and mhz > 128.9:
        c, d = 44.3, 12.3
    return max(1.0, ratio(c - d * math.log10(mhz)))


# Filters


def prototype(shape, order, edge_loss):
    """g1 … gn and the last, of a low-pass that is edge_loss down at 1."""
    epsilon = math.sqrt(ratio(edge_loss) - 1)
    angles = [math.pi * (2 * k - 1) / (2 * order) for k in range(1, order + 1)]
    if shape == "butterworth":
        return [2 * math.sin(angle) * epsilon ** (1 / order) for angle in angles] + [1.0]
    beta = math.log(1 / math.tanh(edge_loss * math.log(10) / 40))
    gamma = math.sinh(beta / (2 * order))
    b = [gamma**2 + math.sin(k * math.pi / order) ** 2 for k in range(1, order + 1)]
    g = [2 * math.sin(angles[0]) / gamma]
    for k in range(1, order):
        g.append(4 * math.sin(angles[k - 1]) * math.sin(angles[k]) / (b[k - 1] * g[-1]))
    return g + [1.0 if order % 2 else 1 / math.tanh(beta / 4) ** 2]


def ladder_loss(g, fractional, dissipation, detuning):
    """Through shunt and series resonators by turns, from a source of 1 Ω, by the voltages from the load backwards."""
    last = g[-1] if len(g) % 2 == 0 else 1 / g[-1]  # ends in a series element: g is a conductance
    voltage, current = 1.0 + 0j, 1 / last + 0j
    for index in range(len(g) - 2, -1, -1):
        element = g[index] / fractional * (dissipation + 1j * detuning)
        if index % 2 == 0:
            current += element * voltage
        else:
            voltage += element * current
    source = voltage + current
    return 10 * math.log10(abs(source) ** 2 * last / 4)


def designed(response, low, high, loss):
    centre = math.sqrt(low * high)
    fractional = (high - low) / centre
    g = prototype(response["shape"], response["order"], response["edge_loss_db"])
    ideal = ladder_loss(g, fractional, 0.0, 0.0)
    below, above = 0.0, 1.0
    for _ in range(200):
        middle = (below + above) / 2
        if ladder_loss(g, fractional, middle, 0.0) - ideal < loss:
            below = middle
        else:
            above = middle
    dissipation = 0.0 if loss == 0 else above
    return lambda f: ladder_loss(g, fractional, dissipation, f / centre - centre / f)


def measured(table, shift):
    """Piecewise cubics that keep the shape: slopes by weighted harmonic means, three points at the ends."""
    x = [float(hertz(point["mhz"])) for point in table]
    y = [float(point["db"]) for point in table]
    n = len(x)
    h = [x[i + 1] - x[i] for i in range(n - 1)]
    d = [(y[i + 1] - y[i]) / h[i] for i in range(n - 1)]

    def end(h0, h1, d0, d1):
        slope = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
        if slope * d0 <= 0:
            return 0.0
        return 3 * d0 if d0 * d1 <= 0 and abs(slope) > 3 * abs(d0) else slope

    if n == 2:
        m = [d[0], d[0]]
    else:
        m = [end(h[0], h[1], d[0], d[1])]
        for i in range(1, n - 1):
            if d[i - 1] * d[i] <= 0:
                m.append(0.0)
            else:
                w1, w2 = 2 * h[i] + h[i - 1], h[i] + 2 * h[i - 1]
                m.append((w1 + w2) / (w1 / d[i - 1] + w2 / d[i]))
        m.append(end(h[-1], h[-2], d[-1], d[-2]))

    def loss(f):
        f = min(max(f - shift, x[0]), x[-1])
        i = max(k for k in range(n - 1) if x[k] <= f or k == 0)
        t = (f - x[i]) / h[i]
        return ((1 + 2 * t) * (1 - t) ** 2 * y[i] + t * (1 - t) ** 2 * h[i] * m[i]
                + t * t * (3 - 2 * t) * y[i + 1] + t * t * (t - 1) * h[i] * m[i + 1])

    return loss


def between(points, x):
    """Straight lines, the nearest beyond."""
    return float(numpy.interp(x, [p[0] for p in points], [p[1] for p in points]))


def filter_loss(sheet, settings):
    """dB at any frequency (Hz)."""
    entry = next(one for one in sheet["filters"] if one["name"] == settings["filter"])
    response = entry.get("response") or {"shape": "butterworth", "order": 3, "edge_loss_db": 1, "loss_db": 0}
    if "fixed" in entry:
        if "measured" in response:
            return measured(response["measured"], 0)
        return designed(response, hertz(entry["fixed"]["low_mhz"]), hertz(entry["fixed"]["high_mhz"]), response["loss_db"])
    centre = settings["centre_mhz"]
    if "measured" in response:
        return measured(response["measured"], hertz(centre) - hertz(response["measured_at_mhz"]))
    width, loss = entry["sliding"]["width_mhz"], response.get("loss_db")
    if "tuning" in response:
        width = between([(p["centre_mhz"], p["width_mhz"]) for p in response["tuning"]], centre)
        loss = between([(p["centre_mhz"], p["loss_db"]) for p in response["tuning"]], centre)
    low = hertz(centre) - hertz(width) / 2
    return designed(response, low, low + hertz(width), loss)


# Stages: what an element does at one frequency


class Stage:
    def __init__(self, name, gain_db, noise_figure_db, oip3_dbm=None, p1db_dbm=None, oip5_dbm=None):
        self.name = name
        self.gain, self.factor = ratio(gain_db), ratio(noise_figure_db)
        self.iip3 = None if oip3_dbm is None else ratio(oip3_dbm - gain_db)
        self.iip5 = None if oip5_dbm is None else ratio(oip5_dbm - gain_db)
        self.p1db_dbm = p1db_dbm

    def noise_out(self, noise_in):
        """In units of kT0."""
        return (noise_in + self.factor - 1) * self.gain


def total(stages):
    return math.prod(stage.gain for stage in stages)


def passive(name, loss_db):
    return Stage(name, -loss_db, loss_db)


def chain_stages(chain, cables, frequency):
    stages = []
    for part in chain:
        if "cable" in part:
            kind = cables[part["cable"]]
            mhz = min(max(frequency / 1e6, kind["lowest_mhz"]), kind["highest_mhz"])
            loss = (kind["k1"] * math.sqrt(mhz) + kind["k2"] * mhz) * part["length_m"] / 100
            loss += part.get("connectors", 2) * part.get("connector_loss_db", 0.1)
            stages.append(passive("cable", loss))
        elif "splitter" in part:
            stages.append(passive("splitter", 10 * math.log10(part["splitter"]) + part.get("excess_loss_db", 0)))
        elif "amplifier" in part:
            stages.append(Stage(part["amplifier"], part["gain_db"], part["noise_figure_db"], part["output_ip3_dbm"],
                                part["output_p1db_dbm"], part.get("output_ip5_dbm")))
        else:
            stages.append(passive(part["name"], part["loss_db"]))
    return stages


def staged_amplifier(amplifier, gain_db):
    """Noise figure, output P1dB and OIP3 of stages with a pad between them."""
    stages = amplifier["stages"]
    pad = sum(one["gain_db"] for one in stages) - gain_db
    row = [(one["gain_db"], one["noise_figure_db"], one["output_p1db_dbm"], one["output_ip3_dbm"]) for one in stages]
    row.insert(amplifier["pad_behind"], (-pad, pad, None, None))
    noise, gain, distortion, compression = 1.0, 1.0, 0.0, 0.0
    for g, f, p1db, ip3 in row:
        noise += (ratio(f) - 1) / gain
        if ip3 is not None:
            distortion += gain / ratio(ip3 - g)
            compression += gain / ratio(p1db - g + 1)
        gain *= ratio(g)
    return db(noise), gain_db - 1 - db(compression), gain_db - db(distortion)


def node_amplifier(name, sheet, gain_db):
    highest = sheet["gain_db"]["highest"]

    def stage(noise, ip3, p1db):
        # As far from the third-order intercept as at the highest gain.
        ip5 = sheet["output_ip5_dbm"] + ip3 - sheet["output_ip3_dbm"] if "output_ip5_dbm" in sheet else None
        return Stage(name, gain_db, noise, ip3, p1db, ip5)

    if "amplifier" in sheet:
        noise, p1db, ip3 = staged_amplifier(sheet["amplifier"], gain_db)
        return stage(noise, ip3, p1db)
    noise = sheet["noise_figure_db"]
    if "noise_figures" in sheet:
        points = [(p["gain_db"], p["noise_figure_db"]) for p in sheet["noise_figures"]]
        noise = between(points + [(highest, noise)] * (points[-1][0] < highest), gain_db)
    elif gain_db < 0:
        noise -= gain_db
    p1db, ip3 = sheet["output_p1db_dbm"], sheet["output_ip3_dbm"]
    if "linearity" in sheet:
        rows = sheet["linearity"] + [{"gain_db": highest, "output_p1db_dbm": p1db, "output_ip3_dbm": ip3}] * (
            sheet["linearity"][-1]["gain_db"] < highest)
        p1db = between([(p["gain_db"], p["output_p1db_dbm"]) for p in rows], gain_db)
        ip3 = between([(p["gain_db"], p["output_ip3_dbm"]) for p in rows], gain_db)
    return stage(noise, ip3, p1db)


# Emissions

WIDTH = {"fm": 0.65, "psk": 0.905, "qam": 0.92, "ofdm": 1.0}
TWICE = {"fm": math.sqrt(2), "psk": 1.10, "qam": 1.06, "ofdm": 1.0}  # wider, each of two
POWER_TWICE = {"fm": 1.0, "psk": 1.22, "qam": 1.50, "ofdm": 2.0}
THRICE = {"fm": 1.38, "psk": 1.28, "qam": 1.25, "ofdm": 1.23}  # of the bandwidth, each of two
POWER_THRICE = {"fm": 1.0, "psk": 1.67, "qam": 2.8, "ofdm": 6.0}


def share_between(low, high, w1, w2, w3):
    """Of the sum of three even spreads, by the distribution of a sum of three even variables."""

    def below(x):
        half = (w1 + w2 + w3) / 2
        x = numpy.clip(x, -half, half)
        total = 0.0
        for a in (-1, 1):
            for b in (-1, 1):
                for c in (-1, 1):
                    total = total + a * b * c * numpy.maximum(0.0, x + (a * w1 + b * w2 + c * w3) / 2) ** 3
        return total / (6 * w1 * w2 * w3)

    return numpy.clip(below(high) - below(low), 0.0, 1.0)


class Carrier:
    def __init__(self, entry):
        self.entry = entry
        self.name = entry["name"]
        self.frequency = hertz(entry["frequency_mhz"])
        self.bandwidth = round(entry["bandwidth_khz"] * 1e3)
        self.low = self.frequency - self.bandwidth // 2
        self.high = self.low + self.bandwidth
        self.erp = entry.get("erp_dbm")
        self.modulation = entry.get("modulation", "fm")
        self.width = WIDTH[self.modulation] * self.bandwidth
        self.width_twice = TWICE[self.modulation] * self.width
        self.power_twice = POWER_TWICE[self.modulation]
        self.width_thrice = THRICE[self.modulation] * self.bandwidth
        self.power_thrice = POWER_THRICE[self.modulation]

    def share_in(self, low, high):
        return max(0, min(self.high, high) - max(self.low, low)) / self.bandwidth


# One antenna


class Antenna:
    """Of a node in its settings (None: passive)."""

    def __init__(self, world, node, settings):
        self.world, self.node = world, node
        self.name = node["name"]
        self.sheet = world.sheets[node["datasheet"]]
        self.powered = settings is not None and settings.get("power", True)
        self.gain_db = settings["gain_db"] if self.powered else None
        self.loss = filter_loss(self.sheet, settings) if self.powered else None
        self.strongest = [self.level(carrier, "strongest") for carrier in world.carriers]
        self.weakest = [self.level(carrier, "weakest") for carrier in world.carriers]

    def level(self, carrier, which):
        """mW at its terminals; None: not known."""
        entry = carrier.entry
        if carrier.erp is None or (which == "weakest" and entry["use"] == "transmit"):
            return None
        if self.name in entry.get("isolation_db", {}):
            return ratio(carrier.erp - entry["isolation_db"][self.name])
        if "nearest_m" in entry:
            metres = entry["nearest_m" if which == "strongest" else "farthest_m"]
        elif "place_m" in entry and "place_m" in self.node:
            metres = math.dist(entry["place_m"], self.node["place_m"])
        else:
            return None
        losses = way_losses(self.world.rack.get("propagation", {}), carrier.frequency, metres, self.node.get("height_m"),
                            entry.get("height_m"))
        gain = self.node.get("antenna_gain_dbi", self.sheet.get("antenna_gain_dbi", 0))
        if which == "strongest":
            return ratio(carrier.erp + DIPOLE - losses[0] + gain)
        return ratio(carrier.erp + DIPOLE - losses[1] + gain - entry.get("extra_loss_db", 0))

    @functools.cache
    def lead(self, frequency):
        return chain_stages(self.node.get("lead", []), self.world.cables, frequency)

    @functools.cache
    def own(self, frequency):
        if not self.powered:
            return [passive("node", self.sheet["passive_loss_db"])]
        row = [passive("filter", self.loss(frequency)), node_amplifier(self.name, self.sheet, self.gain_db)]
        if self.sheet.get("filter_position") == "after the amplifier":
            row.reverse()
        return row

    @functools.cache
    def feed(self, frequency):
        return chain_stages(self.node.get("feed", []), self.world.cables, frequency)

    def stages(self, frequency):
        return self.lead(frequency) + self.own(frequency) + self.feed(frequency)

    @functools.cache
    def gain(self, frequency):
        return total(self.stages(frequency))

    def noise_out(self, frequency, source):
        for stage in self.stages(frequency):
            source = stage.noise_out(source)
        return source

    def transmitter_noise(self):
        """mW/Hz."""
        return sum(level * ratio(carrier.entry["noise_dbc_per_hz"])
                   for carrier, level in zip(self.world.carriers, self.strongest)
                   if level is not None and "noise_dbc_per_hz" in carrier.entry)


class World:
    """The files of a rack, in one segment."""

    def __init__(self, rack, show, sheets, cables):
        self.rack = rack
        self.sheets = {sheet["type"]: sheet for sheet in sheets}
        self.cables = {cable["type"]: cable for cable in cables["cables"]}
        segment = show["segments"][0]
        self.carriers = [Carrier(entry) for entry in segment["carriers"]]
        self.antennas = {node["name"]: Antenna(self, node, segment["settings"].get(node["name"])) for node in rack["nodes"]}
        self.made_by_transmitters = list(self.transmitter_products())

    def apart(self, own, other):
        """Loss from the other's e.r.p. to the own transmitter's output; None: not known."""
        measured_apart = own.entry.get("isolation_from_db", {}).get(other.name)
        if measured_apart is not None:
            return measured_apart
        if "place_m" not in own.entry or "place_m" not in other.entry:
            return None
        metres = beyond_near_field(other.frequency, math.dist(own.entry["place_m"], other.entry["place_m"]))
        return free_space(other.frequency, metres) - 2 * DIPOLE

    def transmitter_products(self):
        """2·own − other: (own, centre, what it radiates over the own carrier, widths)."""
        for i, own in enumerate(self.carriers):
            for other in self.carriers:
                if other is own or own.erp is None or other.erp is None or other.frequency == own.frequency:
                    continue
                loss = self.apart(own, other)
                if loss is None:
                    continue
                over = other.erp - loss - own.entry.get("conversion_loss_db", 10) - own.erp
                yield i, 2 * own.frequency - other.frequency, ratio(over), (own.width_twice, own.width_twice, other.width)


class Way:
    """From one node's antenna to one receiver's input, with what other antennas bring."""

    def __init__(self, world, node, receiver, branch):
        self.world = world
        self.receiver = receiver
        self.name = receiver["name"] if receiver else "-"
        self.input = receiver.get("input") if receiver else None
        self.own = world.antennas[node]
        names = names_of(branch)
        self.others = [world.antennas[name] for name in names if name != node]
        self.ports = len(names)
        branch = {} if isinstance(branch, list) else branch
        self.excess = ratio(-branch.get("combiner_excess_loss_db", 0))
        self.chain = branch.get("chain", [])

    @functools.cache
    def rest(self, frequency):
        stages = chain_stages(self.chain, self.world.cables, frequency)
        if self.input:
            stages.append(Stage("input", 0, self.input["noise_figure_db"], self.input["ip3_dbm"]))
        return stages

    def combiner(self):
        return self.excess / self.ports

    def gain_behind(self, frequency):
        """From a port of the combiner to the receiver's input."""
        return self.combiner() * total(self.rest(frequency))

    def gain(self, frequency):
        return self.own.gain(frequency) * self.gain_behind(frequency)

    @functools.cache
    def at_ports(self, index):
        """mW of a carrier, as strong as it gets, at all ports together."""
        carrier = self.world.carriers[index]
        powers = [(antenna.strongest[index] or 0) * antenna.gain(carrier.frequency) for antenna in [self.own, *self.others]]
        return sum(powers)

    def at_input(self, index):
        return self.at_ports(index) * self.gain_behind(self.world.carriers[index].frequency)

    def noise(self, frequency, source):
        """In units of kT0 at the antenna; what comes in by the others is always counted."""
        outside = man_made(self.world.rack.get("man_made_noise"), frequency)
        noise = self.own.noise_out(frequency, source) + sum(one.noise_out(frequency, outside) for one in self.others)
        noise = noise / self.ports * self.excess + 1 - self.excess
        for stage in self.rest(frequency):
            noise = stage.noise_out(noise)
        return noise / self.gain(frequency)

    def brought(self, frequency, of):
        """What `of` says of each antenna at its terminals, together, as if at the own antenna's."""
        own = self.own.gain(frequency)
        return of(self.own) + sum(of(one) * one.gain(frequency) / own for one in self.others)

    # What distorts on the way: for each amplifier the powers of all carriers at its input, the stage, the gain from
    # the antenna to there at the channel's frequency, and the part of the chain it stands in.

    def walk(self, channel, part, stages_at, start, before, keep, exact):
        powers = list(start)
        rows = [stages_at(carrier.frequency) for carrier in self.world.carriers]
        for position, stage in enumerate(stages_at(channel)):
            if stage.iip3 is not None:
                keep = keep or not exact and part == "lead"
                yield powers, stage, before, part
            powers = [power * (stage.gain if keep else row[position].gain) for power, row in zip(powers, rows)]
            before *= stage.gain

    def passed(self, channel, stages_at, start, keep=False):
        return [power * total(stages_at(channel if keep else carrier.frequency))
                for power, carrier in zip(start, self.world.carriers)]

    def distorters_before_combiner(self, antenna, channel, exact):
        """`exact`: every carrier has its own gains everywhere. Else carriers keep their levels relative to each other
        from the first amplifier of the lead on to the node, and behind the node."""
        powers, before = [level or 0.0 for level in antenna.strongest], 1.0
        yield from self.walk(channel, "lead", antenna.lead, powers, before, False, exact)
        powers, before = self.passed(channel, antenna.lead, powers), total(antenna.lead(channel))
        yield from self.walk(channel, "node", antenna.own, powers, before, False, exact)
        powers, before = self.passed(channel, antenna.own, powers), before * total(antenna.own(channel))
        yield from self.walk(channel, self.part_behind(antenna), antenna.feed, powers, before, not exact, exact)

    @staticmethod
    def part_behind(antenna):
        filtered = antenna.powered and antenna.sheet.get("filter_position") == "after the amplifier"
        return "behind" if filtered else "node"

    def distorters(self, channel, exact):
        """Behind a combiner likewise."""
        own, keep = self.own, not exact
        yield from self.distorters_before_combiner(own, channel, exact)
        behind = self.part_behind(own)
        if self.others:
            powers, behind = [self.at_ports(index) for index in range(len(self.world.carriers))], "together"
        else:
            powers = self.passed(channel, lambda f: own.lead(f) + own.own(f), [level or 0.0 for level in own.strongest])
            powers = self.passed(channel, own.feed, powers, keep)
        before = own.gain(channel) * self.combiner()
        yield from self.walk(channel, behind, self.rest, [power * self.combiner() for power in powers], before, keep, exact)

    def intermodulation(self, channel, stages):
        """mW at the antenna in the band of a carrier: each product in phase over all stages, products in power; the same
        within each part of the chain, and these sums in phase; how many parts. Third order, and fifth of two."""
        if not stages:
            return 0.0, 0.0, 0
        at = {}
        for index, carrier in enumerate(self.world.carriers):
            if max(powers[index] for powers, *_ in stages) > 0:
                at.setdefault(carrier.frequency, []).append(index)
        frequencies = sorted(at)
        strongest = [self.world.carriers[max(at[f], key=lambda index: stages[0][0][index])] for f in frequencies]
        f = numpy.array(frequencies, dtype=float)
        width = numpy.array([one.width for one in strongest])
        twice = numpy.array([one.width_twice for one in strongest])
        a, b, c = [grid.ravel() for grid in numpy.meshgrid(*[numpy.arange(len(f))] * 3, indexing="ij")]
        keep = (a <= b) & (a != c) & (b != c)
        a, b, c = a[keep], b[keep], c[keep]
        same = a == b
        centre = numpy.abs(f[a] + f[b] - f[c])
        share = share_between(channel.low - centre, channel.high - centre, numpy.where(same, twice[a], width[a]),
                              numpy.where(same, twice[a], width[b]), width[c])
        share *= numpy.where(same, numpy.array([one.power_twice for one in strongest])[a], 1.0)
        x, y = [grid.ravel() for grid in numpy.meshgrid(*[numpy.arange(len(f))] * 2, indexing="ij")]
        x, y = x[x != y], y[x != y]
        centre = numpy.abs(3 * f[x] - 2 * f[y])
        thrice = numpy.array([one.width_thrice for one in strongest])
        fifth_share = share_between(channel.low - centre, channel.high - centre, thrice[x], thrice[x], math.sqrt(2) * twice[y])
        fifth_share *= numpy.array([one.power_thrice for one in strongest])[x]
        fifth_share *= numpy.array([one.power_twice for one in strongest])[y]
        parts, fifths = {}, {}
        for powers, stage, gain, part in stages:
            p = numpy.array([sum(powers[index] for index in at[one]) for one in frequencies])
            made = numpy.where(same, 1.0, 2.0) * numpy.sqrt(p[a] * p[b] * p[c]) / stage.iip3 / math.sqrt(gain)
            parts[part] = parts.get(part, 0.0) + made
            if stage.iip5 is not None:
                made = numpy.sqrt(p[x] ** 3 * p[y] ** 2) / stage.iip5**2 / math.sqrt(gain)
                fifths[part] = fifths.get(part, 0.0) + made
        exactly = summed = 0.0
        for orders, weight in ((parts, share), (fifths, fifth_share)):
            exactly += float(numpy.sum(sum(orders.values()) ** 2 * weight))
            summed += sum(math.sqrt(float(numpy.sum(made**2 * weight))) for made in orders.values()) ** 2
        return exactly, summed, len(parts)

    def made_by_others(self, channel):
        """mW that amplifiers at the other antennas make before the combiner, as if it came by the own antenna."""
        f = channel.frequency
        return sum(self.intermodulation(channel, list(self.distorters_before_combiner(one, f, False)))[1] * one.gain(f)
                   for one in self.others) / self.own.gain(f)

    def in_channel(self, channel, low, high, skip):
        """mW at the receiver's input of carriers in a band, by how much of each lies there."""
        return sum(self.at_input(index) * carrier.share_in(low, high)
                   for index, carrier in enumerate(self.world.carriers) if carrier is not skip)

    def rejection(self, offset):
        points = [(0, 0)] + [(hertz(p["offset_mhz"]), p["rejection_db"]) for p in self.input["blocking"]]
        return between(points, offset)

    def figures(self, index):
        """Of one carrier, as the probe names them."""
        channel = self.world.carriers[index]
        f, width = channel.frequency, channel.bandwidth
        gain = self.gain(f)
        kt0b = KT0 * width
        outside = man_made(self.world.rack.get("man_made_noise"), f)
        noise = kt0b * self.noise(f, outside)
        blocking = co_channel = spurious = 0.0
        for other, carrier in enumerate(self.world.carriers):
            if carrier is channel:
                continue
            level = self.at_input(other) / gain
            co_channel += level * carrier.share_in(channel.low, channel.high)
            if self.input and self.input.get("blocking") and not carrier.share_in(channel.low, channel.high):
                blocking += level * ratio(-self.rejection(abs(carrier.frequency - f)))
            for response in (self.input or {}).get("spurious_responses", []):
                offset = hertz(response["offset_mhz"])
                share = carrier.share_in(channel.low + offset, channel.high + offset)
                spurious += level * share * ratio(-response["rejection_db"])
        products = 0.0
        for own, centre, over, widths in self.world.made_by_transmitters:
            share = float(share_between(channel.low - abs(centre), channel.high - abs(centre), *widths))
            if share:
                products += self.brought(f, lambda antenna: (antenna.strongest[own] or 0)) * over * share
        triples, distortion, parts = self.intermodulation(channel, list(self.distorters(f, exact=False)))
        brought = self.made_by_others(channel)
        transmitters = width * self.brought(f, Antenna.transmitter_noise)
        interference = distortion + transmitters + blocking + co_channel + spurious + products + brought
        weakest = self.own.weakest[index]
        needed = costs = None
        decides = 0.0
        rise = 10 * math.log10(1 + interference / noise)
        if self.input:
            over_noise = ratio(self.input["sensitivity_dbm"]) / (kt0b * ratio(self.input["noise_figure_db"]))
            by_noise = (noise + interference) * over_noise
            by_protection = interference * ratio(self.input["protection_ratio_db"])
            decides = float(by_protection > by_noise)
            needed = db(max(by_noise, by_protection))
            costs = needed - db(noise * over_noise)
        margin = None if needed is None or weakest is None else db(weakest) - needed
        powers = {"noise": noise, "intermodulation": distortion, "transmitter-noise": transmitters, "blocking": blocking,
                  "co-channel": co_channel, "spurious-response": spurious, "transmitter-products": products, "brought-products": brought,
                  "chain-gain": gain, "noise-figure": self.noise(f, 1.0), "external-noise": outside, "triples": triples}
        return {**{kind: db(power) for kind, power in powers.items()}, "parts": parts, "desensitisation": rise,
                "weakest": None if weakest is None else db(weakest), "needed": needed, "protection-decides": decides,
                "interference-costs": rise if costs is None else costs, "margin": margin}


def names_of(branch):
    return branch if isinstance(branch, list) else branch["nodes"]


def ways_of(world, node):
    """In the order of the receivers, each with the carriers that are to be heard. Where the feed is not known, a way
    that ends at the node."""
    found, served = [], set()
    for receiver in world.rack["receivers"]:
        heard = [index for index, carrier in enumerate(world.carriers) if receiver["name"] in carrier.entry.get("receivers", [])]
        for branch in receiver["branches"]:
            if node in names_of(branch):
                found.append((Way(world, node, receiver, branch), heard))
                served.update(heard)
    if "feed" not in world.antennas[node].node:
        return [(Way(world, node, None, [node]), sorted(served))]
    return found


def amplifier_loads(world, node):
    """(name, input, output, output P1dB): all carriers together; the node's own, the lead's, those behind."""
    antenna = world.antennas[node]
    everyone = range(len(world.carriers))

    def along(stages_at, powers_before):
        rows = [stages_at(carrier.frequency) for carrier in world.carriers]
        powers = list(powers_before)
        for position, stage in enumerate(rows[0]):
            together = sum(powers)
            if stage.p1db_dbm is not None and together > 0:
                yield stage.name, db(together), db(together * stage.gain), stage.p1db_dbm
            powers = [power * row[position].gain for power, row in zip(powers, rows)]

    start = [level or 0.0 for level in antenna.strongest]
    before_node = list(along(antenna.lead, start))
    own = list(along(lambda f: antenna.lead(f) + antenna.own(f), start))[len(before_node):]
    loads = own + before_node
    for number, (way, _) in enumerate(ways_of(world, node)):
        if number == 0:  # the feed is one and the same for all
            loads += list(along(antenna.stages, start))[len(own) + len(before_node):]
        loads += along(way.rest, [way.at_ports(index) * way.combiner() for index in everyone])
    return loads


def receiver_loads(world, node):
    """(name, level, of whom)."""
    for way, _ in ways_of(world, node):
        levels = [(way.at_input(index), carrier.name) for index, carrier in enumerate(world.carriers)]
        if way.receiver and max(levels)[0] > 0:
            yield way.name, db(max(levels)[0]), max(levels)[1]
