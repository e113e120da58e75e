"""`saggar emf` against thermocouples_reference (PyPI), which holds NIST's functions on its own."""

import unittest

import thermocouples_reference

from program import answers, run

# The library ends where NIST SRD 60 does; two of its ends are given here as NIST prints them.
RANGES = {
    "B": (0.0, 1820.0), "E": (-270.0, 1000.0), "J": (-210.0, 1200.0), "K": (-270.0, 1372.0),
    "N": (-270.0, 1300.0), "R": (-50.0, 1768.1), "S": (-50.0, 1768.1), "T": (-270.0, 400.0),
}
STEPS = 2000
# Both compute the same polynomials in doubles; an emf of 80 mV has 1e-14 mV of rounding a term.
EMF_WITHIN_MV = 1e-8
# Below this slope an emf hardly says a temperature (type B near 21 °C; N and K near absolute zero).
FLAT_MV_PER_C = 5e-4
TEMPERATURE_WITHIN_C = 1e-4


def spread(low, high):
    return [low + (high - low) * step / STEPS for step in range(STEPS + 1)]


class EmfMeetsTheOutsideLibrary(unittest.TestCase):
    def test_every_type_over_its_whole_range(self):
        for letter, (low, high) in RANGES.items():
            with self.subTest(type=letter):
                outside = thermocouples_reference.thermocouples[letter]
                self.assertEqual((outside.minT_C, outside.maxT_C), (low, high))
                at = spread(low, high)
                found = answers("emf", letter, fed="\n".join(map(repr, at)))
                self.assertEqual(len(found), len(at))
                for temperature, answer in zip(at, found):
                    expected = float(outside.emf_mVC(temperature))
                    self.assertAlmostEqual(answer["emf_mv"], expected, delta=EMF_WITHIN_MV, msg=f"{temperature} °C")

    def test_every_type_back_from_the_librarys_emf(self):
        for letter, (low, high) in RANGES.items():
            with self.subTest(type=letter):
                outside = thermocouples_reference.thermocouples[letter]
                # Type B's emf falls first: it has one temperature only above its minimum.
                at = [t for t in spread(low, high) if letter != "B" or t > 25.0]
                emfs = [float(outside.emf_mVC(t)) for t in at]
                # An emf of the range's very end may fall outside it by the last digit.
                found = answers("emf", letter, "--inverse", fed="\n".join(f"{emf:.12f}" for emf in emfs))
                for temperature, answer in zip(at, found):
                    slope = float(outside.emf_mVC(temperature, derivative=1))
                    if slope > FLAT_MV_PER_C:
                        self.assertAlmostEqual(answer["temp_c"], temperature, delta=TEMPERATURE_WITHIN_C)

    def test_fahrenheit_is_the_same_junction(self):
        outside = thermocouples_reference.thermocouples["S"]
        (answer,) = answers("emf", "S", "2192", "--fahrenheit")
        self.assertAlmostEqual(answer["emf_mv"], float(outside.emf_mVC(1200.0)), delta=EMF_WITHIN_MV)

    def test_just_outside_the_range_there_is_no_answer(self):
        for letter, (low, high) in RANGES.items():
            for outside in (low - 0.01, high + 0.01):
                with self.subTest(type=letter, at=outside):
                    ended = run("emf", letter, repr(outside))
                    self.assertEqual((ended.returncode, ended.stdout), (2, ""))


if __name__ == "__main__":
    unittest.main()
