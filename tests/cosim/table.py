"""What every injected fault came to, printed when the run is over."""

import atexit

ROWS = []


def add(fault, firing):
    """Keeps a firing's row."""
    told = min(firing.told, key=firing.told.get, default=None)
    name = firing.trip or (f"told: {told}" if told else "nothing")
    over_c = f"{round(firing.over_plan_c):+d}"
    ROWS.append((fault, _or_dash(firing.withheld_at), _or_dash(firing.trip_at), name, over_c))


def _or_dash(seconds):
    return "–" if seconds is None else str(seconds)


@atexit.register
def show():
    if ROWS:
        print("\n| fault | withheld after s | tripped after s | named | worst true °C over plan |")
        print("| --- | --- | --- | --- | --- |")
        for row in ROWS:
            print("| " + " | ".join(row) + " |")
