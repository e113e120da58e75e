"""`saggar cone` against the published chart, and against the law computed from it in another way."""

import os
import random
import tempfile
import unittest

import rate_law
from program import answers, run

# Numeric integration here, exact there; a hundredth of a cone is a fifth of a degree.
WITHIN_CONES = 0.01


def firing(seed):
    """A history as firings go: climbs, a soak, slow cooling, a power cut, in rows of any spacing."""
    chance = random.Random(seed)
    at, c = chance.uniform(0.0, 1e6), chance.uniform(5.0, 40.0)
    rows = [(at, c)]
    peak = chance.choice(rate_law.CONES).t60_c + chance.uniform(-25.0, 25.0)
    way = [(chance.uniform(60, 250), peak - chance.uniform(80, 200)), (chance.uniform(15, 150), peak)]
    if chance.random() < 0.3:  # the power fails and returns
        way[1:1] = [(-chance.uniform(300, 900), way[0][1] - 90), (chance.uniform(60, 150), way[0][1])]
    if chance.random() < 0.7:
        way.append((0.0, chance.uniform(0.0, 2.0)))  # a soak, in hours
    way.append((-chance.uniform(40, 900), peak - chance.uniform(100, 400)))
    for rate, to in way:
        hours = to if rate == 0.0 else (to - c) / rate
        end, target = at + hours * 3600.0, c if rate == 0.0 else to
        start, first = at, c
        while end - at > 1.0:
            at = min(end, at + chance.choice([10.0, 30.0, 60.0, 300.0]))
            c = first + (target - first) * (at - start) / (end - start)
            rows.append((at, c))
    return rows


def told(history):
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "firing.csv")
        with open(path, "w", encoding="utf-8", newline="\r\n") as log:
            log.write("note,time_s,temp_c\n\n")
            log.writelines(f"x,{at!r},{c!r}\n" for at, c in history)
        (answer,) = answers("cone", path)
    return answer


class ConeMeetsTheChart(unittest.TestCase):
    def test_every_cell_of_the_chart_is_its_end_point(self):
        cells = 0
        for label, ends in rate_law.chart().items():
            for rate, end_point_c in ends.items():
                (answer,) = answers("cone", "--at", repr(rate), label)
                self.assertAlmostEqual(answer["end_point_c"], end_point_c, delta=0.5, msg=f"{label} at {rate}")
                self.assertEqual((answer["label"], answer["cone"]), (label, rate_law.ordinal(label)))
                cells += 1
        self.assertEqual(cells, 114)

    def test_a_ramp_to_each_end_point_is_that_cone(self):
        for label, ends in rate_law.chart().items():
            for rate, end_point_c in ends.items():
                answer = told([(0.0, 20.0), ((end_point_c - 20.0) / rate * 3600.0, end_point_c)])
                # Cells printed in whole degrees, cones as close as 5 °C together.
                self.assertAlmostEqual(answer["cone"], rate_law.ordinal(label), delta=0.1, msg=f"{label} at {rate}")


class ConeMeetsTheLaw(unittest.TestCase):
    def test_firings_of_all_kinds_reach_the_cone_computed_outside(self):
        counted = 0
        for seed in range(40):
            with self.subTest(seed=seed):
                history = firing(seed)
                expected, answer = rate_law.reached(history), told(history)
                if expected is None:
                    self.assertIsNone(answer["cone"])
                    continue
                self.assertAlmostEqual(answer["cone"], expected, delta=WITHIN_CONES)
                counted += 1
        self.assertGreater(counted, 30)

    def test_more_heat_never_makes_a_lower_cone(self):
        history = firing(7)
        cones = [told([(at, c + more) for at, c in history])["cone"] for more in (-10.0, 0.0, 10.0)]
        self.assertEqual(cones, sorted(cones))


class BadLogsAreNamed(unittest.TestCase):
    def test_line_and_reason_are_told_and_the_end_is_two(self):
        for rows, line in [("0,20\n60,hot\n", 3), ("0,20\n0,21\n", 3), ("0,20\n\n60,4000\n", 4), ("0\n", 2)]:
            with self.subTest(rows=rows):
                ended = run("cone", "-", fed="time_s,temp_c\n" + rows)
                self.assertEqual((ended.returncode, ended.stdout), (2, ""))
                self.assertIn(f"line {line}: ", ended.stderr)
        for text in ("", "time_s,temp_c\n", "time,temp\n0,20\n"):
            with self.subTest(text=text):
                self.assertEqual(run("cone", "-", fed=text).returncode, 2)


if __name__ == "__main__":
    unittest.main()
