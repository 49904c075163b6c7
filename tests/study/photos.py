"""Photos with truth to judge by: those of the variety study, and any others with their lens profile.  What kind each is of.

A study's folder holds sNN.jpg and sNN.truth.json of tables.py (sNN-a.jpg, sNN-b.jpg ... where a table has photos from several
places) and boards of its cameras (camera-A1.jpg ...), from which a profile
is made once and kept.  Any other folder holds NAME.jpg and NAME.truth.json; its photos' kinds are told in practice.json.
"""
import glob
import json
import math
import os
import subprocess

import tables

BOARDS = 5
HERE = os.path.dirname(os.path.abspath(__file__))
# Photons of a full pixel: thirds of the study's range
NOISE = ((8000, "under 8000 photons"), (14000, "8000 to 14000"), (math.inf, "more"))
JPEG = ((80, "under 80"), (90, "80 to 89"), (math.inf, "90 and more"))
STEPS = ((5, "steps to 3 mm"), (math.inf, "steps to 20 mm"))  # of the truth's highest top over its lowest
VIEWS = ("one photo", "two photos", "three photos")
RESOLUTION = ((2, "under 2 px/mm"), (3, "2 to 3"), (4, "3 to 4"), (5, "4 to 5"), (math.inf, "5 and more"))


def class_of(value, classes):
    return None if value is None else next(name for below, name in classes if value < below)


class Photo:
    """A photo, or several of one table that are inspected together.  paths: without their endings; lens: a profile or None; told:
    options that the program gets besides; kinds: {"light": "window" ...}, without those that are not known."""

    def __init__(self, paths, recipe, lens, told=(), name=None):
        self.paths, self.lens, self.told, self.name = paths, lens, list(told), name or os.path.basename(paths[0])
        self.truth_path = paths[0] + ".truth.json"  # of the table all say the same
        with open(self.truth_path) as file:
            truth = json.load(file)
        sides = [truth["reference"][k] for k in ("side", "inner") if truth["reference"].get(k)]
        self.reference = "/".join("%g" % s for s in sides)
        self.px_per_mm = px_per_mm(truth)
        self.kinds = {k: v for k, v in kinds(recipe, truth, self.px_per_mm).items() if v}
        self.kinds["views"] = VIEWS[len(paths) - 1]


def px_per_mm(truth):
    """At the middle of what the camera looks at, straight on to the line of sight."""
    return truth["camera"]["f"] / math.dist(truth["camera"]["at"], truth["camera"]["look"])


def tops_of(truth):
    heights = truth.get("heights")
    return class_of(max(heights.values()) - min(heights.values()), STEPS) if heights else "level"


def kinds(recipe, truth, px):
    """Tables of tiles in two colours are a kind of their own: each of their seams may have one or both."""
    colours, contrast = recipe.get("colours"), recipe.get("contrast")
    return {
        "light": recipe.get("light"),
        "colour": colours and (colours[0] if len(colours) == 1 else "two colours"),
        "noise": class_of(recipe.get("noise"), NOISE),
        "JPEG": class_of(truth["camera"].get("jpeg"), JPEG),
        "resolution": class_of(px, RESOLUTION),
        "tone curve": None if contrast is None else "steeper than sRGB" if contrast > 0 else "sRGB",
        "cards": {None: None, 1: "one card", "each": "one on every tile"}.get(recipe.get("squares"), "two or four cards"),
        "tops": tops_of(truth),
    }


def profile(program, folder, camera):
    name = os.path.join(folder, "camera-%s" % camera)
    if not os.path.exists(name + ".lens.json"):
        boards = ["%s%d.jpg" % (name, i + 1) for i in range(BOARDS)]
        subprocess.run([program, "lens", "-o", name + ".lens.json", "--checkerboard", "10x7", "--square", "25", *boards],
                       check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return name + ".lens.json"


def study_photos(program, folder, numbers):
    """Those of the numbers (from 1; all when None) that are there; the truth is written last."""
    out = []
    for i, (camera, recipe, views) in tables.numbered().items():
        paths = [os.path.join(folder, name) for name in tables.shots(i, views)]
        if (numbers is None or i in numbers) and all(os.path.exists(path + ".truth.json") for path in paths):
            told = ("--tile", "%g" % recipe["tile"]) if tables.tile_is_told(i) else ()
            out.append(Photo(paths, recipe, profile(program, folder, camera), told, "s%02d" % i))
    return out


def other_photos(folder, names, lens):
    """Photos with truth that have one of the names (all when None)."""
    with open(os.path.join(HERE, "practice.json")) as file:
        known = json.load(file)
    found = sorted(p[:-len(".truth.json")] for p in glob.glob(os.path.join(folder, "*.truth.json")))
    wanted = [p for p in found if os.path.exists(p + ".jpg") and (names is None or os.path.basename(p) in names)]
    return [Photo([p], known.get(os.path.basename(p), {}), lens) for p in wanted]


def chosen(text):
    """"1-16,70" as numbers and names: ({1 ... 16, 70}, {"1-16", "70"}); (None, None) for nothing."""
    if not text:
        return None, None
    numbers, parts = set(), text.split(",")
    for part in parts:
        first, _, last = part.partition("-")
        if first.isdigit():
            numbers.update(range(int(first), int(last or first) + 1))
    return numbers, set(parts)


def photos(program, folder, only=None, lens=None):
    numbers, names = chosen(only)
    if glob.glob(os.path.join(folder, "camera-?.truth.json")):
        return study_photos(program, folder, numbers)
    return other_photos(folder, names, lens)
