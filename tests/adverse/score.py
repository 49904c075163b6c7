"""Holds what was inspected in an altered photo against the truth.

A station counts as in tests/study/judge.py: 6 mm or more from its seam's ends, away from chips.  Of those, a station is *hidden* when
the face beside one of its rims, or the rim itself, lies 0.5 mm or more under what covers it; *visible* when nothing that covers comes nearer than
1.5 mm to either rim.  What lies between is asked nothing of.
"""
import math

import numpy as np

from picture import place_of, tile_name  # also puts the study's folder on the path
import judge  # noqa: E402

DEEP_MM, NEAR_MM = 0.5, 1.5
APART_MM = 0.05   # a verdict is wrong by far when the seam's widest gap lies so far on the other side of the limit
SIZE = 0.025      # tiles read so much larger or smaller, as a share, are other tiles; wide gaps count half into the size read: 1 %
SPOKES = 8
CALLS = ("within", "over")


# ---- what can be seen ---------------------------------------------------------------------------------------------

def under(mask, pixels):
    """Whether the mask is set at pixels; outside of the picture everything is hidden."""
    p = np.rint(pixels).astype(int)
    h, w = mask.shape
    inside = (p[:, 0] >= 0) & (p[:, 0] < w) & (p[:, 1] >= 0) & (p[:, 1] < h)
    out = np.ones(len(p), bool)
    out[inside] = mask[p[inside, 1], p[inside, 0]] > 127
    return out


def around(scene, places_mm, radius_mm):
    """The mask around places: (spokes, n) booleans."""
    mask = scene.hidden if scene.hidden is not None else np.zeros(scene.image.shape[:2], np.uint8)
    turns = np.arange(SPOKES) * 2 * np.pi / SPOKES
    return np.array([under(mask, scene.place(places_mm + radius_mm * np.array([math.cos(a), math.sin(a)]))) for a in turns])


def sight(scene, name):
    """(hidden, visible) of a seam's places in the truth."""
    if set(name.split("-")) & scene.gone:
        n = len(scene.truth["seams"][name]["at"])
        return np.ones(n, bool), np.zeros(n, bool)
    hidden, visible = None, None
    for rim in scene.rims(name):
        deep, near = around(scene, rim, DEEP_MM).all(axis=0), ~around(scene, rim, NEAR_MM).any(axis=0)
        hidden = deep if hidden is None else hidden | deep
        visible = near if visible is None else visible & near
    return hidden, visible & ~hidden


def facts(scene):
    """What an inspection of the altered scene is held against, small enough to be sent between processes."""
    seams = {}
    for name, seam in scene.truth["seams"].items():
        hidden, visible = sight(scene, name)
        seams[name] = {"truth": seam, "hidden": hidden, "visible": visible, "gone": bool(set(name.split("-")) & scene.gone)}
    return {"seams": seams, "tiles": scene.truth["tiles"], "columns": scene.truth["cols"], "rows": scene.truth["rows"],
            "tile_mm": scene.truth["tile"], "gone": sorted(scene.gone), "turns": scene.turns}


# ---- how the table lies in the altered photo ----------------------------------------------------------------------

class Turn:
    """How the names in the altered photo belong to the truth's.  turn: quarter turns of the table counter-clockwise as the photo shows
    it; mirrored: first mirrored, east for west; skip: columns and rows of the truth that the photo's table lacks at its west and north."""

    SIDES = ("north", "east", "south", "west")

    def __init__(self, turn=0, mirrored=False, skip=(0, 0)):
        self.turn, self.mirrored, self.skip = turn % 4, mirrored, skip

    def tile(self, name, columns, rows):
        """The name that the altered photo gives to a tile of the truth, or None."""
        column, row = place_of(name)
        column, row = column - self.skip[0], row - self.skip[1]
        if column < 0 or row < 0:
            return None
        w, h = columns - self.skip[0], rows - self.skip[1]
        if self.mirrored:
            column = w - 1 - column
        for _ in range(self.turn):
            column, row, w, h = row, w - 1 - column, h, w
        return tile_name(column, row)

    def side(self, side):
        k = self.SIDES.index(side)
        if self.mirrored and k % 2:
            k = 4 - k
        return self.SIDES[(k - self.turn) % 4]

    def corner(self, corner):
        """NW and so on."""
        ns, ew = self.side({"N": "north", "S": "south"}[corner[0]]), self.side({"E": "east", "W": "west"}[corner[1]])
        north = ns if ns in ("north", "south") else ew
        return north[0].upper() + (ew if north == ns else ns)[0].upper()

    def seam(self, name, columns, rows):
        """(the seam's name in the altered photo, whether it runs the other way), or None."""
        tiles = [self.tile(t, columns, rows) for t in name.split("-")]
        if None in tiles:
            return None
        places = sorted(tiles, key=lambda t: place_of(t)[::-1])
        upright = name.split("-")[0][1:] == name.split("-")[1][1:]
        start, end = ("north", "south") if upright else ("west", "east")
        return "-".join(places), self.side(start) in (end, "south", "east") and self.side(start) in ("south", "east")


TURNS = {"as it is": Turn(), "half": Turn(2), "left": Turn(1), "right": Turn(3), "mirrored": Turn(0, True),
         "mirrored half": Turn(2, True), "mirrored left": Turn(1, True),
         "first row gone": Turn(0, False, (0, 1)), "first column gone": Turn(0, False, (1, 0))}


# ---- one seam -----------------------------------------------------------------------------------------------------

def turned(seam, backwards):
    """A seam's truth as the altered photo runs along it."""
    if not backwards:
        return seam
    truth = seam["truth"]
    at = [truth["length"] - a for a in truth["at"][::-1]]
    flipped = {**truth, "at": at, "gap": truth["gap"][::-1], "gap_without_chips": truth["gap_without_chips"][::-1]}
    return {**seam, "truth": flipped, "hidden": seam["hidden"][::-1], "visible": seam["visible"][::-1]}


