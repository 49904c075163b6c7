"""What recheck says came off, against what truly came off.

    /usr/bin/python3 tests/study/removed.py photo AFTER-RECIPE.json CUTS.json OUT
    /usr/bin/python3 tests/study/removed.py plan CUTS.json OUT/plan.json
    /usr/bin/python3 tests/study/removed.py score BEFORE-RECIPE.json AFTER-RECIPE.json|CUTS.json recheck.json

`photo` makes a photo of the recipe's tiles with the cuts made (a recipe of its own for how they lie and are lit afterwards); some two
minutes. `plan` writes the plan for these cuts. `score`: the generator makes the tiles again, before and after; the difference of an
edge's two shapes is what came off. Prints one line an edge, then the root mean square and the mean of (said - true), and how often the
truth lies inside the +-.

CUTS.json: { "A1 east": { "even": 0.5, "wedge": 0.4, "bow": 0.3 } ... }, mm; a wedge ends in nothing at the south or east end.
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


def read(path):
    with open(path) as file:
        return json.load(file)


def depth(cut, share):
    """What a cut takes off at a share of the edge's length from its north or west end."""
    share = np.clip(share, 0, 1)
    return cut.get("even", 0) + cut.get("wedge", 0) * (1 - share) + cut.get("bow", 0) * 4 * share * (1 - share)


def edges_of(cuts):
    """The cuts as the edges of a plan, linear between places 25 mm apart, as plans have them."""
    return [{"edge": name, "true_up": [{"at_mm": 25.0 * k, "remove_mm": round(float(depth(cut, k / 12)), 4)} for k in range(13)],
             "bevel_mm": 0.0, "bevel_deg": 0.0, "why": "made up"} for name, cut in cuts.items()]


def photo(recipe_path, cuts_path, out):
    table.make(recipe.complete({**read(recipe_path), "sand": [], "carried_out": [edges_of(read(cuts_path))]}), out)


def plan(cuts_path, out):
    with open(out, "w") as file:
        json.dump({"format": "seamwright-plan", "format_version": 1, "for": "layout", "tolerance_mm": 0.5,
                   "edges": edges_of(read(cuts_path)), "seams": [], "common_tile_mm": None, "removed_total_mm2": 0.0, "cannot": []},
                  file, indent=1)


def tiles_of(path, before_path):
    given = read(path)
    return table.build_tiles(recipe.complete(given if "seed" in given else {**read(before_path), "carried_out": [edges_of(given)]}))


def removed(before, after, side, at):
    """What came off `at` mm from the edge's north or west end."""
    half = before.side_mm / 2
    u = at - half if side in "NS" else half - at
    return float(before.edges[side].clean(u) - after.edges[side].clean(u))


def summary(name, rows):
    if not rows:
        return
    error = np.array([said - true for said, true, _ in rows])
    bound = np.array([u95 for _, _, u95 in rows])
    print(f"{name}: {len(rows)} edges, rms {math.sqrt(np.mean(error ** 2)):.3f} mm, mean {np.mean(error):+.3f}, "
          f"median +- {np.median(bound):.3f}, inside {np.mean(np.abs(error) <= bound):.2f}")


def score(before_path, after_path, report_path):
    before, after = tiles_of(before_path, before_path), tiles_of(after_path, before_path)
    single, both = [], []
    for edge in read(report_path)["edges"]:
        tile, side = edge["edge"].split()
        side = LETTER[side]
        if edge["taken_mm"] is None:
            continue
        at = edge["taken_at_mm"]
        true = removed(before[tile], after[tile], side, at)
        pair = true + removed(before[tile], after[tile], ACROSS[side], at)
        single.append((edge["taken_mm"], true, edge["taken_u95_mm"]))
        both.append((edge["with_opposite_mm"], pair, edge["with_opposite_u95_mm"]))
        flags = " ".join(k for k in ("too_much", "not_enough") if edge[k])
        print(f"{edge['edge']:9} at {at:5.0f}: said {edge['taken_mm']:6.3f} +- {edge['taken_u95_mm']:.3f}, true {true:6.3f}; with "
              f"the opposite {edge['with_opposite_mm']:6.3f} +- {edge['with_opposite_u95_mm']:.3f}, true {pair:6.3f} {flags}")
    summary("one edge", single)
    summary("with the opposite", both)


if __name__ == "__main__":
    {"photo": photo, "plan": plan, "score": score}[sys.argv[1]](*sys.argv[2:])
