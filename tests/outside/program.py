"""The real program, as a person at the bench calls it."""

import json
import os
import subprocess

PROGRAM = os.environ.get("SAGGAR", os.path.join(os.path.dirname(__file__), "../../target/release/saggar"))


def run(*arguments, fed=""):
    """Runs the program to its end."""
    return subprocess.run([PROGRAM, *arguments], input=fed, capture_output=True, text=True, check=False)


def answers(*arguments, fed=""):
    """Its answers, one JSON object a line."""
    ended = run(*arguments, "--json", fed=fed)
    if ended.returncode != 0:
        raise AssertionError(f"{arguments}: {ended.stderr}")
    return [json.loads(line) for line in ended.stdout.splitlines()]
