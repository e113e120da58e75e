"""A firing of the outside kiln into which something is put wrong, and what became of it."""

from outside_kiln import Kiln
from session import Session
from test_healthy import KILN_FILE, PROGRAM, SCHEDULE

WATCHED_S = 300  # after a trip, while the elements' own heat still comes out
MOLTEN_C = 1500.0  # bricks and elements are gone by then: nothing more can be learned


class Injected:
    """Fired until five minutes after the trip, or until `for_s` after the fault.

    From second `at` on `spoil(since, kiln, probe)` changes what the amplifier says, `breaks(kiln)` the
    kiln itself, `lid` what the lid's contact says; `skip` leaves out so many seconds there.
    """

    def __init__(self, spoil=None, breaks=None, at=9000, for_s=4_000, kiln=None, skip=0.0, lid=None):
        self.kiln = kiln or Kiln()
        self.at, self.spoil, self.breaks, self.skip, self.lid = at, spoil, breaks, skip, lid
        self.withheld_at = self.withheld = self.trip_at = self.trip = self.phase = self.plan_c = None
        self.told = {}
        self.heated_against = []
        self.over_plan_c = self.peak_c = float("-inf")
        self.reads_high_c = 0.0
        session = Session(PROGRAM, KILN_FILE, SCHEDULE)
        self._fire(session, at + for_s)
        session.end()

    def _fire(self, session, until):
        banks, contactor, clock = [False, False], False, 0.0
        for t in range(until):
            if t == self.at and self.breaks:
                self.breaks(self.kiln)
            self.kiln.step(banks, contactor)
            clock += 1.0 + (self.skip if t == self.at else 0.0)
            probe = self._probe(t)
            answer = session.step(self._line(t, clock, probe))
            banks = [answer["banks"]["upper"], answer["banks"]["lower"]]
            contactor = answer["contactor"]
            self._note(t, answer, banks, contactor)
            self._compare(t, answer, probe)
            tripped = self.trip_at is not None and t - self.at - self.trip_at >= WATCHED_S
            if tripped or self.kiln.junction_c > MOLTEN_C:
                break

    def _probe(self, t):
        reading_c, box_c = self.kiln.reading()
        probe = {"reading_c": reading_c, "cold_junction_c": box_c, "faults": []}
        return self.spoil(t - self.at, self.kiln, probe) if self.spoil and t >= self.at else probe

    def _line(self, t, clock, probe):
        inputs = {} if self.lid is None else {"lid": self.lid if t >= self.at else "shut"}
        return {"t": clock, "probes": {"middle": probe}, "inputs": inputs, "amps": None, "orders": []}

    def _note(self, t, answer, banks, contactor):
        """When what was said, and whether anything was on against it."""
        since = t - self.at
        self.phase = answer["phase"]
        stopped = answer["withheld"] or answer["trip"]
        if (stopped and any(banks)) or (answer["trip"] and contactor):
            self.heated_against.append(t)
        if answer["withheld"] and self.withheld_at is None:
            self.withheld_at, self.withheld = since, answer["withheld"]
        if answer["trip"] and self.trip_at is None:
            self.trip_at, self.trip = since, answer["trip"]
        for name in answer["notices"]:
            self.told.setdefault(name, since)

    def _compare(self, t, answer, probe):
        """The true chamber against the plan, up to the top and after a trip."""
        self.peak_c = max(self.peak_c, self.kiln.junction_c)
        if answer["phase"] in ("climbing", "soaking"):
            self.plan_c = answer["setpoint_c"]
        elif answer["phase"] != "tripped":
            return
        if t >= self.at and self.plan_c is not None and self.kiln.junction_c - self.plan_c > self.over_plan_c:
            self.over_plan_c = self.kiln.junction_c - self.plan_c
            self.reads_high_c = (probe["reading_c"] or 0.0) - self.kiln.junction_c
