# SPDX-License-Identifier: Apache-2.0
"""Racks at random, as JSON of the files that a rack is made of: every effect on some of them, and off on others."""
import copy
import dataclasses
import math


def gains(rng):
    step = rng.choice([0.5, 1, 1.5])
    lowest = rng.randint(-12, 0)
    return {"lowest": lowest, "highest": lowest + step * rng.randint(14, 40), "step": step}


def response(rng, sliding):
    """Of a filter: designed or measured, or none is told."""
    kind = rng.choice(["butterworth", "chebyshev", "chebyshev", "measured", "not told"])
    if kind == "not told":
        return {}
    if kind == "measured":
        mhz, table, middle = rng.uniform(380, 440), [], 560
        while mhz < 780:
            beyond = max(0, abs(mhz - middle) - 20)
            table.append({"mhz": round(mhz, 3), "db": round(rng.uniform(0.5, 3) + min(70, 1.1 * beyond), 2)})
            mhz += rng.uniform(2, 25)
        return {"response": {"measured": table, **({"measured_at_mhz": middle} if sliding else {})}}
    one = {"shape": kind, "order": rng.randint(1, 6), "edge_loss_db": round(rng.choice([0.1, 0.5, 1, 3.0103]), 4)}
    if sliding and rng.random() < 0.5:
        one["tuning"] = [{"centre_mhz": mhz, "width_mhz": rng.choice([30, 38, 44]), "loss_db": round(rng.uniform(0.2, 2), 2)}
                         for mhz in (450, 560, 700)]
    else:
        one["loss_db"] = rng.choice([0, round(rng.uniform(0.1, 2), 2)])
    return {"response": one}


def filters(rng):
    return [
        {"name": "slide", "skirt_khz": 200, **response(rng, True),
         "sliding": {"width_mhz": rng.choice([24, 40]), "lowest_centre_mhz": 480, "highest_centre_mhz": 680, "step_khz": 500}},
        {"name": "wide", "skirt_khz": 200, **response(rng, False), "fixed": {"low_mhz": 500, "high_mhz": rng.choice([600, 640])}},
    ]


def sheet(rng, name, reckon_stages):
    span = gains(rng)
    one = {"type": name, "title": name, "gain_db": span, "filters": filters(rng), "passive_loss_db": round(rng.uniform(0, 3), 2),
           "noise_figure_db": round(rng.uniform(1, 6), 2), "output_p1db_dbm": round(rng.uniform(8, 22), 2),
           "antenna_gain_dbi": rng.choice([0, 2.15, 6])}
    one["output_ip3_dbm"] = round(one["output_p1db_dbm"] + rng.uniform(8, 20), 2)
    if rng.random() < 0.5:
        one["filter_position"] = rng.choice(["before the amplifier", "after the amplifier"])
    kind = rng.choice(["plain", "noise", "both", "stages"])
    middle = span["lowest"] + span["step"] * 6
    if kind in ("noise", "both"):
        one["noise_figures"] = [{"gain_db": gain, "noise_figure_db": round(one["noise_figure_db"] + more, 2)}
                                for gain, more in ((span["lowest"], rng.uniform(5, 12)), (middle, rng.uniform(1, 4)))]
    if kind == "both":
        fall = min(span["highest"] - middle, rng.uniform(0, 6))
        one["linearity"] = [{"gain_db": gain, "output_p1db_dbm": round(one["output_p1db_dbm"] - less, 2),
                             "output_ip3_dbm": round(one["output_ip3_dbm"] - less - 1, 2)}
                            for gain, less in ((span["lowest"], fall + 5 * span["step"]), (middle, fall))]
    if kind == "stages":
        count = rng.randint(1, 3)
        each = span["highest"] / count + rng.uniform(0, 1)
        stages = [{"gain_db": round(each + rng.uniform(0, 0.5), 2), "noise_figure_db": round(rng.uniform(1, 6), 2),
                   "output_p1db_dbm": 12 + 4 * i, "output_ip3_dbm": 26 + 4 * i} for i in range(count)]
        one["amplifier"] = {"stages": stages, "pad_behind": rng.randint(0, count)}
        figures = reckon_stages(one["amplifier"], span["highest"])
        for member, figure in zip(("noise_figure_db", "output_p1db_dbm", "output_ip3_dbm"), figures):
            one[member] = round(figure, 6)
    if rng.random() < 0.4:
        one["output_ip5_dbm"] = round(one["output_p1db_dbm"] + rng.uniform(4, 12), 1)
    return one


