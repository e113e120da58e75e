"""SR-01 to SR-03: what a chip complains of, and lines that come late."""

import unittest

from faulty import FaultyCase
from spoils import flagged

NEAR_PLAN_C = 5.0  # a healthy climb at this moment, and what the elements still give: engineering judgement


class FaultsOfChips(FaultyCase):
    def test_sr_01_an_open_thermocouple_withholds_at_once_and_trips_at_the_third(self):
        firing = self.trips("open", "broken-thermocouple", 2, NEAR_PLAN_C, spoil=flagged("open"))
        self.withholds_within(firing, 0)

    def test_sr_01_two_open_samples_are_borne(self):
        firing = self.goes_on("open for two samples", spoil=flagged("open", 2), for_s=600)
        self.withholds_within(firing, 0)

    def test_sr_02_a_wire_on_ground_or_supply_withholds_at_once_and_trips_at_the_third(self):
        for name in ("short-to-ground", "short-to-supply"):
            firing = self.trips(name, "shorted-thermocouple", 2, NEAR_PLAN_C, spoil=flagged(name))
            self.withholds_within(firing, 0)

    def test_sr_02_two_samples_on_ground_are_borne(self):
        firing = self.goes_on("ground for two samples", spoil=flagged("short-to-ground", 2), for_s=600)
        self.withholds_within(firing, 0)

    def test_sr_03_a_dead_bus_withholds_at_once_and_trips_at_the_third(self):
        firing = self.trips("dead bus", "amplifier-not-answering", 2, NEAR_PLAN_C, spoil=flagged("no-answer"))
        self.withholds_within(firing, 0)

    def test_sr_03_a_gap_of_eight_seconds_withholds_and_the_firing_goes_on(self):
        firing = self.goes_on("no line for 8 s", skip=8.0, for_s=600)
        self.withholds_within(firing, 0)

    def test_sr_03_a_gap_of_twenty_seconds_trips(self):
        self.trips("no line for 20 s", "stale-reading", 0, NEAR_PLAN_C, skip=20.0)


if __name__ == "__main__":
    unittest.main()
