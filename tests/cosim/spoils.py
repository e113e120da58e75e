"""What can go wrong with a reading on its way: each changes the probe's part of a line."""

import random

NOTHING_SAID = {"reading_c": None, "cold_junction_c": 22.0}


def flagged(fault, seconds=float("inf")):
    """The chip complains."""
    return lambda since, kiln, probe: {**NOTHING_SAID, "faults": [fault]} if since < seconds else probe


def frozen():
    """The chip repeats its last word."""
    held = {}
    return lambda since, kiln, probe: {**probe, "reading_c": held.setdefault("c", probe["reading_c"])}


def off_by(c, seconds=float("inf")):
    """The reading steps, and stays so."""
    return lambda since, kiln, probe: {**probe, "reading_c": probe["reading_c"] + c} if since < seconds else probe


def noisy(c_per_h, most_c):
    """Noise grows to a deviation of `most_c`."""
    draw = random.Random(5)
    return lambda since, kiln, probe: {
        **probe,
        "reading_c": probe["reading_c"] + draw.gauss(0.0, min(most_c, since * c_per_h / 3600.0)),
    }


def drifted(c_per_h, most_c):
    """The wire reads lower and lower, down to `most_c` less."""
    return lambda since, kiln, probe: {
        **probe,
        "reading_c": probe["reading_c"] - min(most_c, since * c_per_h / 3600.0),
    }


def reversed_at_the_amplifier(since, kiln, probe):
    """Both wires exchanged: as far below the cold junction as it ought to be above."""
    return {**probe, "reading_c": 2.0 * probe["cold_junction_c"] - probe["reading_c"]}


def swapped_at_both_ends(since, kiln, probe):
    """The extension lead's wires exchanged at head and amplifier: its own emf counts the wrong way."""
    return {**probe, "reading_c": probe["reading_c"] - 2.0 * (kiln.head_c() - kiln.box_c)}


def shorted(share):
    """The wires touch, between the terminal head (0) and the tip (1): the temperature there is read."""
    return lambda since, kiln, probe: {
        **probe,
        "reading_c": kiln.head_c() + share * (probe["reading_c"] - kiln.head_c()),
    }


def shorted_at_the_amplifier(since, kiln, probe):
    """The wires touch at the chip, which then reads its own temperature, with some noise."""
    return {**probe, "reading_c": kiln.box_c + kiln.random.gauss(0.0, 0.05)}


def drawn_out(share, tau_s):
    """The tip moves outwards, by `share` of the way to the shed's air, with a time constant."""
    tip = {}

    def spoil(since, kiln, probe):
        tip.setdefault("c", probe["reading_c"])
        goes_to_c = kiln.ambient_c + (1.0 - share) * (kiln.junction_c - kiln.ambient_c)
        tip["c"] += (goes_to_c - tip["c"]) / tau_s
        return {**probe, "reading_c": tip["c"] + kiln.random.gauss(0.0, kiln.noise_c)}

    return spoil


def box_warms(c_per_min, most_c):
    """The box with the electronics warms, up to `most_c`."""
    return lambda since, kiln, probe: {
        **probe,
        "cold_junction_c": min(most_c, probe["cold_junction_c"] + since * c_per_min / 60.0),
    }
