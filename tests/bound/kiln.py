"""The simulated kiln's heat, coded anew from what crates/kiln-sim says of it: one zone, one layer of lining.

Elements radiate into a chamber that is evenly irradiated and holds one body of gas; ware (surface and
core), lining (nodes from hot face to outer face) and the probe's junction take from both. Steps are
Runge and Kutta's of fourth order, not Heun's as there.

A state is a list of °C: an element for each bank, ware surface, ware core, lining's nodes, junction.
"""

import json

ZERO_C_IN_K = 273.15  # SI Brochure, 9th edition
STEFAN_BOLTZMANN = 5.670374419e-8  # W/m²K⁴, CODATA 2018
NODES = 10
GROWTH = 1.15  # each interval of the lining over the one before it

# As crates/kiln-sim/src states them, with their sources.
WIRE_DENSITY, WIRE_HEAT = 7100.0, (470.0, 0.25)
COIL_SEEN, WIRE_EMISSIVITY, WIRE_CONVECTION = 0.5, 0.7, 20.0
RESISTANCE = ((400.0, 1.0), (1000.0, 1.04), (1300.0, 1.04), (1400.0, 1.05))
CONVECTION, WALL_EMISSIVITY, WARE_EMISSIVITY, SHELL_EMISSIVITY = 6.0, 0.8, 0.9, 0.8
WARE_HEAT, WARE_SKIN, CORE_HEAT_AT_C = (850.0, 0.25), 0.4, 600.0
JUNCTION_EMISSIVITY, JUNCTION_CONVECTION, LAG_STATED_AT_C = 0.85, 35.0, 1000.0


def black_w_per_m2(at_c):
    """Emissive power of a black surface."""
    squared = (at_c + ZERO_C_IN_K) ** 2
    return STEFAN_BOLTZMANN * squared * squared


def resistance_factor(at_c):
    """Resistance of the wire over its cold one: straight lines between the table's points."""
    below_c, below = RESISTANCE[0]
    if at_c <= below_c:
        return below
    for above_c, above in RESISTANCE[1:]:
        if at_c <= above_c:
            return below + (above - below) * (at_c - below_c) / (above_c - below_c)
        below_c, below = above_c, above
    return below


