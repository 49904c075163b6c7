"""Inspects photos and holds what was measured against the truth.

A station counts when it lies 6 mm or more from its seam's ends and away from chips; a seam's mean and its widest gap are
compared over the same stations.  Heights are compared against the median top, steps as means along a seam.
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
SURE_MM = 0.1  # a verdict is confidently wrong where the widest gap lies so far on the other side of the limit
NO_PROFILE, PROFILE = "estimated", "profile"
SIDES = {"north": "N", "east": "E", "south": "S", "west": "W"}
VERDICTS = ("within", "over", "too close to call")


class Judged:
    """What one inspection of one photo gave.  figures: {"station": array of (error, u95, true gap in mm or NaN; of
    stations also the seam's number)};
    verdicts: array of (widest gap read, its u95, true widest, index of the verdict); refused: why there is none; missing: seams
    of the truth that were not measured; asked: how many stations count; notes: kinds of notes that came with it."""

    def __init__(self, photo, lens):
        self.photo, self.lens, self.seconds, self.refused = photo.name, lens, 0.0, None
        self.px_per_mm, self.kinds = photo.px_per_mm, photo.kinds
        self.missing, self.figures, self.verdicts, self.asked, self.notes = [], {}, np.zeros((0, 4)), 0, []


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


def rise_at(truth, name, x, y):
    """How high a tile's top stands at a place."""
    height = truth.get("heights", {}).get(name, truth["tile_height"])
    east, north = truth.get("tilt", {}).get(name, (0, 0))
    px, py, _ = truth["tiles"][name]["pose"]
    return height + east * (x - px) + north * (y - py)


def true_step(truth, name):
    """How far a seam's first tile stands above the second: at the seam's middle, as tops are planes."""
    seam = truth["seams"][name]
    first, second = name.split("-")
    upright = first[1:] == second[1:]
    x, y = seam["start"][0] + (0 if upright else seam["length"] / 2), seam["start"][1] - (seam["length"] / 2 if upright else 0)
    return rise_at(truth, first, x, y) - rise_at(truth, second, x, y)


def add_heights(inspection, truth, rows):
    """Of the tiles and seams whose heights and steps the program says."""
    got = {t["name"]: t for t in inspection["tiles"] if t.get("height_u95_mm") is not None and t["name"] in truth["tiles"]}
    if got:
        read = {n: t["height_mm"] for n, t in got.items()}
        true = {n: rise_at(truth, n, *truth["tiles"][n]["pose"][:2]) for n in got}
        off = np.median(list(read.values())) - np.median(list(true.values()))
        rows["height"] += [(read[n] - true[n] - off, got[n]["height_u95_mm"], math.nan) for n in got]
    for seam in inspection["seams"]:
        if seam.get("step_u95_mm") is not None and seam["name"] in truth["seams"]:
            rows["step"].append((seam["step_mm"] - true_step(truth, seam["name"]), seam["step_u95_mm"], math.nan))


def judge(inspection, truth, into):
    rows = {k: [] for k in ("seam mean", "widest gap", "angle", "straightness", "length", "height", "step")}
    found, verdicts = [np.zeros((0, 4))], []
    into.asked = sum(len(usable(seam)) for seam in truth["seams"].values())
    into.notes = sorted({note["kind"] for note in inspection.get("notes", [])})
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
    add_heights(inspection, truth, rows)
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
        command = [program, "inspect", *(path + ".jpg" for path in photo.paths), "--reference", photo.reference, "--tolerance", str(TOLERANCE_MM),
                   "--no-pictures", "-o", out, *photo.told] + (["--lens", photo.lens] if lens == PROFILE else [])
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        done = subprocess.run(command, capture_output=True, text=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        judged.seconds = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        if done.returncode not in (0, 1):
            judged.refused = (done.stderr.strip() or "status %d" % done.returncode).split("\n")[-1]
            return judged
        with open(os.path.join(out, "inspection.json")) as file, open(photo.truth_path) as true:
            judge(json.load(file), json.load(true), judged)
    return judged


def inspect_all(program, photos, lenses, jobs, keep=None):
    """Every photo in every way there is for it.  keep: a folder for the inspections, or None for none."""
    os.environ["OMP_NUM_THREADS"] = "1"
    work = [(program, p, lens, keep) for lens in lenses for p in photos if p.lens or lens == NO_PROFILE]
    with ProcessPoolExecutor(jobs) as pool:
        return list(pool.map(inspect, work))
