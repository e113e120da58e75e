"""A firing as `law-bench export` writes it, and the figures a firing is judged by."""

import csv

import numpy as np

from kiln import resistance_factor

FIRST_HOUR_S, SETTLED_S = 3600, 600


class Firing:
    """The plan second by second, and what the simulated kiln did under the controller."""

    def __init__(self, path):
        with open(path, encoding="utf-8", newline="") as file:
            rows = list(csv.reader(file))
        head, rows = rows[0], rows[1:]
        column = lambda name: np.array([float(row[head.index(name)]) for row in rows])
        self.parts = np.array([row[head.index("part")] for row in rows])
        self.setpoint_c = column("setpoint_c")
        banks = sum(name.startswith("power_") for name in head)
        self.power_w = np.stack([column(f"power_{bank}_w") for bank in range(1, banks + 1)], axis=1)
        self.element_c = np.stack([column(f"element_{bank}_c") for bank in range(1, banks + 1)], axis=1)
        names = ("junction_c", "ware_surface_c", "ware_core_c", "hot_face_c", "outer_face_c")
        self.true_c = {name: column(name) for name in names}

    def power_in_w(self):
        """Power in the middle of each second: it is written as of the second's end, when the elements resist more."""
        end_c = self.element_c
        middle_c = 0.5 * (end_c + np.vstack([end_c[:1], end_c[:-1]]))
        factor = np.vectorize(resistance_factor)
        return self.power_w * factor(end_c) / factor(middle_c)

    def figures(self, junction_c, on):
        """Figures of a course of the junction and of the relays' levels (a column a relay)."""
        over_c = junction_c - self.setpoint_c
        later = np.arange(len(over_c)) >= FIRST_HOUR_S
        rms_c = lambda part: float(np.sqrt(np.mean(over_c[later & (self.parts == part)] ** 2)))
        overs_c, spans_c = [], []
        for begin, end in self.soaks():
            overs_c.append(over_c[begin:end].max())
            spans_c.append(np.ptp(junction_c[begin + SETTLED_S : end]))
        return {
            "climb_rms_c": rms_c("climb"),
            "cooling_rms_c": rms_c("cooling"),
            "overshoot_c": float(max(overs_c)),
            "soak_span_c": float(max(spans_c)),
            "operations": closings(on),
        }

    def soaks(self):
        """First second of each soak and the first one after it."""
        soaking = np.concatenate([[False], self.parts == "soak", [False]])
        turns = np.flatnonzero(soaking[1:] != soaking[:-1])
        return list(zip(turns[::2], turns[1::2]))


def closings(on):
    """Closings of the busiest relay; none where power is not switched."""
    if on is None:
        return None
    before = np.vstack([np.zeros((1, on.shape[1]), dtype=bool), on[:-1]])
    return int((on & ~before).sum(axis=0).max())