def cable_table(rng):
    def cable(name, k1, k2):
        return {"type": name, "k1": k1, "k2": k2, "lowest_mhz": 100, "highest_mhz": 800, "source": "at random"}

    return {"cables": [cable("thick", round(rng.uniform(0.2, 0.5), 4), round(rng.uniform(0, 0.01), 5)), cable("thin", 1.1, 0.02)]}


def chain(rng, amplifier, flat):
    parts = []
    for _ in range(rng.randint(0, 2)):
        kind = rng.choice(["cable", "splitter", "loss"] if not flat else ["splitter", "loss"])
        if kind == "cable":
            parts.append({"cable": rng.choice(["thick", "thin"]), "length_m": round(rng.uniform(1, 60), 1),
                          **({"connectors": rng.randint(0, 5), "connector_loss_db": 0.15} if rng.random() < 0.5 else {})})
        elif kind == "splitter":
            parts.append({"splitter": rng.randint(1, 8), "excess_loss_db": round(rng.uniform(0, 1), 2)})
        else:
            parts.append({"loss_db": round(rng.uniform(0, 8), 2), "name": "panel"})
    if rng.random() < amplifier:
        p1db = round(rng.uniform(5, 22), 1)
        parts.insert(rng.randint(0, len(parts)), {
            "amplifier": f"amp-{rng.randint(0, 999)}", "gain_db": round(rng.uniform(-2, 16), 2), "output_p1db_dbm": p1db,
            "noise_figure_db": round(rng.uniform(1, 9), 2), "output_ip3_dbm": round(p1db + rng.uniform(8, 20), 1),
            **({"output_ip5_dbm": round(p1db + rng.uniform(4, 12), 1)} if rng.random() < 0.4 else {})})
    return parts


def place(rng, metres=40):
    return [round(rng.uniform(-metres, metres), 2) for _ in range(2)] + [round(rng.uniform(1, 8), 2)]


def node(rng, number, flat):
    one = {"name": f"node-{number}", "uid": f"7a10-{number:08x}", "line": "bench", "address": number,
           "datasheet": f"sheet-{rng.randint(1, 2)}"}
    if rng.random() < 0.93:
        one["feed"] = chain(rng, 0.3, flat)
    if rng.random() < 0.6:
        one["lead"] = chain(rng, 0.4, flat)
    if rng.random() < 0.7:
        one["place_m"] = place(rng)
    if rng.random() < 0.4:
        one["antenna_gain_dbi"] = round(rng.uniform(-3, 9), 2)
    if rng.random() < 0.4:
        one["height_m"] = round(rng.uniform(1, 12), 2)
    return one


def receiver_input(rng):
    one = {"noise_figure_db": round(rng.uniform(2, 14), 2), "sensitivity_dbm": round(rng.uniform(-102, -88), 1),
           "overload_dbm": -15, "ip3_dbm": round(rng.uniform(-15, 15), 1), "protection_ratio_db": round(rng.uniform(4, 25), 1)}
    if rng.random() < 0.6:
        one["blocking"] = [{"offset_mhz": offset, "rejection_db": round(low + rng.uniform(0, 12), 1)}
                           for offset, low in ((0.4, 40), (1.5, 55), (8, 70))[: rng.randint(1, 3)]]
    if rng.random() < 0.5:
        offsets = rng.sample([-60, -30.25, -12, 9.6, 21.4, 42.8], rng.randint(1, 3))
        one["spurious_responses"] = [{"offset_mhz": offset, "rejection_db": round(rng.uniform(10, 70), 1)} for offset in offsets]
    return one


def receiver(rng, number, nodes, flat):
    def branch(names):
        if len(names) == 1 and rng.random() < 0.5:
            return names
        one = {"nodes": names}
        if len(names) > 1 and rng.random() < 0.7:
            one["combiner_excess_loss_db"] = round(rng.uniform(0, 3), 2)
        if rng.random() < 0.8:
            one["chain"] = chain(rng, 0.5, flat)
        return one

    names = rng.sample(nodes, rng.randint(1, len(nodes)))
    cut = rng.randint(1, len(names))
    one = {"name": f"receiver-{number}", "branches": [branch(part) for part in (names[:cut], names[cut:]) if part]}
    if rng.random() < 0.9:
        one["input"] = receiver_input(rng)
    return one


