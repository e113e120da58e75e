"""What holds of every firing with a fault, and how one that trips is judged."""

import unittest

import table
from injected import Injected


class FaultyCase(unittest.TestCase):
    """A case of firings that something goes wrong in."""

    def fires(self, fault, **how):
        """Fires, and keeps the row. Whatever is wrong, no bank is on in a line that withholds or trips,
        nor the contactor closed in one that trips."""
        firing = Injected(**how)
        table.add(fault, firing)
        self.assertEqual(firing.heated_against, [], f"{fault}: seconds with heat against a withhold or trip")
        return firing

    def trips(self, fault, names, within_s, over_plan_c, **how):
        """It trips by one of these names, in time, and the true chamber stays within the bound."""
        firing = self.fires(fault, **how)
        self.assertIn(firing.trip, (names,) if isinstance(names, str) else names, fault)
        self.assertGreaterEqual(firing.trip_at, 0, fault)
        self.assertLessEqual(firing.trip_at, within_s, fault)
        self.assertLessEqual(firing.over_plan_c, over_plan_c, fault)
        return firing

    def goes_on(self, fault, **how):
        """It does not trip."""
        firing = self.fires(fault, **how)
        self.assertIsNone(firing.trip, fault)
        return firing

    def withholds_within(self, firing, seconds):
        self.assertIsNotNone(firing.withheld_at)
        self.assertGreaterEqual(firing.withheld_at, 0)
        self.assertLessEqual(firing.withheld_at, seconds)
