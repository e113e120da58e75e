"""The closest that any law could follow with power that can have every value at every instant.

The whole firing is one least-squares problem: the power of every second, between nothing and all, that
leaves the least sum of squared deviations of the junction. It is solved about the course found so far
(linear-quadratic, backwards; then forwards on the kiln itself, with power kept between its bounds), until
the rest is nothing or a round finds nothing better. So what comes out can be reached; that it is the least of all is not proven,
but it is next to nothing.
"""

import numpy as np
from scipy.linalg import expm

BLOCK_S = 30  # the kiln's slopes are computed anew after so long
NUDGE_C = 1e-3
SMOOTHED_S = 300
RESTRAINT = 1e-2  # °C²s for a whole change of duty from one round to the next: none in the end
ROUNDS_MOST = 6
NOTHING_C = 1e-3  # what the simulated probe could not show


class Slopes:
    """What the kiln's state a second later does when its state or a bank's duty is a little different."""

    def __init__(self, kiln, course):
        self.blocks = [self._block(kiln, course[at]) for at in range(0, len(course) - 1, BLOCK_S)]

    def at(self, second):
        """Matrix of the state and columns of the banks."""
        return self.blocks[min(second // BLOCK_S, len(self.blocks) - 1)]

    @staticmethod
    def _block(kiln, state):
        count, banks = len(state), kiln.banks
        still = [0.0] * banks
        base = np.array(kiln.rates(state, still))
        slopes = np.zeros((count + banks, count + banks))
        for i in range(count):
            nudged = list(state)
            nudged[i] += NUDGE_C
            slopes[:count, i] = (np.array(kiln.rates(nudged, still)) - base) / NUDGE_C
        full_w = kiln.drawn_w(state, [1.0] * banks)
        for bank in range(banks):
            one = [full_w[bank] if i == bank else 0.0 for i in range(banks)]
            slopes[:count, count + bank] = np.array(kiln.rates(state, one)) - base
        whole = expm(slopes)
        return whole[:count, :count], whole[:count, count:]


def follow(kiln, firing):
    """The best duty of every second, and the course of states (one more)."""
    first = smoothed(firing.power_w.sum(axis=1) / sum(kiln.cold_w))
    best = simulate(kiln, lambda second, state: first[second], len(first))
    least_c = np.inf
    for _ in range(ROUNDS_MOST):
        duty, course = best
        over_c = np.array([state[-1] for state in course[1:]]) - firing.setpoint_c
        steps, gains = backwards(Slopes(kiln, course), over_c)
        bar = np.array(course)
        wish = lambda second, state: duty[second] + steps[second] + gains[second] @ (np.array(state) - bar[second])
        found = simulate(kiln, lambda second, state: min(1.0, max(0.0, wish(second, state))), len(duty))
        found_c = off_c(found, firing)
        if found_c >= least_c:
            break
        best, least_c = found, found_c
        if least_c < NOTHING_C:
            break
    return best


def off_c(found, firing):
    """Root mean square of the deviations of the whole firing."""
    over_c = np.array([state[-1] for state in found[1][1:]]) - firing.setpoint_c
    return float(np.sqrt(np.mean(over_c**2)))


def smoothed(duty):
    """Means, as a first guess that is not of ons and offs."""
    kernel = np.ones(SMOOTHED_S) / SMOOTHED_S
    return np.clip(np.convolve(duty, kernel, mode="same"), 0.0, 1.0)


def simulate(kiln, law, seconds):
    """The duties that a law gave, the same to every bank, and the states, from the cold one on."""
    state = kiln.cold()
    course, duties = [state], np.zeros(seconds)
    for second in range(seconds):
        duties[second] = law(second, state)
        state = kiln.second(state, kiln.drawn_w(state, [duties[second]] * kiln.banks))
        course.append(state)
    return duties, course


def backwards(slopes, over_c):
    """The change of duty in every second, and how it heeds deviations from the course."""
    count = len(slopes.at(0)[0])
    cost, tilt = np.zeros((count, count)), np.zeros(count)
    steps, gains = np.zeros(len(over_c)), np.zeros((len(over_c), count))
    for second in range(len(over_c) - 1, -1, -1):
        matrix, columns = slopes.at(second)
        column = columns.sum(axis=1)
        cost[-1, -1] += 1.0
        tilt[-1] += over_c[second]
        carried = cost @ column
        weight = RESTRAINT + column @ carried
        step, gain = -(tilt @ column) / weight, -(carried @ matrix) / weight
        closed = matrix + np.outer(column, gain)
        tilt = closed.T @ (tilt + carried * step) + RESTRAINT * step * gain
        cost = closed.T @ cost @ closed + RESTRAINT * np.outer(gain, gain)
        cost = 0.5 * (cost + cost.T)
        steps[second], gains[second] = step, gain
    return steps, gains
