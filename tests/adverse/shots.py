"""The clean photos that are altered, what the program is told about each, and lens profiles made once."""
import glob
import json
import os
import subprocess
import sys
import zlib

from picture import HERE, SAMPLES

PROFILE, NONE = "profile", "none"
# Four tables: two with the profile of the samples' camera, two whose lens is worked out; as cut, wide open, fine on dark foam, all but closed.
FULL = {"valley-north": PROFILE, "weir": NONE, "mill-meadow": PROFILE, "tight": NONE}
QUICK = ("ferry-1", "tight")  # of 3 MP
# So chosen that no seam's widest gap lies within 0.045 mm of it: a verdict then is right or wrong, not a matter of luck.
LIMIT_MM = {"ferry-1": "0.60"}
USUAL_LIMIT_MM = "0.5"


class Shot:
    """A clean photo.  path: without its ending; options: what the program is told, {"--reference": "100/60", ...}."""

    def __init__(self, path, lens, board_profile):
        self.path, self.name, self.board_profile = path, os.path.basename(path), board_profile
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


def made(name, cache):
    """The path of a table of tests/adverse's own recipes, made once."""
    recipe = os.path.join(HERE, "recipes", name + ".json")
    with open(recipe, "rb") as file:
        path = os.path.join(cache, "%08x" % zlib.crc32(file.read()), name)
    if not os.path.exists(path + ".truth.json"):
        os.makedirs(os.path.dirname(path), exist_ok=True)
        subprocess.run([sys.executable, os.path.join(SAMPLES, "make", "table.py"), recipe, path], check=True, stdout=subprocess.DEVNULL)
    return path


def path_of(name, cache):
    """Without its ending: a path, one of the recipes here, or a sample."""
    if os.path.exists(name + ".jpg"):
        return name
    if os.path.exists(os.path.join(HERE, "recipes", name + ".json")):
        return made(name, cache)
    return os.path.join(SAMPLES, name)


def choose(program, cache, names, lens, quick):
    """The photos by their names (samples, recipes or paths), or the full or the quick four."""
    usual = QUICK if quick else FULL
    out, boards = [], board_profile(program, cache)
    for name in names.split(",") if names else usual:
        path = path_of(name, cache)
        if not os.path.exists(path + ".truth.json"):
            raise SystemExit("run: %s.jpg and %s.truth.json are not there" % (name, name))
        way = lens or FULL.get(name, NONE)
        out.append(Shot(path, {NONE: None, PROFILE: boards}.get(way, way), boards))
    return out
