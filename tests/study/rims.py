"""How far two photos of the same tiles disagree about a rim, by how wide the gap beside it is.

    /usr/bin/python3 tests/study/rims.py BEFORE.seams AFTER.seams [BEFORE.seams AFTER.seams]...

Edges that the plan in BEFORE.seams sands are left out (no plan: none are). Of each of the others the difference of proud_mm, less its
median, every 4 mm. Prints its standard deviation by the narrower of the two gaps there, and the most likely b, A, G of a variance
b^2 + A^2 (exp(-2 gap_before / G) + exp(-2 gap_after / G)): src/recheck/closed.c.
"""
import json
import os
import sys

import numpy as np

PLACES = np.arange(6, 295, 4.0)


def column(values):
    return np.array([np.nan if v is None else v for v in values], float)


def rim(edge):
    good = np.array([s in ("ok", "end") for s in edge["state"]], float)
    proud = np.interp(PLACES, edge["at_mm"], column(edge["proud_mm"]))
    proud[np.interp(PLACES, edge["at_mm"], good) < 0.99] = np.nan
    return proud


def gap(inspection, name):
    for seam in inspection["seams"]:
        if name in seam["edges"]:
            stations = seam["stations"]
            return np.interp(PLACES, stations["at_mm"], np.nan_to_num(column(stations["gap_mm"])))
    return np.full(PLACES.shape, np.nan)


def sanded(folder):
    path = os.path.join(folder, "plan.json")
    if not os.path.exists(path):
        return set()
    with open(path) as file:
        return {e["edge"] for e in json.load(file)["edges"] if any(p["remove_mm"] > 0.02 for p in e["true_up"])}


def differences(before, after):
    pair = [json.load(open(os.path.join(folder, "inspection.json"))) for folder in (before, after)]
    for first, second in zip(pair[0]["tiles"], pair[1]["tiles"]):
        for side in ("north", "east", "south", "west"):
            name = first["name"] + " " + side
            if name in sanded(before):
                continue
            d = rim(first["edges"][side]) - rim(second["edges"][side])
            yield from zip(d - np.nanmedian(d), gap(pair[0], name), gap(pair[1], name))


def variance(g, b, a, fade):
    return b * b + a * a * (np.exp(-2 * g[0] / fade) + np.exp(-2 * g[1] / fade))


def most_likely(d, g):
    tried = [(b, a, fade) for b in np.arange(0.012, 0.03, 0.002) for a in np.arange(0.04, 0.3, 0.01)
             for fade in np.arange(0.02, 0.12, 0.01)]
    return min(tried, key=lambda t: np.sum(np.log(variance(g, *t)) + d * d / variance(g, *t)))


rows = np.array([r for i in range(1, len(sys.argv) - 1, 2) for r in differences(sys.argv[i], sys.argv[i + 1])])
d, g = rows[:, 0], rows[:, 1:].T
seen = np.isfinite(d)
narrow = np.fmin(g[0], g[1])
rims = seen & np.isnan(narrow)
print("table's rim: %d places, %.3f mm" % (rims.sum(), d[rims].std()))
for low, high in ((0, 0.05), (0.05, 0.1), (0.1, 0.2), (0.2, 0.4), (0.4, 9)):
    here = seen & (narrow >= low) & (narrow < high)
    print("gap %.2f to %.2f mm: %d places, %.3f mm, at most %.2f" % (low, high, here.sum(), d[here].std(), abs(d[here]).max()))
inner = seen & np.isfinite(narrow)
print("b %.3f mm, A %.2f mm, G %.2f mm" % most_likely(d[inner], g[:, inner]))
