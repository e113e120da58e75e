"""The kiln coded anew against the simulated one, and the searches against plain cases."""

import os
import unittest
from pathlib import Path

import numpy as np

from firing import Firing, closings
from kiln import Kiln, black_w_per_m2, resistance_factor
from relays import LEAST_S, patterns

EXPORTS = Path(os.environ["BOUND_EXPORTS"])
# What two ways of stepping may differ by in a firing of 16 h up to 1220 °C; the simulated kiln's own way
# is known to 0.006 °C (docs/figures.md).
AGREES_C = 0.03
ELEMENT_AGREES_C = 0.1  # a hundredth of what they move by in a second when a relay turns



class TheKiln(unittest.TestCase):
    def test_at_the_same_powers_it_goes_through_the_same_temperatures(self):
        for name in ("one-bank", "two-banks", "drawn-1"):
            kiln, firing = Kiln(EXPORTS / name / "kiln.json"), Firing(EXPORTS / name / "firing.csv")
            banks, state, found_c = kiln.banks, kiln.cold(), []
            for powers_w in firing.power_in_w().tolist():
                state = kiln.second(state, powers_w)
                found_c.append((state[-1], *state[banks : banks + 3], state[-2], state[0]))
            parts = {**firing.true_c, "element_c": firing.element_c[:, 0]}
            for at, (part, true_c) in enumerate(parts.items()):
                most_c = float(np.abs(np.array(found_c)[:, at] - true_c).max())
                print(f"{name}, {part}: {most_c:.3f} °C apart at most")
                self.assertLess(most_c, ELEMENT_AGREES_C if part == "element_c" else AGREES_C, f"{name}, {part}")

    def test_nothing_moves_in_a_kiln_as_warm_as_its_surroundings(self):
        kiln = Kiln(EXPORTS / "two-banks" / "kiln.json")
        kiln.start_c = kiln.ambient_c
        rates = kiln.rates(kiln.cold(), [0.0, 0.0])
        self.assertLess(max(abs(rate) for rate in rates), 1e-12)

    def test_a_black_surface_at_1000_k_emits_what_tables_say(self):
        # Stefan and Boltzmann's law: 56.7 kW/m² at 1000 K (any handbook of heat transfer)
        self.assertAlmostEqual(black_w_per_m2(726.85), 56703.7, delta=1.0)

    def test_resistance_follows_the_wire_makers_table(self):
        for at_c, factor in ((20.0, 1.0), (700.0, 1.02), (1150.0, 1.04), (1350.0, 1.045), (1500.0, 1.05)):
            self.assertAlmostEqual(resistance_factor(at_c), factor, places=12)


class TheRelays(unittest.TestCase):
    def test_no_pattern_of_a_window_is_shorter_than_a_relay_may_stand(self):
        for banks in (1, 2):
            for pattern in patterns(20, banks, 0):
                on_s = pattern.sum(axis=0)
                self.assertTrue(all(n in (0, 20) or LEAST_S <= n <= 20 - LEAST_S for n in on_s))

    def test_closings_are_counted_of_the_busiest_relay(self):
        first, second = [1, 1, 0, 1, 0, 1], [0, 1, 1, 1, 0, 0]
        self.assertEqual(closings(np.array([first, second], dtype=bool).T), 3)
