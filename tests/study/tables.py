"""The tables of the variety study: which recipe each photo is made from (entries as in samples/make/recipe.py).

A Latin hypercube: every number's range is cut into as many equal parts as there are tables and each part is used once, so
that no corner of a range is left to luck.  Kinds (colours, lights, layouts) are dealt out in turn from a shuffled pack.
The same seed gives the same tables whatever is made of them.  At the end come kinds that chance seldom deals: nearly closed
tables and wide open ones.  Tables whose tops do not stand level have numbers of their own, from FIRST_STEPPED on; most of them are
photographed from two or three places.
"""
import numpy as np

ORDINARY, CLOSED, WIDE = 64, 8, 4
COUNT = ORDINARY + CLOSED + WIDE
SEED = 20261
FIRST_STEPPED, STEPPED = 81, 20
LAST = FIRST_STEPPED + STEPPED - 1
UPRIGHT = 0.3  # share of the other tables' lean: their bases keep the tops apart, and gaps near the limit are to be had
LOW_MM, HIGH_MM, BOARD_MM = 3.0, 20.0, 5.0  # steps by accident; steps on purpose, of boards so many mm thicker each

# The cameras: pixels, focal length (px), k1 k2 p1 p2 k3.  Lenses as phones have them, rounded by eye.
CAMERAS = {
    "A": {"width": 4000, "height": 3000, "f": 2950.0, "dist": [-0.035, 0.045, -0.0003, 0.0004, -0.015]},
    "B": {"width": 4000, "height": 3000, "f": 3300.0, "dist": [0.045, -0.03, 0.0002, -0.0004, 0.01]},
    "C": {"width": 3264, "height": 2448, "f": 2500.0, "dist": [-0.1, 0.06, 0.0004, 0.0001, -0.01]},
    "D": {"width": 2592, "height": 1944, "f": 2050.0, "dist": [0.02, -0.01, -0.0001, -0.0003, 0.0]},
}

# camera, tiles across and down, side (mm): from 2 to 6 px/mm, seldom more than 2 m of seams, as light costs by the metre
LAYOUTS = (
    ("A", 2, 2, 200.0), ("A", 2, 2, 300.0), ("A", 3, 2, 300.0), ("A", 3, 3, 300.0), ("A", 2, 1, 300.0), ("A", 4, 2, 200.0),
    ("B", 2, 2, 250.0), ("B", 3, 2, 200.0), ("B", 2, 2, 300.0), ("B", 3, 3, 250.0), ("B", 2, 1, 250.0), ("B", 2, 3, 200.0),
    ("C", 2, 2, 300.0), ("C", 3, 2, 250.0), ("C", 2, 2, 200.0), ("C", 3, 3, 200.0), ("C", 3, 1, 300.0), ("C", 4, 3, 200.0),
    ("D", 2, 2, 300.0), ("D", 2, 2, 200.0), ("D", 3, 2, 300.0),
)
# Of the tables at the end, most at 3 px/mm and finer
ADDED_LAYOUTS = (
    ("A", 2, 2, 200.0), ("B", 2, 2, 250.0), ("B", 3, 2, 200.0), ("C", 2, 2, 200.0), ("A", 3, 2, 300.0), ("D", 2, 2, 200.0),
)
COLOURS = ("blue", "pink", "white", "yellow", "grey", "darkgreen", "charcoal", "green", "terracotta", "lilac", "sand")

