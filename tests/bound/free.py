"""How closely relays could follow that knew all and were bound to no windows: a price a closing.

Any relay may turn in any second once it has stood for 2 s. Every half minute the next minutes are searched
for the least of squared deviations and priced closings; of the courses found so far the best few are kept,
and of the best the first half minute is done, on the kiln itself. A dear closing gives lazy relays, a cheap
one busy ones: so the prices draw a curve of operations against closeness. What comes out was reached.
"""

import numpy as np

from continuous import Slopes
from relays import LEAST_S, Window, undoing

AHEAD_S, DONE_S, BREADTH = 120, 30, 48
UNDOING_S = 20  # the cost of undoing is known this often


class Plans:
    """Courses found so far: deviation from the best course, what they cost, and how the relays stand."""

    def __init__(self, deviation, on, stood_s):
        self.deviation, self.cost = deviation[None, :], np.zeros(1)
        self.on, self.stood_s = on[None, :].copy(), stood_s[None, :].copy()
        self.levels = np.zeros((1, AHEAD_S, len(on)), dtype=bool)

    def turned(self, price):
        """All ways to begin the next second: as it is, one more relay on, one more off."""
        may = self.stood_s >= LEAST_S
        ways = [(np.arange(len(self.cost)), self.on, self.cost)]
        for turn in (True, False):
            which = np.where(may & (self.on != turn), self.stood_s, -1)
            relay = which.argmax(axis=1)  # the one that stood longest: so all wear alike
            rows = np.flatnonzero(which.max(axis=1) >= 0)
            on = self.on[rows].copy()
            on[np.arange(len(rows)), relay[rows]] = turn
            ways.append((rows, on, self.cost[rows] + (price if turn else 0.0)))
        return (np.concatenate(parts) for parts in zip(*ways))

    def go_on(self, at, price, matrix, columns, duty, off_c, undo):
        """A second further, and only the best kept."""
        rows, on, cost = self.turned(price)
        after = self.deviation[rows] @ matrix.T + (on - duty) @ columns.T
        cost = cost + (after[:, -1] + off_c) ** 2
        judged = cost + np.einsum("kn,nm,km->k", after, undo, after)
        best = np.argsort(judged, kind="stable")[:BREADTH]
        rows, stood_s = rows[best], self.stood_s[rows[best]] + 1
        stood_s[on[best] != self.on[rows]] = 1
        levels = self.levels[rows]
        self.deviation, self.cost, self.on, self.stood_s = after[best], cost[best], on[best], stood_s
        levels[:, at] = self.on
        self.levels = levels


class FreeSearch:
    """Firing with relays bound to no windows."""

    def __init__(self, kiln, firing, best):
        self.kiln = kiln
        self.duty, course = best
        self.course, self.slopes = np.array(course), Slopes(kiln, course)
        self.off_c = self.course[1:, -1] - firing.setpoint_c
        count = len(self.duty) // UNDOING_S
        self.undoing = undoing([Window(self.slopes, at * UNDOING_S, UNDOING_S) for at in range(count)])

    def fire(self, price):
        """Course of the junction and levels of the relays, second by second."""
        kiln, state, junction_c, levels = self.kiln, self.kiln.cold(), [], []
        on, stood_s = np.zeros(kiln.banks, dtype=bool), np.full(kiln.banks, LEAST_S)
        for second in range(0, len(self.duty), DONE_S):
            for row in self.plan(second, np.array(state), on, stood_s, price):
                stood_s = np.where(row == on, stood_s + 1, 1)
                on = row
                state = kiln.second(state, kiln.drawn_w(state, on))
                junction_c.append(state[-1])
                levels.append(on)
        return np.array(junction_c), np.array(levels)

    def plan(self, second, state, on, stood_s, price):
        """Levels of the next half minute."""
        plans = Plans(state - self.course[second], on, stood_s)
        ahead_s = min(AHEAD_S, len(self.duty) - second)
        for at in range(ahead_s):
            now = second + at
            undo = self.undoing[min((now + 1) // UNDOING_S, len(self.undoing) - 1)]
            matrix, columns = self.slopes.at(now)
            plans.go_on(at, price, matrix, columns, self.duty[now], self.off_c[now], undo)
        return plans.levels[0, : min(DONE_S, ahead_s)]
