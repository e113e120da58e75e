"""The rate law of cones, computed from the published chart alone and by another way than the program.

Chart: Edward Orton Jr. Ceramic Foundation, temperature equivalents, large self-supporting cones.
On a ramp of rate b a cone is down where K(T) = b; ln K is straight in 1/T between and beyond the
chart's cells at 15, 60 and 150 °C/h. D is the integral of dK/dT over time, here by Simpson's rule on
short pieces; the temperatures of equal work are found by halving.
"""

import csv
import math
import os

CHART = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../../crates/pyrometry/tests/data/cones.csv")
PIECE_C = 0.5
PIECE_S = 120.0


def ordinal(label):
    """022 is -21, 01 is 0, 1 is 1, 14 is 14; 05½ lies half below 05, 5½ half above 5."""
    half = 0.5 if label.endswith("½") else 0.0
    number = label.rstrip("½")
    return 1 - int(number) - half if number.startswith("0") else int(number) + half


def chart():
    """{label: {rate: end point}} of the large self-supporting cones, coolest first."""
    cells = {}
    with open(CHART, encoding="utf-8", newline="") as rows:
        for row in csv.DictReader(rows):
            if row["kind"] == "large self-supporting":
                cells.setdefault(row["cone"].replace(".5", "½"), {})[float(row["rate_c_per_h"])] = float(row["end_point_c"])
    whole = {label: ends for label, ends in cells.items() if {15.0, 60.0, 150.0} <= set(ends)}
    return dict(sorted(whole.items(), key=lambda item: ordinal(item[0])))


class Cone:
    def __init__(self, label, ends):
        self.label, self.ordinal = label, ordinal(label)
        points = [(1.0 / (ends[rate] + 273.15), math.log(rate)) for rate in (15.0, 60.0, 150.0)]
        (cold, middle, hot) = points
        self.middle = middle
        self.below = (middle[1] - cold[1]) / (middle[0] - cold[0])
        self.above = (hot[1] - middle[1]) / (hot[0] - middle[0])
        self.t60_c = ends[60.0]

    def k(self, t_c):
        """The rate in °C/h of the ramp on which the cone is down at t_c."""
        inverse, ln = self.middle
        here = 1.0 / (t_c + 273.15)
        return math.exp(ln + (self.below if here > inverse else self.above) * (here - inverse))

    def rate_per_h(self, t_c):
        """dK/dT, from either side at the bend."""
        inverse, _ = self.middle
        here = 1.0 / (t_c + 273.15)
        slope = self.below if here > inverse else self.above
        return -slope * here * here * self.k(t_c)

    def past_c(self, done):
        """How far past its end point a ramp of 60 °C/h would be, having done this."""
        low, high = 0.0, 3000.0
        for _ in range(80):
            middle = 0.5 * (low + high)
            low, high = (low, middle) if self.k(middle) > 60.0 * done else (middle, high)
        return low - self.t60_c


CONES = [Cone(label, ends) for label, ends in chart().items()]


def work(cone, history):
    """D of a history of (seconds, °C), straight between its rows."""
    done = 0.0
    for (t0, c0), (t1, c1) in zip(history, history[1:]):
        if max(c0, c1) < cone.t60_c - 350.0:
            continue
        pieces = max(1, math.ceil(abs(c1 - c0) / PIECE_C), math.ceil((t1 - t0) / PIECE_S))
        hours = (t1 - t0) / 3600.0 / pieces
        for piece in range(pieces):
            a, b = (c0 + (c1 - c0) * (piece + share) / pieces for share in (0, 1))
            mean = (cone.rate_per_h(a) + 4 * cone.rate_per_h(0.5 * (a + b)) + cone.rate_per_h(b)) / 6
            done += mean * hours
    return done


def reached(history):
    """The continuous cone, or None."""
    past = [(cone, cone.past_c(work(cone, history))) for cone in CONES]
    for index in reversed(range(len(past))):
        cone, e = past[index]
        if e >= 0.0:
            if index + 1 == len(past):
                return cone.ordinal
            hotter, e_hotter = past[index + 1]
            return cone.ordinal + e / (e - e_hotter) * (hotter.ordinal - cone.ordinal)
    return None
