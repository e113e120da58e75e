"""How closely relays could follow that knew all: kiln, schedule and what comes of every switching.

Time is cut into windows; in each a relay is on from the head for whole seconds, and on and off for 2 s
at least. At a window's head the lengths of the next few windows are searched: of the sequences found so
far the best few are kept (by what they did, and by what undoing their end would cost with duty of any
value), and of the best the first window is done, on the kiln itself. What comes out was reached, so the
least is no greater; a wider and deeper search gains little more (BREADTH and DEPTH).
"""

import numpy as np

from continuous import Slopes

LEAST_S = 2
BREADTH, DEPTH = 12, 4
RESTRAINT_C2S = 1.0  # what a whole change of a window's duty costs in undoing: its bounds and steps, told as a cost


def patterns(window_s, banks, turn):
    """Levels of each second of a window (pattern, second, bank): one bank is trimmed, another may be on throughout."""
    lengths = [0, *range(LEAST_S, window_s - LEAST_S + 1), window_s]
    trimmed = np.arange(window_s)[None, :] < np.array(lengths)[:, None]
    if banks == 1:
        return trimmed[:, :, None]
    both = []
    for other in (False, True):
        pair = np.full((*trimmed.shape, 2), other)
        pair[:, :, turn] = trimmed
        both.append(pair)
    return np.concatenate(both)


class Window:
    """The kiln's answer in a window about the best course: junction and end, linear in duties."""

    def __init__(self, slopes, second, window_s):
        matrix, columns = slopes.at(second)
        powers = [columns]
        for _ in range(window_s - 1):
            powers.append(matrix @ powers[-1])
        self.to_end = np.stack(powers[::-1], axis=1)  # state, second, bank
        rows, row = [], np.zeros(len(matrix))
        row[-1] = 1.0
        for _ in range(window_s):
            row = row @ matrix
            rows.append(row)
        self.of_state = np.array(rows)
        answer = np.array([power[-1] for power in powers])
        self.of_duty = np.zeros((window_s, window_s, columns.shape[1]))
        for at in range(window_s):
            self.of_duty[at:, at] = answer[: window_s - at]
        self.whole = np.linalg.matrix_power(matrix, window_s)


def undoing(windows):
    """Cost of a deviation at each window's head, were duty free to have any value (and one for the end)."""
    count = len(windows[0].whole)
    cost = np.zeros((count, count))
    costs = [cost]
    for window in reversed(windows):
        of_duty = window.of_duty.sum(axis=(1, 2))
        to_end = window.to_end.sum(axis=(1, 2))
        weight = RESTRAINT_C2S + of_duty @ of_duty + to_end @ cost @ to_end
        cross = of_duty @ window.of_state + to_end @ cost @ window.whole
        here = window.of_state.T @ window.of_state + window.whole.T @ cost @ window.whole
        cost = here - np.outer(cross, cross) / weight
        cost = 0.5 * (cost + cost.T)
        costs.append(cost)
    return costs[::-1]


class Search:
    """Firing with relays along the best course for power of any value."""

    def __init__(self, kiln, firing, best, window_s):
        self.kiln, self.firing, self.window_s = kiln, firing, window_s
        duty, course = best
        self.count = len(duty) // window_s
        self.duty, self.course = duty[: self.count * window_s].reshape(self.count, window_s), np.array(course)
        off = self.course[1:, -1] - firing.setpoint_c
        self.off = off[: self.count * window_s].reshape(self.count, window_s)
        slopes = Slopes(kiln, course)
        self.windows = [Window(slopes, at * window_s, window_s) for at in range(self.count)]
        self.costs = undoing(self.windows)
        self.choices = [patterns(window_s, kiln.banks, turn) for turn in range(kiln.banks)]

    def fire(self):
        """Course of the junction and levels of the relays, second by second."""
        state, junction_c, levels = self.kiln.cold(), [], []
        for at in range(self.count):
            chosen = self.choose(at, np.array(state) - self.course[at * self.window_s])
            for on in chosen:
                state = self.kiln.second(state, self.kiln.drawn_w(state, on))
                junction_c.append(state[-1])
            levels.append(chosen)
        rest = len(self.firing.setpoint_c) - self.count * self.window_s  # less than a window, without heat
        for _ in range(rest):
            state = self.kiln.second(state, [0.0] * self.kiln.banks)
            junction_c.append(state[-1])
        levels.append(np.zeros((rest, self.kiln.banks), dtype=bool))
        return np.array(junction_c), np.concatenate(levels)

    def choose(self, at, deviation):
        """The pattern of this window with which the best sequence begins."""
        states, spent, first = deviation[None, :], np.zeros(1), None
        for ahead in range(at, min(at + DEPTH, self.count)):
            window, choices = self.windows[ahead], self.choices[ahead % self.kiln.banks]
            more = choices - self.duty[ahead][None, :, None]
            junction = np.einsum("psb,tsb->pt", more, window.of_duty)
            ends = np.einsum("psb,nsb->pn", more, window.to_end)
            over_c = (states @ window.of_state.T + self.off[ahead])[:, None, :] + junction[None, :, :]
            after = (states @ window.whole.T)[:, None, :] + ends[None, :, :]
            cost = spent[:, None] + np.einsum("kpt,kpt->kp", over_c, over_c)
            undone = np.einsum("kpn,nm,kpm->kp", after, self.costs[ahead + 1], after)
            order = np.argsort((cost + undone).ravel(), kind="stable")[:BREADTH]
            kept, picked = np.unravel_index(order, cost.shape)
            states, spent = after[kept, picked], cost[kept, picked]
            first = picked if first is None else first[kept]
        return self.choices[at % self.kiln.banks][first[0]]
