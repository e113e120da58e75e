"""Prints every library that is linked into a package's programs, with its licence and the words that the
licence asks to be kept: `cargo metadata … | libraries.py PACKAGE…`."""

import json
import pathlib
import re
import sys

KEPT = re.compile(r"^(licen[cs]e|copying|copyright|notice|unlicense)", re.IGNORECASE)


def linked(metadata, roots):
    """Everything that the roots depend on when they run, themselves left out."""
    packages = {package["id"]: package for package in metadata["packages"]}
    nodes = {node["id"]: node for node in metadata["resolve"]["nodes"]}
    waiting = [id for id, package in packages.items() if package["name"] in roots]
    seen = set()
    while waiting:
        id = waiting.pop()
        if id in seen:
            continue
        seen.add(id)
        for dependency in nodes[id]["deps"]:
            if any(kind["kind"] is None for kind in dependency["dep_kinds"]):
                waiting.append(dependency["pkg"])
    return sorted((packages[id] for id in seen if packages[id]["source"]), key=lambda package: package["name"])


def main():
    told = {}
    for package in linked(json.load(sys.stdin), sys.argv[1:]):
        title = f"{package['name']} {package['version']}: {package['license'] or 'see its words'}"
        print(title)
        folder = pathlib.Path(package["manifest_path"]).parent
        for path in sorted(path for path in folder.iterdir() if path.is_file() and KEPT.match(path.name)):
            told.setdefault(path.read_text(errors="replace").strip(), []).append(title.split(":")[0])
    for words, titles in told.items():
        print(f"\n{'=' * 78}\n{', '.join(titles)}\n{'=' * 78}\n{words}")


main()