def carrier(rng, number, receivers, nodes, centre):
    one = {"name": f"carrier-{number}", "frequency_mhz": round((centre + rng.uniform(-16, 16)) / 0.025) * 0.025,
           "bandwidth_khz": rng.choice([25, 110, 200, 200, 400]), "modulation": rng.choice(["fm", "psk", "qam", "ofdm"])}
    if rng.random() < 0.2:
        one["frequency_mhz"] += rng.choice([-1, 1]) * rng.uniform(20, 90)
    one["frequency_mhz"] = round(one["frequency_mhz"], 6)
    if one["modulation"] == "ofdm" and rng.random() < 0.3:
        one["bandwidth_khz"] = rng.choice([1000, 6000, 8000])
    if rng.random() < 0.25:
        del one["modulation"]
    if rng.random() < 0.95:
        one["erp_dbm"] = round(rng.uniform(-10, 20), 1)
    if number < 2 or rng.random() < 0.6:
        one["use"], one["receivers"] = "receive", rng.sample(receivers, rng.randint(1, len(receivers)))
    else:
        one["use"] = "transmit"
        if rng.random() < 0.6:
            one["noise_dbc_per_hz"] = round(rng.uniform(-165, -120), 1)
    if rng.random() < 0.6:
        one["nearest_m"] = round(0.1 * 1000 ** rng.random(), 2)
        one["farthest_m"] = round(one["nearest_m"] * 30 ** rng.random(), 2)
    if rng.random() < 0.6:
        one["place_m"] = place(rng)
    if rng.random() < 0.2:
        one["isolation_db"] = {rng.choice(nodes): round(rng.uniform(35, 70), 1)}
    if rng.random() < 0.3:
        one["extra_loss_db"] = round(rng.uniform(0, 15), 1)
    if rng.random() < 0.3:
        one["height_m"] = round(rng.uniform(0.5, 3), 2)
    if rng.random() < 0.3:
        one["conversion_loss_db"] = round(rng.uniform(3, 25), 1)
    return one


def beside_another(rng, carriers, receivers):
    """Some lie in another's channel or close by, some at a response of a receiver, some on another's frequency."""
    for one in carriers[2:]:
        other = rng.choice(carriers[:2])
        kind = rng.random()
        offsets = [p["offset_mhz"] for r in receivers for p in r.get("input", {}).get("spurious_responses", [])]
        if kind < 0.06:
            one["frequency_mhz"] = round(other["frequency_mhz"] + rng.uniform(-0.4, 0.4), 6)
        elif kind < 0.16 and offsets:
            one["frequency_mhz"] = round(other["frequency_mhz"] + rng.choice(offsets) + rng.uniform(-0.3, 0.3), 6)
        elif kind < 0.20:
            one["frequency_mhz"] = other["frequency_mhz"]
    # Of two on one frequency the stronger one's modulation counts, and which that is may change on the way.
    first = {}
    for one in carriers:
        other = first.setdefault(one["frequency_mhz"], one)
        if other is one:
            continue
        one["bandwidth_khz"] = other["bandwidth_khz"]
        one.pop("modulation", None)
        if "modulation" in other:
            one["modulation"] = other["modulation"]


def settings(rng, entry):
    span = entry["gain_db"]
    steps = round((span["highest"] - span["lowest"]) / span["step"])
    one = {"gain_db": span["lowest"] + span["step"] * rng.randint(0, steps), "filter": rng.choice(["slide", "slide", "wide"]),
           "power": rng.random() < 0.9}
    if one["filter"] == "slide":
        one["centre_mhz"] = 480 + 0.5 * rng.randint(100, 260)
    return one


