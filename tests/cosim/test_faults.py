"""Faults injected from outside: heat is withheld in the same line, or once the condition is met,
and each trips as `docs/safety.md` says."""

import os
import unittest

from outside_kiln import Kiln
from session import Session
from test_healthy import KILN_FILE, PROGRAM, SCHEDULE

FAULT = {"reading_c": None, "cold_junction_c": 22.0, "faults": []}


class Firing:
    """A firing in which something goes wrong at a time; it ends at the trip."""

    def __init__(self, spoil=None, break_kiln=None, at=9000, until=20_000, kiln=None, skip=None):
        self.kiln = kiln or Kiln()
        self.at = at
        self.withheld_at = self.trip_at = None
        self.withheld = self.trip = None
        session = Session(PROGRAM, KILN_FILE, SCHEDULE)
        banks, contactor, clock, welded = [False, False], False, 0.0, False
        for t in range(until):
            if t == at and break_kiln:
                break_kiln(self.kiln)
            self.kiln.step(banks, contactor or getattr(self.kiln, "contactor_welded", False))
            reading, box = self.kiln.reading()
            probe = {"reading_c": reading, "cold_junction_c": box, "faults": []}
            if spoil and t >= at:
                probe = spoil(t - at, self.kiln, probe)
            clock += 1.0 + (skip if skip and t == at else 0.0)
            line = {"t": clock, "probes": {"middle": probe}, "inputs": {}, "amps": None, "orders": []}
            answer = session.step(line)
            banks = [answer["banks"]["upper"], answer["banks"]["lower"]]
            contactor = answer["contactor"]
            if answer["withheld"] and self.withheld_at is None:
                self.withheld_at, self.withheld = t - at, answer["withheld"]
                self.heat_when_withheld = banks
            if answer["trip"]:
                self.trip_at, self.trip = t - at, answer["trip"]
                self.heat_at_trip = banks + [contactor]
                break
        session.end()


def flags(name):
    return lambda since, kiln, probe: {**FAULT, "faults": [name]}


class Faults(unittest.TestCase):
    def trips(self, name, firing, within):
        self.assertEqual(firing.trip, name)
        self.assertLessEqual(firing.trip_at, within)
        self.assertEqual(firing.heat_at_trip, [False, False, False])
        print(f"{name:26} withheld after {firing.withheld_at} s, tripped after {firing.trip_at} s")

    def withholds_at_once(self, firing):
        self.assertLessEqual(firing.withheld_at, 0)
        self.assertEqual(firing.heat_when_withheld, [False, False])

    def test_sr_01_an_open_thermocouple(self):
        firing = Firing(spoil=flags("open"))
        self.withholds_at_once(firing)
        self.trips("broken-thermocouple", firing, 3)

    def test_sr_01_two_open_samples_are_borne(self):
        blip = lambda since, kiln, probe: {**FAULT, "faults": ["open"]} if since < 2 else probe
        firing = Firing(spoil=blip, until=9600)
        self.withholds_at_once(firing)
        self.assertIsNone(firing.trip)

    def test_sr_02_shorts_to_ground_and_supply(self):
        for name in ("short-to-ground", "short-to-supply"):
            firing = Firing(spoil=flags(name))
            self.withholds_at_once(firing)
            self.trips("shorted-thermocouple", firing, 3)

    def test_sr_03_a_dead_bus(self):
        firing = Firing(spoil=flags("no-answer"))
        self.withholds_at_once(firing)
        self.trips("amplifier-not-answering", firing, 3)

    def test_sr_03_a_gap_of_eight_seconds_withholds_and_the_firing_goes_on(self):
        firing = Firing(skip=8.0, until=9600)
        self.withholds_at_once(firing)
        self.assertIsNone(firing.trip)

    def test_sr_03_a_gap_of_twenty_seconds_trips(self):
        self.trips("stale-reading", Firing(skip=20.0, until=9100), 0)

    def test_sr_04_a_frozen_reading(self):
        held = {}
        freeze = lambda since, kiln, probe: {**probe, "reading_c": held.setdefault("c", probe["reading_c"])}
        self.trips("stuck-reading", Firing(spoil=freeze), 31)

    def test_sr_05_a_jump_that_stays(self):
        jump = lambda since, kiln, probe: {**probe, "reading_c": probe["reading_c"] + 20.0}
        firing = Firing(spoil=jump)
        self.withholds_at_once(firing)
        self.trips("jumping-reading", firing, 10)

    def test_sr_05_one_glitch_is_discarded_and_the_firing_goes_on(self):
        glitch = lambda since, kiln, probe: {**probe, "reading_c": probe["reading_c"] - 30.0} if since == 0 else probe
        firing = Firing(spoil=glitch, until=9600)
        self.withholds_at_once(firing)
        self.assertIsNone(firing.trip)

    def test_sr_07_a_reversed_thermocouple(self):
        turned = lambda since, kiln, probe: {**probe, "reading_c": 2 * probe["cold_junction_c"] - probe["reading_c"]}
        firing = Firing(spoil=turned, at=0)
        self.trips("reversed-thermocouple", firing, 1800)
        self.assertLess(firing.kiln.junction_c, 100.0)

    def test_sr_21_welded_relays_in_a_firing(self):
        def weld(kiln):
            kiln.welded = [True, True]

        firing = Firing(break_kiln=weld)
        self.trips("above-plan", firing, 300)

    def test_sr_22_a_welded_contactor_and_relays_in_a_fall(self):
        def weld(kiln):
            kiln.welded, kiln.contactor_welded = [True, True], True

        falling = Kiln()
        firing = Firing(break_kiln=weld, kiln=falling, at=35_900, until=40_000)
        self.trips("heating-while-off", firing, 600)

    def test_sr_23_all_elements_dead(self):
        def die(kiln):
            kiln.dead = [True, True]

        for at in (2_500, 25_000):
            self.trips("not-heating", Firing(break_kiln=die, at=at, until=at + 4_000), 1900)

    def test_sr_23_one_of_two_banks_dead_does_not_trip_a_kiln_that_still_climbs(self):
        def die(kiln):
            kiln.dead = [True, False]

        self.assertIsNone(Firing(break_kiln=die, at=9_000, until=16_000).trip)

    def test_sr_25_a_firing_that_takes_half_as_long_again(self):
        firing = Firing(kiln=Kiln(load_kg=160.0, mains=0.75), at=0, until=110_000)
        self.assertEqual(firing.trip, "firing-too-long")


if __name__ == "__main__":
    unittest.main()
