"""Watches an emulated board's pins from outside, by QEMU's own door for tests.

`watch.py SOCKET` prints a line whenever a watched pin changes: milliseconds since the board was switched
on, then each pin with its level, `0` or `1`, and `i` where it is an input. It ends with the board.
"""

import os
import socket
import sys
import time

WATCHED = (4, 22, 25)
# BCM2835 ARM Peripherals, 6.1: function select, three bits a pin, ten pins a word; pin level.
MODES = {pin: (0x3F200000 + 4 * (pin // 10), 3 * (pin % 10)) for pin in WATCHED}
LEVELS = 0x3F200034
INPUT = 0b000
LOOK_S = 0.005
PATIENCE_S = 60


def connected(path):
    """The door, as soon as there is one: the board is being switched on."""
    late = time.monotonic() + PATIENCE_S
    while True:
        door = socket.socket(socket.AF_UNIX)
        try:
            door.connect(path)
            return door.makefile("rw")
        except OSError:
            door.close()
            if time.monotonic() > late or not os.path.isdir(os.path.dirname(path)):
                raise
            time.sleep(LOOK_S)


def word(door, address):
    """A register; None when the board is off."""
    try:
        door.write(f"readl {address:#x}\n")
        door.flush()
        answer = door.readline().split()
    except OSError:
        return None
    return int(answer[1], 16) if answer[:1] == ["OK"] else None


def state(door):
    """Each watched pin in a word; None when the board is off."""
    registers = {address: word(door, address) for address in {LEVELS, *(at for at, _ in MODES.values())}}
    if None in registers.values():
        return None
    told = []
    for pin in WATCHED:
        at, shift = MODES[pin]
        mode = registers[at] >> shift & 0b111
        level = registers[LEVELS] >> pin & 1
        told.append(f"{pin}={level}{'i' if mode == INPUT else ''}")
    return " ".join(told)


def main():
    door = connected(sys.argv[1])
    start, before = time.monotonic(), None
    while (now := state(door)) is not None:
        if now != before:
            print(f"{round((time.monotonic() - start) * 1000)} {now}", flush=True)
            before = now
        time.sleep(LOOK_S)


main()
