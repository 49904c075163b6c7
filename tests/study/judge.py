"""Inspects photos and holds what was measured against the truth.

A station counts when it lies 6 mm or more from its seam's ends and away from chips; a seam's mean and its widest gap are
compared over the same stations.
"""
import json
import math
import os
import resource
import subprocess
import tempfile
from concurrent.futures import ProcessPoolExecutor

import numpy as np

MARGIN_MM, CHIP_STATIONS, CHIP_MM = 6.0, 4, 0.02
NEAR_MM = 1.01  # a station this far off at most is the truth's own: both are 1 mm apart
TOLERANCE_MM = 0.5
NO_PROFILE, PROFILE = "estimated", "profile"
SIDES = {"north": "N", "east": "E", "south": "S", "west": "W"}
VERDICTS = ("within", "over", "too close to call")


class Judged:
    """What one inspection of one photo gave.  figures: {"station": array of (error, u95, true gap in mm or NaN; of
    stations also the seam's number)};
    verdicts: array of (widest gap read, its u95, true widest, index of the verdict); refused: why there is none; missing: seams
    of the truth that were not measured."""

    def __init__(self, photo, lens):
        self.photo, self.lens, self.seconds, self.refused = photo.name, lens, 0.0, None
        self.px_per_mm, self.kinds = photo.px_per_mm, photo.kinds
        self.missing, self.figures, self.verdicts = [], {}, np.zeros((0, 4))


# ---- one seam, one tile -------------------------------------------------------------------------------------------

def usable(seam):
    """Indices of the truth's places that count."""
    at, gap, clean = (np.array(seam[k]) for k in ("at", "gap", "gap_without_chips"))
    chips = np.abs(gap - clean) > CHIP_MM
    near = np.convolve(chips, np.ones(2 * CHIP_STATIONS + 1), "same") > 0 if len(at) > 2 * CHIP_STATIONS else chips
    return np.flatnonzero((at >= MARGIN_MM) & (at <= seam["length"] - MARGIN_MM) & ~near)


def numbers(values):
    return np.array([math.nan if v is None else v for v in values], float)


def stations(seam, truth, places):
    """(error, u95, true gap) where the station nearest to the truth's place was measured."""
    got = seam["stations"]
    xs, at, true = np.array(got["at_mm"]), np.array(truth["at"])[places], np.array(truth["gap"])[places]
    if len(xs) == 0:
        return np.zeros((0, 3))
    right = np.clip(np.searchsorted(xs, at), 1, max(1, len(xs) - 1))
    left = right - 1
    right = np.minimum(right, len(xs) - 1)
    near = np.where(np.abs(xs[left] - at) <= np.abs(xs[right] - at), left, right)
    gap, u95 = numbers(got["gap_mm"]), numbers(got["u95_mm"])
    fine = np.array([s == "ok" for s in got["state"]]) & np.isfinite(gap)
    keep = fine[near] & (np.abs(xs[near] - at) <= NEAR_MM)
    return np.column_stack([gap[near] - true, u95[near], true])[keep]


def angles(edges):
    n, e, s, w = (edges[k]["slope"] for k in "NESW")
    d = math.degrees
    return {"NE": 90 - d(n + e), "NW": 90 + d(n - w), "SE": 90 + d(e - s), "SW": 90 + d(w + s)}


def add_tile(tile, truth, rows):
    for corner, true in angles(truth["edges"]).items():
        got = tile["corners"][corner]
        if got["angle_deg"] is not None:
            rows["angle"].append((got["angle_deg"] - true, got["u95_deg"], math.nan))
    for side, letter in SIDES.items():
        got, true = tile["edges"][side], truth["edges"][letter]
        for figure in ("straightness", "length"):
            if got[figure + "_mm"] is not None:
                rows[figure].append((got[figure + "_mm"] - true[figure], got[figure + "_u95_mm"], math.nan))


def judge(inspection, truth, into):
    rows = {k: [] for k in ("seam mean", "widest gap", "angle", "straightness", "length")}
    found, verdicts = [np.zeros((0, 4))], []
    for number, seam in enumerate(inspection["seams"]):
        true = truth["seams"].get(seam["name"])
        places = usable(true) if true else []
        if len(places) == 0:
            continue
        measured = stations(seam, true, places)
        found.append(np.column_stack([measured, np.full(len(measured), number)]))
        got, clean = seam["gap_mm"], np.array(true["gap_without_chips"])[places]
        if got["mean"] is None:
            continue
        rows["seam mean"].append((got["mean"] - clean.mean(), got["mean_u95"], clean.mean()))
        rows["widest gap"].append((got["max"] - clean.max(), got["max_u95"], clean.max()))
        verdicts.append((got["max"], got["max_u95"], clean.max(), VERDICTS.index(seam["verdict"])))
    for tile in inspection["tiles"]:
        if tile["name"] in truth["tiles"]:
            add_tile(tile, truth["tiles"][tile["name"]], rows)
    measured = {s["name"] for s in inspection["seams"] if s["gap_mm"]["mean"] is not None}
    into.missing = [name for name in truth["seams"] if name not in measured]
    into.figures = {"station": np.concatenate(found), **{k: np.array(v, float).reshape(-1, 3) for k, v in rows.items()}}
    into.verdicts = np.array(verdicts, float).reshape(-1, 4)


# ---- photos -------------------------------------------------------------------------------------------------------

def inspect(job):
    """One photo inspected one way and judged, in a process that does nothing else meanwhile."""
    program, photo, lens, keep = job
    judged = Judged(photo, lens)
    with tempfile.TemporaryDirectory() as scratch:
        out = os.path.join(keep or scratch, photo.name + "-" + lens)
        command = [program, "inspect", photo.path + ".jpg", "--reference", photo.reference, "--tolerance", str(TOLERANCE_MM),
                   "--no-pictures", "-o", out, *photo.told] + (["--lens", photo.lens] if lens == PROFILE else [])
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        done = subprocess.run(command, capture_output=True, text=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        judged.seconds = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        if done.returncode not in (0, 1):
            judged.refused = (done.stderr.strip() or "status %d" % done.returncode).split("\n")[-1]
            return judged
        with open(os.path.join(out, "inspection.json")) as file, open(photo.path + ".truth.json") as true:
            judge(json.load(file), json.load(true), judged)
    return judged


def inspect_all(program, photos, lenses, jobs, keep=None):
    """Every photo in every way there is for it.  keep: a folder for the inspections, or None for none."""
    os.environ["OMP_NUM_THREADS"] = "1"
    work = [(program, p, lens, keep) for lens in lenses for p in photos if p.lens or lens == NO_PROFILE]
    with ProcessPoolExecutor(jobs) as pool:
        return list(pool.map(inspect, work))
