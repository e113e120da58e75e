"""A kiln model of its own, written apart from the Rust one, to fire against over co-simulation.

One zone, two banks. Elements radiate to the lining's hot face and to the ware; the lining is ten
cells of insulating firebrick; the thermocouple lags. Standard library only.

Sources: Stefan-Boltzmann constant 5.670374e-8 W/m2K4 (CODATA 2018); brick conductivity
0.10 + 1e-4 T W/mK and 490 kg/m3 (VDI Heat Atlas D6, insulating firebrick, 1260 C class); heat
capacity of alumina-silicate ware about 1000 J/kgK and of FeCrAl wire about 700 J/kgK (memory).
"""

import random

SIGMA = 5.670374e-8
CELLS = 10


class Kiln:
    """The plant. Temperatures in deg C, powers in W, times in s."""

    def __init__(self, load_kg=40.0, mains=1.0, ambient_c=20.0, wall=1.0, noise_c=0.1, seed=1):
        self.random = random.Random(seed)
        self.power_w = [5500.0, 5500.0]
        self.mains = mains
        self.ambient_c = ambient_c
        self.noise_c = noise_c
        self.area_m2 = 1.55
        self.thickness_m = 0.100 * wall
        self.cell_m = self.thickness_m / CELLS
        self.cell_j_per_k = self.area_m2 * self.cell_m * 490.0 * 985.0
        self.elements_c = [ambient_c, ambient_c]
        self.wall_c = [ambient_c] * CELLS
        self.ware_c = [ambient_c, ambient_c]
        self.ware_j_per_k = [0.4 * load_kg * 1000.0, 0.6 * load_kg * 1000.0]
        self.ware_inner_w_per_k = load_kg * 2.2
        self.junction_c = ambient_c
        self.box_c = ambient_c + 3.0
        self.dead = [False, False]
        self.welded = [False, False]
        self.contactor_welded = False
        self.opening_m2 = 0.0
        self.used_j = 0.0

    def step(self, banks, contactor):
        """One second."""
        for _ in range(2):
            self._half_second(banks, contactor)

    def _half_second(self, banks, contactor):
        dt = 0.5
        closed = contactor or self.contactor_welded
        given = []
        for number in range(2):
            on = (banks[number] or self.welded[number]) and closed and not self.dead[number]
            given.append(self.power_w[number] * self.mains**2 if on else 0.0)
        self.used_j += sum(given) * dt
        skin_k4 = (self.wall_c[0] + 273.15) ** 4
        ware_k4 = (self.ware_c[0] + 273.15) ** 4
        to_skin = to_ware = 0.0
        for number in range(2):
            e_k4 = (self.elements_c[number] + 273.15) ** 4
            skin_w = SIGMA * 0.11 * (e_k4 - skin_k4) + 1.2 * (self.elements_c[number] - self.wall_c[0])
            ware_w = SIGMA * 0.07 * (e_k4 - ware_k4) + 0.8 * (self.elements_c[number] - self.ware_c[0])
            self.elements_c[number] += dt * (given[number] - skin_w - ware_w) / (2.6 * 700.0)
            to_skin += skin_w
            to_ware += ware_w
        across = SIGMA * 0.5 * (skin_k4 - ware_k4) + 4.0 * (self.wall_c[0] - self.ware_c[0])
        inner = self.ware_inner_w_per_k * (self.ware_c[0] - self.ware_c[1])
        self.ware_c[0] += dt * (to_ware + across - inner) / self.ware_j_per_k[0]
        self.ware_c[1] += dt * inner / self.ware_j_per_k[1]
        leak = 0.35 * (self.wall_c[0] - self.ambient_c)
        glow = SIGMA * self.opening_m2 * (skin_k4 - (self.ambient_c + 273.15) ** 4)
        self._conduct(dt, to_skin - across - leak - glow)
        seen = 0.5 * self.wall_c[0] + 0.3 * self.ware_c[0] + 0.1 * sum(self.elements_c)
        self.junction_c += dt * (seen - self.junction_c) / 18.0
        self.box_c += dt * (self.ambient_c + 3.0 + 0.012 * (self.wall_c[-1] - self.ambient_c) - self.box_c) / 900.0

    def _conduct(self, dt, skin_w):
        flows = [skin_w]
        for left in range(CELLS - 1):
            k = 0.10 + 1e-4 * 0.5 * (self.wall_c[left] + self.wall_c[left + 1])
            flows.append(k * self.area_m2 / self.cell_m * (self.wall_c[left] - self.wall_c[left + 1]))
        flows.append(11.0 * self.area_m2 * (self.wall_c[-1] - self.ambient_c))
        for cell in range(CELLS):
            self.wall_c[cell] += dt * (flows[cell] - flows[cell + 1]) / self.cell_j_per_k

    def head_c(self):
        """Where the thermocouple's terminals stand, between shed and outer face: engineering judgement."""
        return self.ambient_c + 0.35 * (self.wall_c[-1] - self.ambient_c)

    def reading(self):
        """What a linearising chip would report, and its cold junction."""
        step = 0.0078125
        noisy = self.junction_c + self.random.gauss(0.0, self.noise_c)
        return round(noisy / step) * step, round(self.box_c / 0.015625) * 0.015625
