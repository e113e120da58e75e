"""SR-04 to SR-12: readings that are wrong although the chip is content."""

import unittest

import spoils
from faulty import FaultyCase

NEAR_PLAN_C = 5.0  # a healthy climb at these moments, and what the elements still give: engineering judgement
HOT = 25_000  # second of the schedule at which the chamber is near 950 °C


class FaultsOfReadings(FaultyCase):
    def test_sr_04_a_frozen_reading_trips_in_half_a_minute(self):
        for fault, at in (("frozen at 280 °C", 9_000), ("frozen at 950 °C", HOT)):
            self.trips(fault, "stuck-reading", 31, NEAR_PLAN_C, spoil=spoils.frozen(), at=at, for_s=600)

    def test_sr_05_a_jump_that_stays_is_discarded_at_once_and_trips(self):
        for c in (20.0, -20.0):
            firing = self.trips(f"jump of {c:+.0f} °C", "jumping-reading", 5, NEAR_PLAN_C, spoil=spoils.off_by(c))
            self.withholds_within(firing, 0)

    def test_sr_05_one_glitch_is_discarded_and_the_firing_goes_on(self):
        firing = self.goes_on("glitch of -30 °C", spoil=spoils.off_by(-30.0, 1), for_s=600)
        self.withholds_within(firing, 0)

    def test_sr_06_growing_noise_is_told_and_trips_before_its_deviation_is_eight_degrees(self):
        # Chance makes single differences and slopes of strong noise pass for jumps and for a tip on its
        # way out, so SR-05 or SR-09 may trip before SR-06 does.
        for c_per_h in (3.0, 30.0, 100.0):
            grown_s = 8.0 * 3600.0 / c_per_h
            firing = self.trips(
                f"noise growing {c_per_h:.0f} °C/h", ("jagged-reading", "jumping-reading", "thermocouple-pulled-out"),
                grown_s, 10.0, spoil=spoils.noisy(c_per_h, 20.0), for_s=16_000,
            )
            self.assertLess(firing.told["jagged-reading"], 3.0 * 3600.0 / c_per_h)
            self.assertLess(firing.withheld_at, firing.trip_at)

    def test_sr_06_noise_of_half_a_degree_is_not_even_told(self):
        firing = self.goes_on("noise of 0.5 °C", spoil=spoils.noisy(30.0, 0.5), for_s=6_000)
        self.assertEqual(firing.told, {})
        self.assertIsNone(firing.withheld)

    def test_sr_07_a_reversed_thermocouple_trips_while_the_kiln_is_cold(self):
        firing = self.trips(
            "reversed", "reversed-thermocouple", 600, 30.0, spoil=spoils.reversed_at_the_amplifier, at=0,
        )
        self.assertLess(firing.peak_c, 100.0)

    def test_sr_08_a_lead_shorted_at_light_up_trips_before_the_kiln_is_at_300_degrees(self):
        # Shorted lead and no heat look the same from outside; each one's words name the other.
        places = (("at the amplifier", spoils.shorted_at_the_amplifier), ("at the head", spoils.shorted(0.0)))
        for fault, spoil in places:
            firing = self.trips(
                f"upstream short {fault}, from light-up", ("shorted-lead", "not-heating"), 3000, 280.0,
                spoil=spoil, at=0,
            )
            self.assertLess(firing.peak_c, 300.0)

    def test_sr_05_an_upstream_short_in_mid_firing_is_a_jump(self):
        for fault, share in (("at the head", 0.0), ("nine tenths in", 0.9)):
            firing = self.trips(
                f"upstream short {fault}, at 280 °C", "jumping-reading", 5, NEAR_PLAN_C, spoil=spoils.shorted(share),
            )
            self.withholds_within(firing, 0)

    def test_sr_09_a_thermocouple_that_is_pulled_out_trips_in_seconds(self):
        names = ("thermocouple-pulled-out", "jumping-reading")
        for tau_s, at in ((20, 9_000), (60, 9_000), (60, HOT), (400, HOT)):
            where = "950" if at == HOT else "280"
            firing = self.trips(
                f"pulled out at {where} °C, time constant {tau_s} s", names, 10, NEAR_PLAN_C,
                spoil=spoils.drawn_out(1.0, tau_s), at=at, for_s=600,
            )
            self.withholds_within(firing, 5)

    def test_sr_23_one_that_creeps_out_slower_than_a_degree_a_second_is_found_by_its_energy(self):
        for share, far in ((1.0, "wholly"), (0.5, "by half")):
            self.trips(
                f"creeps out {far} at 280 °C", "not-heating", 300, 50.0,  # SR-21's bound
                spoil=spoils.drawn_out(share, 400),
            )

    def test_sr_08_a_thermocouple_that_lies_beside_the_kiln_from_light_up_trips(self):
        firing = self.trips(
            "outside the kiln from light-up", ("shorted-lead", "not-heating"), 3000, 280.0,
            spoil=spoils.drawn_out(1.0, 60), at=0,
        )
        self.assertLess(firing.peak_c, 300.0)

    def test_sr_12_a_box_that_warms_is_told_then_withholds_at_70_and_trips_at_80(self):
        for c_per_min in (1.0, 3.0):
            firing = self.trips(
                f"box warming {c_per_min:.0f} °C/min", "enclosure-hot", 60.0 * 60.0 / c_per_min, NEAR_PLAN_C,
                spoil=spoils.box_warms(c_per_min, 120.0),
            )
            self.assertEqual(firing.withheld, "enclosure-hot")
            ten_degrees_s = 600.0 / c_per_min
            self.assertLess(abs(firing.trip_at - firing.withheld_at - ten_degrees_s), 5.0)
            self.assertLess(firing.told["enclosure-hot"], firing.withheld_at - ten_degrees_s + 5.0)

    def test_sr_12_a_box_at_75_is_borne_for_half_an_hour(self):
        firing = self.trips("box at 75 °C", "enclosure-hot", 4_000, NEAR_PLAN_C, spoil=spoils.box_warms(3.0, 75.0))
        self.assertEqual(firing.trip_at - firing.withheld_at, 1799)

    def test_sr_12_a_box_at_65_is_told_and_heating_goes_on(self):
        firing = self.goes_on("box at 65 °C", spoil=spoils.box_warms(3.0, 65.0), for_s=6_000)
        self.assertIn("enclosure-hot", firing.told)
        self.assertIsNone(firing.withheld)


if __name__ == "__main__":
    unittest.main()