def make(rng, reckon_stages):
    """(rack, show, datasheets, cables)."""
    flat = rng.random() < 0.4  # nothing but filters differs over frequency
    sheets = [sheet(rng, f"sheet-{number}", reckon_stages) for number in (1, 2)]
    nodes = [node(rng, number, flat) for number in range(1, 1 + rng.choice([1, 2, 3]))]
    names = [one["name"] for one in nodes]
    receivers = [receiver(rng, number, names, flat) for number in range(1, 1 + rng.randint(1, 2))]
    set_to = {one["name"]: settings(rng, sheets[int(one["datasheet"][-1]) - 1]) for one in nodes}
    for name in names[1:]:
        if rng.random() < 0.1:
            del set_to[name]
    centre = set_to[names[0]].get("centre_mhz", 560)
    carriers = [carrier(rng, number, [one["name"] for one in receivers], names, centre) for number in range(rng.randint(5, 30))]
    beside_another(rng, carriers, receivers)
    for one in carriers:
        if rng.random() < 0.2:
            one["isolation_from_db"] = {other["name"]: round(rng.uniform(30, 60), 1)
                                        for other in rng.sample(carriers, 2) if other is not one}
    rack = {"name": "at-random", "datasheets": ["sheet-1.json", "sheet-2.json"], "show": "show.json", "cables": "cables.json",
            "lines": [{"name": "bench", "kind": "simulated"}], "nodes": nodes, "receivers": receivers}
    air = rng.choice(["free", "two-ray", "indoor"])
    if air == "two-ray":
        rack["propagation"] = {"two_ray": {"antenna_height_m": round(rng.uniform(1, 8), 2),
                                           "carrier_height_m": round(rng.uniform(0.5, 2), 2)}}
        if rng.random() < 0.7:
            rack["propagation"]["two_ray"]["reflection"] = round(rng.random(), 3)
    elif air == "indoor":
        rack["propagation"] = {"indoor": {"loss_per_decade_db": round(rng.uniform(10, 45), 1)}}
    noise = rng.choice([None, None, "city", "residential", "rural", "measured"])
    if noise == "measured":
        rack["man_made_noise"] = {"measured_db": round(rng.uniform(0, 25), 1)}
    elif noise:
        rack["man_made_noise"] = {"as_in": noise}
    show = {"name": "show", "segments": [{"name": "act", "title": "act", "lanes": [], "carriers": carriers, "settings": set_to}]}
    return rack, show, sheets, cable_table(rng)


def matrix_at_random(rng, name, inputs, outputs):
    p1db = round(rng.uniform(5, 22), 1)
    route = {"gain_db": round(rng.uniform(-4, 8), 2), "noise_figure_db": round(rng.uniform(2, 10), 2), "output_p1db_dbm": p1db,
             "output_ip3_dbm": round(p1db + rng.uniform(8, 20), 1),
             **({"output_ip5_dbm": round(p1db + rng.uniform(4, 12), 1)} if rng.random() < 0.4 else {})}
    losses = [0] + [round(10 * math.log10(count) + rng.uniform(0.01, 3), 2) for count in range(2, inputs + 1)]
    sheet = {"kind": "matrix", "type": name + "-sheet", "title": "at random", "inputs": inputs, "outputs": outputs,
             "combining_losses_db": losses, "trim_db": {"lowest": -20, "step": 0.5}, **route}
    return Unit(name, sheet, route, {}, {}, {}, list(range(1, outputs + 1)))


@dataclasses.dataclass
class Unit:
    """A matrix while its rack is made: how it is set, and which of its outputs nobody has yet."""
    name: str
    sheet: dict
    route: dict
    routes: dict
    trims: dict
    ends_at: dict
    free: list

    def take(self, rng, inputs):
        output = self.free.pop(rng.randrange(len(self.free)))
        self.routes[str(output)] = rng.sample(inputs, len(inputs))
        return output

    def loss(self, output):
        return self.sheet["combining_losses_db"][len(self.routes[str(output)]) - 1]

    def amplifier(self, output):
        return {"amplifier": f"{self.name},_output_{output}", **self.route}

    def passed(self, output):
        """By one antenna alone: what other inputs take from it, and the amplifier."""
        loss = self.loss(output)
        return ([{"loss_db": loss, "name": "other inputs"}] if loss else []) + [self.amplifier(output)]

    def trim(self, number):
        return [{"loss_db": -self.trims[number], "name": "trim"}] if number in self.trims else []

    def told(self):
        return {"name": self.name, "datasheet": self.sheet["type"], "routes": self.routes,
                "trims_db": {str(number): trim for number, trim in self.trims.items()},
                **({"ends_at": self.ends_at} if self.ends_at else {})}