# entry: least, most
RANGES = {
    "blur": (0.4, 1.2), "sharpen": (0.0, 1.0), "sharpen_radius": (0.7, 1.6), "jpeg": (70, 98), "noise": (2000, 20000),
    "vignette": (0.0, 0.25), "exposure": (0.55, 0.85), "tilt": (0.0, 12.0), "tilt_toward": (0.0, 360.0),
    "light_toward": (0.0, 360.0), "unused": (0.0, 1.0), "fill": (0.74, 0.92), "touching": (0.0, 0.5), "chips": (0.0, 0.35),
    "lean": (0.0, 2.5), "wave": (0.02, 0.15), "bow": (0.03, 0.25), "fine": (0.002, 0.02), "slope": (0.0003, 0.0028),
    "offset": (0.1, 0.5), "texture_amount": (0.003, 0.035), "thickness": (0.1, 0.3), "wood_turn": (0.0, 180.0),
    "wide": (0.0, 1.0), "turned": (0.0, 1.0),
}
KINDS = {
    "texture": ("fine", "beads", "brushed"), "light": ("window", "lamp", "two", "overcast"), "pencil": (0, 0, 2, 4),
    "halfway": (False, False, False, True), "squares": (4, 4, 4, 1), "reference": ("frame", "frame", "frame", "frame", "plain"),
    "mosaic": ("directional", "directional", "linear", "none"), "contrast": (0.0, 0.0, 0.3), "colours": COLOURS,
    "layout": LAYOUTS,
}

# Edges cut by machine and pushed together: nearly all of the gaps come out at 0 to 0.1 mm.
NEARLY_CLOSED = {"gaps": [0.0, 0.05], "slope": 0.00006, "offset": 0.02, "bow": 0.012, "wave": 0.01, "fine": 0.004, "lean": 0.0,
                 "turn": 0.00006, "slip": 0.02}
# Ordinary edges 3 to 5 mm apart; where four corners meet the generator leaves more here and there
WIDE_OPEN = {"gaps": [3.0, 3.8], "slope": 0.0005, "offset": 0.05, "bow": 0.08, "touching": 0.0, "slip": 0.3}
# Entries of the generator that may come to an end; they are still drawn, for the other draws to stay the same
MAY_GO = ("bounce", "samples", "around")


def dealt(rng, kinds, count):
    """count of the kinds, each as often as the others, in a shuffled order."""
    pack = [kinds[i % len(kinds)] for i in range(count)]
    return [pack[i] for i in rng.permutation(count)]


def draw(count, rng, layouts, first_seed):
    """count recipes, each with its camera's letter: [(camera, recipe)]."""
    numbers = {k: a + (b - a) * (rng.permutation(count) + rng.uniform(0, 1, count)) / count for k, (a, b) in RANGES.items()}
    kinds = {k: dealt(rng, layouts if k == "layout" else v, count) for k, v in KINDS.items()}
    second = dealt(rng, COLOURS + (None,) * 2 * len(COLOURS), count)  # a third of the tables have tiles of two colours
    out = []
    for i in range(count):
        r = {k: round(float(v[i]), 4) for k, v in numbers.items()}
        r.update({k: v[i] for k, v in kinds.items()})
        camera, columns, rows, tile = r.pop("layout")
        r.pop("unused")  # was a number of the light's, and stays so that the others are drawn as before
        wide, turned = r.pop("wide"), r.pop("turned")
        r.update(CAMERAS[camera], columns=columns, rows=rows, tile=tile, seed=first_seed + i)
        r.update(jpeg=round(r["jpeg"]), noise=round(r["noise"]))
        # least openings of the seams: most tables fine, some to 6 mm; openings come on top of what the edges' shapes leave
        r["gaps"] = [0.5, 4.5] if wide > 0.75 else [0.0, round(0.3 + 2.2 * wide, 2)]
        # most people hold the phone straight; the table may still lie turned in the picture
        r["rotate"] = round(3 * (2 * turned - 1) if turned < 0.7 else 250 * (turned - 0.85), 2)
        r["colours"] = [r["colours"]] + ([second[i]] if second[i] and second[i] != r["colours"] else [])
        if r["squares"] == 4 and columns * rows < 4:
            r["squares"] = 2
        out.append((camera, r))
    return out