class Kiln:
    """One kiln, from the parameters that `law-bench export` writes."""

    def __init__(self, path):
        with open(path, encoding="utf-8") as file:
            told = json.load(file)
        if told["zones"] != 1 or len(told["lining"]) != 1 or len(told["probes"]) != 1:
            raise SystemExit(f"{path}: only kilns of one zone, one probe and one layer of lining are modelled here")
        self.start_c, self.ambient_c = told["start_c"], told["ambient_c"]
        self.ambient_black = black_w_per_m2(self.ambient_c)
        self.banks = len(told["banks"])
        ratio = (told["mains_v"] / told["rated_v"]) ** 2
        self.cold_w = [bank["rated_w"] * ratio for bank in told["banks"]]
        self._elements(told)
        self._ware(told["ware"])
        side_m = (told["chamber_l"] / 1000.0) ** (1.0 / 3.0)
        self._lining(told["lining"][0], side_m)
        probe = told["probes"][0]
        slope = 4.0 * STEFAN_BOLTZMANN * (LAG_STATED_AT_C + ZERO_C_IN_K) ** 3
        self.junction_capacity = probe["lag_s"] * (JUNCTION_EMISSIVITY * slope + JUNCTION_CONVECTION)
        self.element_view = probe["element_view"]
        self.gaps_m2, self.leak_w_per_k = told["gaps_m2"], told["leak_w_per_k"]
        self._weights()

    def _elements(self, told):
        wire = told["wire"]
        self.elements = []
        for bank in told["banks"]:
            area_m2 = bank["rated_w"] / (wire["surface_load_w_per_cm2"] * 1e4)
            mass_kg = WIRE_DENSITY * area_m2 * wire["diameter_mm"] / 1000.0 / 4.0
            grey = WIRE_EMISSIVITY * COIL_SEEN * area_m2
            self.elements.append((grey, WIRE_CONVECTION * COIL_SEEN * area_m2, mass_kg))

    def _ware(self, ware):
        mass_kg = ware["mass_kg"]
        self.skin_kg, self.core_kg = WARE_SKIN * mass_kg, (1.0 - WARE_SKIN) * mass_kg
        self.ware_m2 = ware["area_m2"]
        core_j_per_k = self.core_kg * (WARE_HEAT[0] + WARE_HEAT[1] * CORE_HEAT_AT_C)
        self.core_w_per_k = core_j_per_k / ware["core_lag_s"]

    def _lining(self, layer, side_m):
        shares = [GROWTH**i for i in range(NODES - 1)]
        widths_m = [layer["thickness_m"] * share / sum(shares) for share in shares]
        conductivity, heat = layer["conductivity_w_per_mk"], layer["heat_capacity_j_per_kgk"]
        area_m2 = lambda depth_m: 6.0 * (side_m + 2.0 * depth_m) ** 2
        self.conductances, kg, depth_m = [], [0.0] * NODES, 0.0
        for i, width_m in enumerate(widths_m):
            middle_m2 = area_m2(depth_m + width_m / 2.0)
            half_kg = layer["density_kg_per_m3"] * middle_m2 * width_m / 2.0
            kg[i] += half_kg
            kg[i + 1] += half_kg
            self.conductances.append(tuple(term * middle_m2 / width_m for term in conductivity))
            depth_m += width_m
        self.capacities = [tuple(term * node_kg for term in heat) for node_kg in kg]
        self.hot_m2, self.outer_m2 = area_m2(0.0), area_m2(depth_m)

    def _weights(self):
        self.radiant_ware, self.radiant_face = WARE_EMISSIVITY * self.ware_m2, WALL_EMISSIVITY * self.hot_m2
        radiant = self.radiant_ware + self.radiant_face + self.gaps_m2
        self.radiant_all = radiant + sum(grey for grey, _, _ in self.elements)
        gas = CONVECTION * (self.ware_m2 + self.hot_m2) + self.leak_w_per_k
        self.gas_all = gas + sum(convection for _, convection, _ in self.elements)

    def cold(self):
        """The state of a kiln that stood for long."""
        return [self.start_c] * (self.banks + 2 + NODES + 1)

    def rates(self, state, powers_w):
        """Rates of change in °C/s; powers are those that the elements really draw."""
        banks = self.banks
        surface, core, wall, junction = state[banks], state[banks + 1], state[banks + 2 : -1], state[-1]
        black_surface, black_face = black_w_per_m2(surface), black_w_per_m2(wall[0])
        dark = self.radiant_ware * black_surface + self.radiant_face * black_face
        irradiation = dark + self.gaps_m2 * self.ambient_black
        gas = CONVECTION * (self.ware_m2 * surface + self.hot_m2 * wall[0]) + self.leak_w_per_k * self.ambient_c
        glow = []
        for (grey, convection, _), at_c in zip(self.elements, state):
            glow.append(black_w_per_m2(at_c))
            irradiation += grey * glow[-1]
            gas += convection * at_c
        irradiation, gas = irradiation / self.radiant_all, gas / self.gas_all
        rates = [
            (power + grey * (irradiation - black) + convection * (gas - at_c))
            / (mass_kg * (WIRE_HEAT[0] + WIRE_HEAT[1] * at_c))
            for power, (grey, convection, mass_kg), black, at_c in zip(powers_w, self.elements, glow, state)
        ]
        into_ware = self.radiant_ware * (irradiation - black_surface) + CONVECTION * self.ware_m2 * (gas - surface)
        into_core = self.core_w_per_k * (surface - core)
        rates.append((into_ware - into_core) / (self.skin_kg * (WARE_HEAT[0] + WARE_HEAT[1] * surface)))
        rates.append(into_core / (self.core_kg * (WARE_HEAT[0] + WARE_HEAT[1] * core)))
        into_wall = self.radiant_face * (irradiation - black_face) + CONVECTION * self.hot_m2 * (gas - wall[0])
        self._wall_rates(wall, into_wall, rates)
        dark /= self.radiant_ware + self.radiant_face
        seen = dark + self.element_view * (irradiation - dark)
        gained = JUNCTION_EMISSIVITY * (seen - black_w_per_m2(junction)) + JUNCTION_CONVECTION * (gas - junction)
        rates.append(gained / self.junction_capacity)
        return rates

    def _wall_rates(self, wall, entering_w, rates):
        excess_k = wall[-1] - self.ambient_c
        radiated = SHELL_EMISSIVITY * (black_w_per_m2(wall[-1]) - self.ambient_black)
        lost_w = self.outer_m2 * ((3.2 + 0.0225 * abs(excess_k)) * excess_k + radiated)
        for i, at_c in enumerate(wall):
            if i < NODES - 1:
                k0, k1, k2 = self.conductances[i]
                mean_c = 0.5 * (at_c + wall[i + 1])
                leaving_w = (k0 + mean_c * (k1 + mean_c * k2)) * (at_c - wall[i + 1])
            else:
                leaving_w = lost_w
            c0, c1, c2 = self.capacities[i]
            rates.append((entering_w - leaving_w) / (c0 + at_c * (c1 + at_c * c2)))
            entering_w = leaving_w

    def drawn_w(self, state, shares):
        """What the elements draw at these shares of full time, at their temperatures."""
        return [
            share * cold_w / resistance_factor(at_c)
            for share, cold_w, at_c in zip(shares, self.cold_w, state)
        ]

    def second(self, state, powers_w):
        """The state a second later, at powers that stand."""
        ahead = lambda rates, s: [value + s * rate for value, rate in zip(state, rates)]
        first = self.rates(state, powers_w)
        second = self.rates(ahead(first, 0.5), powers_w)
        third = self.rates(ahead(second, 0.5), powers_w)
        fourth = self.rates(ahead(third, 1.0), powers_w)
        return [
            value + (a + 2.0 * (b + c) + d) / 6.0
            for value, a, b, c, d in zip(state, first, second, third, fourth)
        ]
