"""Speaks the co-simulation protocol with the real program, one JSON object a line."""

import json
import subprocess


class Session:
    """One firing of an outside kiln by `saggar cosim`."""

    def __init__(self, program, kiln_file, schedule, *more):
        self.process = subprocess.Popen(
            [program, "cosim", "--kiln", kiln_file, "--schedule", schedule, *more],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
        )

    def step(self, line):
        self.process.stdin.write(json.dumps(line) + "\n")
        self.process.stdin.flush()
        return json.loads(self.process.stdout.readline())

    def end(self):
        self.process.stdin.close()
        last = self.process.stdout.readline()
        self.process.wait(timeout=10)
        self.process.stdout.close()
        return json.loads(last)["summary"]


def fire(session, kiln, seconds, spoil=None, watch=None):
    """Fires until the kiln is unpowered and falling, a trip, or the time is over.

    `spoil(t, kiln, probe)` may change the probe's part of a line; `watch(t, kiln, answer)` sees all.
    """
    banks, contactor = [False, False], False
    answer = None
    heated = False
    for t in range(seconds):
        kiln.step(banks, contactor)
        reading, box = kiln.reading()
        probe = {"reading_c": reading, "cold_junction_c": box, "faults": []}
        if spoil:
            probe = spoil(t, kiln, probe)
        line = {"t": float(t), "probes": {"middle": probe}, "inputs": {}, "amps": None, "orders": []}
        answer = session.step(line)
        banks = [answer["banks"]["upper"], answer["banks"]["lower"]]
        contactor = answer["contactor"]
        if watch:
            watch(t, kiln, answer)
        heated = heated or answer["phase"] in ("climbing", "soaking")
        if answer["trip"] or (heated and answer["phase"] in ("cooling", "cool-enough-to-open") and answer.get("segment") is None):
            return t, answer
    return seconds, answer
