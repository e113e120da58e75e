"""The searches: no closer than power of any value, and within what relays may do."""

import os
import unittest
from pathlib import Path

import numpy as np

from continuous import follow
from firing import Firing, closings
from free import FreeSearch
from kiln import Kiln
from relays import LEAST_S, Search

EXPORTS = Path(os.environ["BOUND_EXPORTS"])
BEGINNING_S = 5400


class TheSearches(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.kiln = Kiln(EXPORTS / "one-bank" / "kiln.json")
        cls.firing = beginning(Firing(EXPORTS / "one-bank" / "firing.csv"))
        cls.best = follow(cls.kiln, cls.firing)

    def off_c(self, junction_c):
        """Root mean square after the first half hour."""
        return float(np.sqrt(np.mean((junction_c - self.firing.setpoint_c)[1800:] ** 2)))

    def test_power_of_any_value_follows_to_a_thousandth(self):
        junction_c = np.array([state[-1] for state in self.best[1][1:]])
        self.assertLess(self.off_c(junction_c), 1e-3)

    def test_a_dearer_closing_gives_fewer_operations_and_follows_less_closely(self):
        search = FreeSearch(self.kiln, self.firing, self.best)
        (busy_c, busy), (lazy_c, lazy) = search.fire(2.0), search.fire(20.0)
        self.assertGreater(closings(busy), closings(lazy))
        self.assertLess(self.off_c(busy_c), self.off_c(lazy_c))
        for levels in (busy, lazy):
            turns = np.flatnonzero(np.diff(levels[:, 0].astype(int)))
            self.assertGreaterEqual(np.diff(turns).min(), LEAST_S)

    def test_without_windows_it_follows_at_least_as_closely_for_as_many_operations(self):
        windowed_c, windowed = Search(self.kiln, self.firing, self.best, 20).fire()
        free_c, free = FreeSearch(self.kiln, self.firing, self.best).fire(4.0)
        self.assertLessEqual(closings(free), closings(windowed))
        self.assertLess(self.off_c(free_c), self.off_c(windowed_c))


def beginning(firing):
    """The first hour and a half of a firing."""
    firing.parts, firing.setpoint_c = firing.parts[:BEGINNING_S], firing.setpoint_c[:BEGINNING_S]
    firing.power_w, firing.element_c = firing.power_w[:BEGINNING_S], firing.element_c[:BEGINNING_S]
    return firing