# At 3 px/mm and finer, also from aside; small pictures, as there are several of most
STEPPED_LAYOUTS = (
    ("C", 3, 2, 200.0), ("D", 2, 2, 200.0), ("D", 3, 1, 200.0), ("C", 2, 2, 250.0), ("D", 3, 3, 150.0), ("D", 3, 2, 200.0), ("C", 3, 3, 200.0),
    ("D", 2, 2, 150.0), ("D", 3, 2, 150.0),
)
STEPPED_KINDS = {
    "views": (1, 2, 2, 3, 1, 2), "light": ("window", "lamp", "two", "overcast"), "squares": (4, 4, "each", 4, 1),
    "askew": ([], [], [0.05, 0.3]), "rim": (0.0, [0.0, 0.6], 0.0),
}


def heights(rng, columns, rows, high):
    """How far each top stands above the lowest boards: all a little, or boards of one to five thicknesses that scatter by 0.3 mm."""
    names = [chr(ord("A") + c) + str(r + 1) for r in range(rows) for c in range(columns)]
    if not high:
        return {n: round(float(rng.uniform(0, LOW_MM)), 2) for n in names}
    boards = BOARD_MM * rng.integers(0, round(HIGH_MM / BOARD_MM), len(names), endpoint=True)
    return {n: round(float(np.clip(b + rng.normal(0, 0.3), 0, HIGH_MM)), 2) for n, b in zip(names, boards)}


def places(rng, count):
    """Where the camera stands: one photo nearly from above, or some from sides that lie evenly around the table."""
    first = rng.uniform(0, 360)
    aside = (1, 8) if count == 1 else (12, 17)
    return [{"tilt": round(float(rng.uniform(*aside)), 2), "tilt_toward": round(float(first + 360 * i / count + rng.normal(0, 8)) % 360, 1),
             "rotate": round(float(rng.uniform(-4, 4)), 2), "shot": i} for i in range(count)]


def stepped():
    """The recipes of the tables that are not level: [(camera, recipe, changes for each photo)].  Every other one has high steps."""
    rng = np.random.default_rng(SEED + 2)
    kinds = {k: dealt(rng, v, STEPPED) for k, v in STEPPED_KINDS.items()}
    out = []
    for i, (camera, r) in enumerate(draw(STEPPED, rng, STEPPED_LAYOUTS, 7200)):
        r.update({k: v[i] for k, v in kinds.items()})
        if r["columns"] * r["rows"] < 4 and r["squares"] == 4:
            r["squares"] = 2
        r.update({"side": 60.0, "inner": 36.0, "margin": 10.0} if r["squares"] == "each" or i % 3 == 0 else {"side": 80.0, "inner": 48.0})
        r.update(heights=heights(rng, r["columns"], r["rows"], i % 2 == 1), reference="frame", texture_amount=max(0.008, r["texture_amount"]))
        r["lean"] = round(UPRIGHT * r["lean"], 4)
        out.append((camera, r, places(rng, r.pop("views"))))
    return out


def tile_is_told(number):
    """Whether the program is told the side of this table's tiles (numbers from 1): seams that are closed may not show at all, and
    such a table cannot be told from one large tile."""
    return ORDINARY < number <= ORDINARY + CLOSED


def tables():
    """The recipes, in order, each with its camera's letter: [(camera, recipe)]."""
    out = draw(ORDINARY, np.random.default_rng(SEED), LAYOUTS, 7000)
    added = draw(CLOSED + WIDE, np.random.default_rng(SEED + 1), ADDED_LAYOUTS, 7100)
    for i, (_, r) in enumerate(added):
        r.update(NEARLY_CLOSED if i < CLOSED else WIDE_OPEN)
    return out + added


def numbered():
    """All of them: {number: (camera, recipe, changes for each photo, or nothing where there is one only)}."""
    out = {n: (*t, []) for n, t in enumerate(tables(), 1)}
    return out | dict(enumerate(stepped(), FIRST_STEPPED))


def shots(number, views):
    """Names of a table's photos, without endings: s07; s81-a, s81-b."""
    return ["s%02d-%s" % (number, "abc"[i]) for i in range(len(views))] or ["s%02d" % number]
