"""Prints how closely laws could follow that knew all, beside the controller. See docs/control.md."""

import sys
from pathlib import Path

import numpy as np

from continuous import follow
from firing import Firing
from free import FreeSearch
from kiln import Kiln
from relays import Search

# Windows of 20 s, and longer ones that take fewer operations.
WINDOWS_S = {"one-bank": (20, 28), "two-banks": (20, 32)}
# Prices of a closing in °C²s: a lower one, and a higher one that takes fewer operations.
PRICES_C2S = {"one-bank": (5.0, 24.0), "two-banks": (3.0, 9.0)}

HEAD = "| kiln | switching | operations | ramp RMS °C | slow cooling RMS °C | over in soaks °C | soak span °C |"


def row(kiln, how, figures):
    """One line of the table."""
    operations = "–" if figures["operations"] is None else figures["operations"]
    names = ("climb_rms_c", "cooling_rms_c", "overshoot_c", "soak_span_c")
    numbers = " | ".join(f"{figures[name]:.2f}" for name in names)
    print(f"| {kiln} | {how} | {operations} | {numbers} |", flush=True)


def main(exports):
    """The whole table."""
    print(HEAD)
    print("| --- | --- |" + " ---: |" * 5)
    for name in ("one-bank", "two-banks"):
        kiln, firing = Kiln(exports / name / "kiln.json"), Firing(exports / name / "firing.csv")
        row(name, "the controller, first firing", firing.figures(firing.true_c["junction_c"], firing.power_w > 0.0))
        best = follow(kiln, firing)
        junction_c = np.array([state[-1] for state in best[1][1:]])
        row(name, "power of any value", firing.figures(junction_c, None))
        for window_s in WINDOWS_S[name]:
            row(name, f"windows of {window_s} s", firing.figures(*Search(kiln, firing, best, window_s).fire()))
        search = FreeSearch(kiln, firing, best)
        for price in PRICES_C2S[name]:
            row(name, f"no windows, {price:g} °C²s a closing", firing.figures(*search.fire(price)))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
