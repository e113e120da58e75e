"""The second firing of an outside kiln is regulated by what the trace of the first has taught."""

import os
import tempfile
import unittest
from concurrent.futures import ThreadPoolExecutor

from outside_kiln import Kiln
from session import Session, fire
from test_healthy import HERE, KILNS, PROGRAM, SCHEDULE, Watch

CLOSE_KILN_FILE = os.path.join(HERE, "kiln-close.toml")
FIRED = ("as guessed", "half the load", "double the load", "walls 15 % thinner", "noise-free probe")


def twice(name):
    """Fires a kiln, then again after the first firing's trace; gives what both amounted to."""
    with tempfile.TemporaryDirectory() as folder:
        trace, watches = os.path.join(folder, "first.jsonl"), []
        for more in (["--trace", trace], ["--after", trace]):
            kiln, watch = Kiln(**KILNS[name]), Watch()
            session = Session(PROGRAM, CLOSE_KILN_FILE, SCHEDULE, *more)
            _, answer = fire(session, kiln, 80_000, watch=watch.see)
            watches.append((watch, answer, session.end()))
        return name, watches


class Learning(unittest.TestCase):
    def test_a_second_firing_follows_its_schedule_within_a_quarter_of_a_degree(self):
        with ThreadPoolExecutor(2) as pool:
            for name, watches in pool.map(twice, FIRED):
                for number, (watch, answer, summary) in enumerate(watches, 1):
                    rms = (watch.square / watch.count) ** 0.5
                    print(f"{name:18} firing {number}: ramp RMS {rms:.3f} C, overshoot {watch.over:.2f} C, {summary}")
                    with self.subTest(kiln=name, firing=number):
                        self.assertIsNone(answer["trip"])
                        self.assertEqual(watch.withheld, [])
                        self.assertLessEqual(rms, 0.35 if number == 1 else 0.25)
                        self.assertLessEqual(watch.over, 1.0)


if __name__ == "__main__":
    unittest.main()