def behind_matrices(rng, rack, two):
    """The rack with a matrix between its feeds and its branches, or two in a row: as the daemon is told of it, what that
    comes to in combiners, pads and amplifiers, and the datasheets of the matrices."""
    told, plain = copy.deepcopy(rack), copy.deepcopy(rack)
    names = [one["name"] for one in rack["nodes"]]
    heard = [name for one in rack["receivers"] for branch in one["branches"] for name in nodes_of(branch)]
    branches = sum(len(one["branches"]) for one in rack["receivers"])
    inputs = len(names) + rng.randint(0, 2)
    unit = matrix_at_random(rng, "unit", inputs, min(32, len(heard) + branches + rng.randint(0, 2)))
    back = matrix_at_random(rng, "back", min(32, len(heard) + branches + 1), branches + 1)
    back_inputs = rng.sample(range(1, back.sheet["inputs"] + 1), back.sheet["inputs"])
    back.trims = {number: -0.5 * rng.randint(1, 40) for number in back_inputs if rng.random() < 0.3}
    plugs = dict(zip(names, rng.sample(range(1, inputs + 1), len(names))))
    unit.trims = {plugs[name]: -0.5 * rng.randint(1, 40) for name in names if rng.random() < 0.5}
    open_inputs = sorted(set(range(1, inputs + 1)) - set(plugs.values()))
    of_name = {one["name"]: one for one in plain["nodes"]}
    for one, other in zip(told["nodes"], plain["nodes"]):
        one["ends_at"] = {"matrix": "unit", "input": plugs[one["name"]]}
        if "feed" in other:
            other["feed"] += unit.trim(plugs[one["name"]])

    def onward(output):
        """From an output of the first to an input of the second."""
        number, between = back_inputs.pop(), [{"loss_db": round(rng.uniform(0, 3), 2), "name": "between"}]
        unit.ends_at[str(output)] = {"matrix": "back", "input": number, "chain": between}
        return number, between + back.trim(number)

    def some_open(chance=0.4):
        return rng.sample(open_inputs, 1) if open_inputs and rng.random() < chance else []

    for one, other in zip(told["receivers"], plain["receivers"]):
        for place, branch in enumerate(one["branches"]):
            nodes, behind = nodes_of(branch), [] if isinstance(branch, list) else branch.get("chain", [])
            alone = all(heard.count(name) == 1 and "feed" in of_name[name] for name in nodes)
            excess = {}
            if two and len(nodes) > 1 and alone and rng.random() < 0.6:  # the second one sums
                taken = []
                for name in nodes:
                    by = unit.take(rng, [plugs[name]] + some_open(0.2))
                    number, between = onward(by)
                    of_name[name]["feed"] += unit.passed(by) + between
                    taken.append(number)
                last, output = back, back.take(rng, taken)
                excess = {"combiner_excess_loss_db": back.loss(output) - 10 * math.log10(len(nodes))}
                chain = [back.amplifier(output)]
            else:
                last, output = unit, unit.take(rng, [plugs[name] for name in nodes] + some_open())
                chain = [unit.amplifier(output)] if len(nodes) > 1 else unit.passed(output)
                if len(nodes) > 1:
                    excess = {"combiner_excess_loss_db": unit.loss(output) - 10 * math.log10(len(nodes))}
                if two and rng.random() < 0.6:  # the first one does, or nobody
                    number, between = onward(output)
                    last, output = back, back.take(rng, [number])
                    chain += between + back.passed(output)
            one["branches"][place] = {"from": {"matrix": last.name, "output": output}, **({"chain": behind} if behind else {})}
            other["branches"][place] = {"nodes": nodes, "chain": chain + behind, **excess}
    units = [unit, back] if two else [unit]
    told["matrices"] = [one.told() for one in units]
    told["datasheets"] = rack["datasheets"] + [one.sheet["type"] + ".json" for one in units]
    return told, plain, [one.sheet for one in units]


def nodes_of(branch):
    return branch if isinstance(branch, list) else branch["nodes"]
