"""What a trial on the emulated board showed, one line each.

`table.py TRIAL CONSOLE LEVELS`: the rows that the trial printed; and of each mark that it set, by its
name, how long after it relay and contactor were off, as seen from outside. Where the trial says how often
the relay closed by the daemon's own record, it must be as often as was seen from outside.
"""

import sys

MARK, BANK, CONTACTOR = 4, 22, 25


def edges(lines):
    """(milliseconds, {pin: high}) of each change."""
    for line in lines:
        ms, *pins = line.split()
        yield int(ms), {int(pin): level.startswith("1") for pin, level in (word.split("=") for word in pins)}


def closings(changes, pin):
    """How often it went from off to on."""
    levels = [high[pin] for _, high in changes]
    return sum(now and not before for before, now in zip(levels, levels[1:]))


def offs(changes):
    """For each mark: whether something was on at it, and after how long all was off (None: never)."""
    seen, marked, found = False, None, []
    for ms, high in changes:
        if high[MARK] and not seen:
            found.append([high[BANK] or high[CONTACTOR], None])
            marked = ms
        seen = high[MARK]
        if marked is not None and found[-1][1] is None and not (high[BANK] or high[CONTACTOR]):
            found[-1][1] = ms - marked
    return found


def main():
    trial, console, levels = sys.argv[1:]
    with open(console, encoding="utf-8", errors="replace") as text:
        lines = [line.strip() for line in text]
    with open(levels, encoding="utf-8") as text:
        changes = list(edges(text))
    marks = iter(offs(changes))
    for line in lines:
        kind, _, what = line.partition(": ")
        if kind == "row":
            print(f"| {trial} | {what} |")
        elif kind == "mark":
            was_on, off_ms = next(marks)
            assert was_on, f"{what}: nothing was on at the mark"
            told = "still on at the end" if off_ms is None else f"all off after {off_ms} ms"
            print(f"| {trial} | {what}: {told}, seen from outside |")
        elif kind == "closings":
            relay, contactor = closings(changes, BANK), closings(changes, CONTACTOR)
            assert relay == int(what), f"the relay closed {what} times by the trace, {relay} times seen from outside"
            assert contactor == 1, f"the contactor closed {contactor} times"
            print(f"| {trial} | relay closed {relay} times by trace and seen from outside, contactor once |")


main()
