"""The clean photos that are altered, what the program is told about each, and lens profiles made once."""
import glob
import json
import os
import subprocess

from picture import SAMPLES

PROFILE, NONE = "profile", "none"
# Four tables: two with the profile of the samples' camera, two whose lens is worked out.  Three cards and more, two and one.
FULL = {"valley-north": PROFILE, "weir": NONE, "mill-meadow": PROFILE, "ferry-1": NONE}
QUICK = {"mill-meadow": PROFILE, "ferry-1": NONE}
# So chosen that no seam's widest gap lies within 0.045 mm of it: a verdict then is right or wrong, not a matter of luck.
LIMIT_MM = {"ferry-1": "0.60"}
USUAL_LIMIT_MM = "0.5"


class Shot:
    """A clean photo.  path: without its ending; options: what the program is told, {"--reference": "100/60", ...}."""

    def __init__(self, path, lens):
        self.path, self.name = path, os.path.basename(path)
        with open(path + ".truth.json") as file:
            reference = json.load(file)["reference"]
        sides = [reference[k] for k in ("side", "inner") if reference.get(k)]
        self.options = {"--reference": "/".join("%g" % s for s in sides), "--tolerance": LIMIT_MM.get(self.name, USUAL_LIMIT_MM)}
        if lens:
            self.options["--lens"] = lens


def board_profile(program, cache):
    """The profile of the samples' camera, from its boards, made once."""
    path = os.path.join(cache, "samples.lens.json")
    if not os.path.exists(path):
        os.makedirs(cache, exist_ok=True)
        boards = sorted(glob.glob(os.path.join(SAMPLES, "lens", "board*.jpg")))
        subprocess.run([program, "lens", "-o", path, "--checkerboard", "10x7", "--square", "25", *boards], check=True,
                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return path


def choose(program, cache, names, lens, quick):
    """The photos by their names (samples or paths), or the full or the quick four."""
    usual = QUICK if quick else FULL
    out = []
    for name in names.split(",") if names else usual:
        path = name if os.path.exists(name + ".jpg") else os.path.join(SAMPLES, name)
        if not os.path.exists(path + ".truth.json"):
            raise SystemExit("run: %s.jpg and %s.truth.json are not there" % (name, name))
        way = lens or FULL.get(name, NONE)
        out.append(Shot(path, {NONE: None, PROFILE: way == PROFILE and board_profile(program, cache)}.get(way, way)))
    return out
