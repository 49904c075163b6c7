"""What recheck says came off, against what truly came off.

    /usr/bin/python3 tests/study/removed.py BEFORE-RECIPE.json AFTER-RECIPE.json recheck.json

The generator makes the tiles of a recipe again, before and after sanding; the difference of an edge's two shapes is what came off.
Prints one line an edge, then the root mean square and the mean of (said - true), and how often the truth lies inside the +-.
"""
import json
import math
import os
import sys

import numpy as np

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "samples", "make"))
import recipe  # noqa: E402
import table  # noqa: E402

LETTER = {"north": "N", "east": "E", "south": "S", "west": "W"}
ACROSS = {"N": "S", "S": "N", "E": "W", "W": "E"}


def tiles_of(path):
    with open(path) as file:
        return table.build_tiles(recipe.complete(json.load(file)))


def removed(before, after, side, at):
    """What came off `at` mm from the edge's north or west end."""
    half = before.side_mm / 2
    u = at - half if side in "NS" else half - at
    return float(before.edges[side].clean(u) - after.edges[side].clean(u))


def summary(name, rows):
    error = np.array([said - true for said, true, _ in rows])
    bound = np.array([u95 for _, _, u95 in rows])
    if not len(rows):
        return
    print(f"{name}: {len(rows)} edges, rms {math.sqrt(np.mean(error ** 2)):.3f} mm, mean {np.mean(error):+.3f}, "
          f"middle +- {np.median(bound):.3f}, inside {np.mean(np.abs(error) <= bound):.2f}")


def main():
    before, after = tiles_of(sys.argv[1]), tiles_of(sys.argv[2])
    with open(sys.argv[3]) as file:
        report = json.load(file)
    single, both = [], []
    for edge in report["edges"]:
        tile, side = edge["edge"].split()
        side = LETTER[side]
        if edge["taken_mm"] is None:
            continue
        at = edge["taken_at_mm"]
        true = removed(before[tile], after[tile], side, at)
        pair = true + removed(before[tile], after[tile], ACROSS[side], at)
        single.append((edge["taken_mm"], true, edge["taken_u95_mm"]))
        both.append((edge["with_opposite_mm"], pair, edge["with_opposite_u95_mm"]))
        print(f"{edge['edge']:9} at {at:5.0f}: said {edge['taken_mm']:6.3f} +- {edge['taken_u95_mm']:.3f}, true {true:6.3f}; "
              f"with the opposite {edge['with_opposite_mm']:6.3f} +- {edge['with_opposite_u95_mm']:.3f}, true {pair:6.3f}")
    summary("one edge", single)
    summary("with the opposite", both)


if __name__ == "__main__":
    main()