def numbers(values):
    return np.array([math.nan if v is None else v for v in values], float)


def read_at(got, at_mm):
    """(gap, u95, ok) of the measured station nearest to each place; not ok where none is near."""
    xs = np.array(got["at_mm"], float)
    if len(xs) == 0:
        return np.full((2, len(at_mm)), math.nan), np.zeros(len(at_mm), bool)
    near = np.abs(xs[None, :] - np.asarray(at_mm)[:, None]).argmin(axis=1)
    gap, u95 = numbers(got["gap_mm"])[near], numbers(got["u95_mm"])[near]
    ok = np.array([s == "ok" for s in got["state"]])[near] & np.isfinite(gap) & (np.abs(xs[near] - at_mm) <= judge.NEAR_MM)
    return np.array([gap, u95]), ok


def seam_result(got, seam, limit_mm):
    """got: the seam as inspected, or None.  What counts: see Result."""
    truth = seam["truth"]
    places = judge.usable(truth)
    hidden, visible = seam["hidden"][places], seam["visible"][places]
    r = {"hidden": int(hidden.sum()), "hidden ok": 0, "visible": int(visible.sum()), "visible ok": 0, "squares": 0.0, "held": 0,
         "wrong": 0, "far": 0}
    if got is None:
        return r
    (gap, u95), ok = read_at(got["stations"], np.array(truth["at"])[places])
    error = (gap - np.array(truth["gap"])[places])[ok & visible]
    r["hidden ok"], r["visible ok"] = int((ok & hidden).sum()), len(error)
    r["squares"], r["held"] = float((error ** 2).sum()), int((np.abs(error) <= u95[ok & visible]).sum())
    r["wrong"], r["far"] = verdict_wrong(got["verdict"], seam, places, limit_mm)
    return r


def verdict_wrong(verdict, seam, places, limit_mm):
    """(wrong, wrong by far) as 0 or 1.  A seam that is not there has no verdict that is right."""
    if verdict not in CALLS:
        return 0, 0
    if seam["gone"]:
        return 1, 1
    if len(places) == 0:
        return 0, 0
    widest = max(np.array(seam["truth"]["gap_without_chips"])[places])
    beyond = widest - limit_mm if verdict == "within" else limit_mm - widest
    return int(beyond > 0), int(beyond > APART_MM)


# ---- a whole inspection -------------------------------------------------------------------------------------------

def tile_result(inspection, facts, turn):
    """Angles and lengths: how many, how many held."""
    tiles = {t["name"]: t for t in inspection["tiles"]}
    r = {"angles": 0, "angles held": 0, "lengths": 0, "lengths held": 0}
    for name, truth in facts["tiles"].items():
        got = tiles.get(turn.tile(name, facts["columns"], facts["rows"]))
        if got is None or name in facts["gone"]:
            continue
        for corner, true in judge.angles(truth["edges"]).items():
            add_held(r, "angles", got["corners"][turn.corner(corner)], "angle_deg", "u95_deg", true)
        for side, letter in judge.SIDES.items():
            add_held(r, "lengths", got["edges"][turn.side(side)], "length_mm", "length_u95_mm", truth["edges"][letter]["length"])
    return r


def add_held(r, what, got, value, u95, true):
    if got.get(value) is not None and got.get(u95) is not None:
        r[what] += 1
        r[what + " held"] += abs(got[value] - true) <= got[u95]


def against(inspection, facts, turn):
    """The inspection held against the truth, the table lying as `turn` says."""
    got, left = {s["name"]: s for s in inspection["seams"]}, {s["name"] for s in inspection["seams"]}
    total = {}
    for name, seam in facts["seams"].items():
        as_read = turn.seam(name, facts["columns"], facts["rows"])
        left.discard(as_read and as_read[0])
        part = seam_result(got.get(as_read[0]) if as_read else None, turned(seam, as_read[1] if as_read else False), inspection["tolerance_mm"])
        for key, value in part.items():
            total[key] = total.get(key, 0) + value
    made_up = sum(got[name]["verdict"] in CALLS for name in left)  # verdicts on seams that do not exist
    total["wrong"], total["far"] = total["wrong"] + made_up, total["far"] + made_up
    total.update(tile_result(inspection, facts, turn))
    return total


def misread(inspection, facts, turn):
    """Whether the table was read as another one: other tiles than stand in the photo, or tiles of another size."""
    table = inspection["table"]
    expected = {turn.tile(n, facts["columns"], facts["rows"]) for n in facts["tiles"]} - {None}
    gone = {turn.tile(n, facts["columns"], facts["rows"]) for n in facts["gone"]}
    read = {t["name"] for t in inspection["tiles"]}
    return not (expected - gone <= read <= expected) or abs(table["tile_mm"] / facts["tile_mm"] - 1) > SIZE


FIGURES = {"held": ("squares", "held", "visible ok", "visible"), "verdict": ("wrong", "far"), "size": ("misread",), "length": ("lengths", "lengths held"),
           "angle": ("angles", "angles held")}


def without(result, free):
    """A result without the figures that nobody can hold, as what was told makes them wrong."""
    return {k: v for k, v in result.items() if not any(k in FIGURES[name] for name in free)}


def score(inspection, facts):
    """The best of the ways in which the table may lie: the one in which most stations hold."""
    ways = [(against(inspection, facts, TURNS[t]), misread(inspection, facts, TURNS[t])) for t in facts["turns"]]
    total, other = max(ways, key=lambda w: (not w[1], w[0]["held"]))
    return {**total, "misread": int(other)}
