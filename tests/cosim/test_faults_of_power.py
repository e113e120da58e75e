"""SR-21 to SR-26: relays, elements, mains, lid."""

import unittest

from faulty import FaultyCase
from outside_kiln import Kiln

HOT = 25_000  # second of the schedule at which the chamber is near 950 °C
ALL, ONE = [True, True], [True, False]


def welds(which, contactor=False):
    def breaks(kiln):
        kiln.welded, kiln.contactor_welded = which, contactor

    return breaks


def dies(which):
    def breaks(kiln):
        kiln.dead = which

    return breaks


def opens(m2):
    def breaks(kiln):
        kiln.opening_m2 = m2

    return breaks


class FaultsOfPower(FaultyCase):
    def test_sr_21_all_relays_welded_trip_in_minutes(self):
        for at, where_c, over_c in ((500, 30, 80.0), (9_000, 280, 70.0), (HOT, 950, 40.0)):
            self.trips(
                f"all relays welded at {where_c} °C", "above-plan", 300, over_c, breaks=welds(ALL), at=at,
            )

    def test_sr_21_one_relay_of_two_welded_trips_where_it_outruns_the_plan(self):
        firing = self.trips("one relay welded at 280 °C", "above-plan", 900, 40.0, breaks=welds(ONE))
        self.withholds_within(firing, 600)

    def test_sr_22_one_relay_of_two_welded_trips_where_it_holds_the_kiln_up(self):
        # Where the plan needs about that bank's power it takes longest: the other one makes room for it.
        for at, where_c, within_s in ((16_000, 570, 900), (26_000, 990, 3600), (33_300, 1190, 900)):
            self.trips(
                f"one relay welded at {where_c} °C", "heating-while-off", within_s, 25.0, breaks=welds(ONE), at=at,
            )

    def test_sr_22_relays_and_contactor_welded_in_a_fall_are_named_for_what_they_are(self):
        # Nothing the program can switch ends this one: a person pulls the breaker.
        firing = self.trips(
            "all relays and the contactor welded in a fall", "heating-while-off", 600, 60.0,
            breaks=welds(ALL, True), at=35_900,
        )
        self.assertGreater(firing.kiln.junction_c, firing.plan_c)

    def test_sr_21_relays_and_contactor_welded_in_a_climb_are_told(self):
        # Five minutes after the trip the kiln still gets full power.
        self.trips(
            "all relays and the contactor welded in a climb", "above-plan", 300, 150.0, breaks=welds(ALL, True),
        )

    def test_sr_23_all_elements_dead_trip(self):
        for at, where_c in ((2_500, 60), (9_000, 280), (HOT, 950)):
            self.trips(
                f"all banks dead at {where_c} °C", "not-heating", 1900, 5.0, breaks=dies(ALL), at=at,
            )

    def test_sr_23_one_of_two_banks_dead_does_not_trip_a_kiln_that_still_climbs(self):
        for at, where_c in ((9_000, 280), (HOT, 950)):
            firing = self.goes_on(f"one bank dead at {where_c} °C", breaks=dies(ONE), at=at, for_s=51_000)
            self.assertLess(firing.over_plan_c, 5.0)
            self.assertGreater(firing.peak_c, 1195.0)

    def test_sr_24_a_lid_ajar_that_nothing_senses_is_told_as_a_stalled_kiln(self):
        firing = self.goes_on("lid ajar, no contact", breaks=opens(0.05), at=HOT, for_s=20_000)
        self.assertLessEqual(firing.told["kiln-stalled"], 12_000)
        self.assertIsNone(firing.withheld)

    def test_sr_24_a_kiln_with_a_tenth_less_mains_is_not_told(self):
        def sags(kiln):
            kiln.mains = 0.9

        firing = self.goes_on("mains sag of 10 %", breaks=sags, for_s=51_000)
        self.assertEqual(firing.told, {})
        self.assertIsNone(firing.withheld)
        self.assertIn(firing.phase, ("cooling", "cool-enough-to-open"))
        self.assertLess(firing.over_plan_c, 5.0)
        self.assertGreater(firing.peak_c, 1195.0)

    def test_sr_23_a_wide_open_lid_that_nothing_senses_trips_a_hot_kiln(self):
        self.trips("lid open at 950 °C, no contact", "not-heating", 600, 5.0, breaks=opens(0.25), at=HOT)

    def test_sr_26_a_lid_left_open_withholds_at_once_and_trips(self):
        for at, where_c in ((9_000, 280), (HOT, 950)):
            firing = self.trips(
                f"lid left open at {where_c} °C", "lid-open", 1800, 5.0, breaks=opens(0.25), lid="open", at=at,
            )
            self.withholds_within(firing, 0)

    def test_sr_25_a_firing_that_takes_half_as_long_again_trips(self):
        weak = Kiln(load_kg=160.0, mains=0.75)
        firing = self.trips(
            "four times the load, mains 25 % low", "firing-too-long", 110_000, 5.0, kiln=weak, at=0, for_s=110_000,
        )
        self.assertIn("firing-too-long", firing.told)


if __name__ == "__main__":
    unittest.main()
