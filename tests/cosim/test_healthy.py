"""A dozen healthy kilns, modelled outside, are fired to the end without a trip or a withhold."""

import os
import unittest
from concurrent.futures import ThreadPoolExecutor

from outside_kiln import Kiln
from session import Session, fire

PROGRAM = os.environ.get("SAGGAR", os.path.join(os.path.dirname(__file__), "../../target/release/saggar"))
HERE = os.path.dirname(os.path.abspath(__file__))
KILN_FILE = os.path.join(HERE, "kiln.toml")
SCHEDULE = os.path.join(HERE, "mid-fire.toml")

KILNS = {
    "as guessed": {},
    "half the load": {"load_kg": 20.0},
    "double the load": {"load_kg": 80.0},
    "mains 4 % low": {"mains": 0.96},
    "mains 4 % high": {"mains": 1.04},
    "a shed at 3 C": {"ambient_c": 3.0},
    "a shed at 34 C": {"ambient_c": 34.0},
    "walls 15 % thinner": {"wall": 0.85},
    "walls 15 % thicker": {"wall": 1.15},
    "noisy probe": {"noise_c": 0.3},
    "noise-free probe": {"noise_c": 0.0},
    "all against it": {"load_kg": 80.0, "mains": 0.96, "ambient_c": 3.0, "wall": 0.85},
}


class Watch:
    """What a healthy firing amounted to."""

    def __init__(self):
        self.square = self.count = self.over = 0.0
        self.withheld = []

    def see(self, t, kiln, answer):
        if answer["withheld"]:
            self.withheld.append((t, answer["withheld"]))
        if answer["setpoint_c"] is None:
            return
        off = kiln.junction_c - answer["setpoint_c"]
        if answer["phase"] == "climbing" and t > 3600:
            self.square += off * off
            self.count += 1
        if answer["phase"] == "soaking":
            self.over = max(self.over, off)


def run(name):
    kiln, watch = Kiln(**KILNS[name]), Watch()
    session = Session(PROGRAM, KILN_FILE, SCHEDULE)
    _, answer = fire(session, kiln, 80_000, watch=watch.see)
    return name, watch, answer, session.end()


class Healthy(unittest.TestCase):
    def test_a_dozen_healthy_kilns_never_trip_and_follow_the_schedule(self):
        with ThreadPoolExecutor(2) as pool:
            for name, watch, answer, summary in pool.map(run, KILNS):
                rms = (watch.square / max(watch.count, 1)) ** 0.5
                print(f"{name:20} ramp RMS {rms:.2f} C, overshoot {watch.over:.2f} C, {summary}")
                with self.subTest(kiln=name):
                    self.assertIsNone(answer["trip"])
                    self.assertEqual(watch.withheld, [])
                    self.assertIn(answer["phase"], ("cooling", "cool-enough-to-open"))
                    self.assertLessEqual(rms, 1.5)
                    self.assertLess(watch.over, 2.0)


if __name__ == "__main__":
    unittest.main()
