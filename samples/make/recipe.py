"""What a photo is made of: every number that can be chosen, with its default, and a random choice over the whole range."""
import numpy as np

# Linear albedo.  Foam boards, painted foam and card as one meets them; rounded by eye.
COLOURS = {
    "blue": (0.24, 0.42, 0.54), "pink": (0.72, 0.44, 0.46), "white": (0.70, 0.70, 0.69), "yellow": (0.70, 0.58, 0.27),
    "grey": (0.32, 0.33, 0.34), "darkgreen": (0.050, 0.105, 0.060), "charcoal": (0.060, 0.062, 0.066),
    "green": (0.22, 0.36, 0.16), "terracotta": (0.42, 0.19, 0.11), "lilac": (0.45, 0.38, 0.58), "sand": (0.58, 0.48, 0.34),
}

DEFAULT = {
    "seed": 1,
    # camera: pixels, focal length in px, k1 k2 p1 p2 k3
    "width": 4000, "height": 3000, "f": 2900.0, "dist": [-0.03, 0.05, -0.0002, 0.0005, -0.02],
    # table: tiles across and down, side in mm; all lengths in mm
    "columns": 3, "rows": 3, "tile": 300.0, "tile_height": 45.0,
    # how the tiles lie: least opening of a seam (from, to), share of seams pushed tight, sideways slip, turn (rad)
    "gaps": [0.0, 1.5], "touching": 0.25, "slip": 0.8, "turn": 0.0006,
    # how the tiles are cut (standard deviations): slope mm/mm, offset, bow, waves; share of edges with a chip; lean up to
    # (degrees); height differences of the tops
    "slope": 0.0018, "offset": 0.35, "bow": 0.12, "wave": 0.07, "fine": 0.012, "chips": 0.2, "lean": 1.5, "rise": 0.0,
    # tiles that are thicker by so many mm than tile_height, besides the random rise: {"A1": 10.0}
    "heights": {},
    # tops that slant: [from, to] degrees at random by tile, each its own way, or {"A1": [east, north]}, slopes in mm per mm
    "askew": [],
    # sanded before they were laid: [common side, unevenness left] in mm, or nothing; chips stay
    "sand": [],
    # plans carried out on the tiles before they were laid, one after another: each the "edges" of a plan.json, or as much of them as
    # [{"edge": "A1 east", "true_up": [{"at_mm": 0, "remove_mm": 0.4}, ...], "bevel_mm": 1.2}, ...]
    "carried_out": [],
    # rows: each tile against the ones to its west and north, as gaps and touching say. push: from there all are pushed inward, until
    # the seams' mean gaps add up to the least. laid: another number lays the tiles once more, with other slips
    "lay": "rows", "laid": 0,
    # tops: colour names, used in turn over the table; texture fine | beads | brushed, amount (share of the tone)
    "colours": ["blue"], "texture": "fine", "texture_amount": 0.015,
    # rims rounded, radius in mm: one for all tiles, {"A1": 0.4} by tile (0 for the others), or [from, to] at random by tile, or by
    # edge where rim_by is "edge"; the gap of the truth lies between the side faces just below
    "rim": 0.0, "rim_by": "tile",
    # light window | lamp | two | overcast, from where (degrees, 0 east, 90 north)
    "light": "window", "light_toward": 40.0,
    # table-top of wood: tone, and the grain's direction in degrees
    "wood": [0.22, 0.15, 0.09], "wood_turn": 70.0,
    # where the camera stands: tilt, from which side (degrees), turn of the picture (within 40: A1 is the tile at
    # the photo's top left), share of the frame the table fills, shift
    "tilt": 3.0, "tilt_toward": 200.0, "rotate": 1.5, "fill": 0.85, "shift": [0.0, 0.0],
    # reference squares: frame | plain | cut, how many (4: near the corners, 1: near the middle, on one tile if tops are not
    # level, "each": one on every tile), thickness of the card, how far the ink has run beyond the black's sides, outside and inside
    "reference": "frame", "side": 100.0, "inner": 60.0, "margin": 14.0, "squares": 4, "thickness": 0.2, "ink_spread": 0.0,
    # pencil lines, half-way marks on the edges: how far they lie off the middle of the tile's axis and slant away over their
    # length (standard deviations, mm), share of the edges that have one
    "pencil": 0, "halfway": False, "halfway_off": 0.5, "halfway_skew": 0.2, "halfway_share": 1.0,
    # camera: lens blur (sigma, px), light fall-off in the corners, exposure (linear level of a white card), photons of
    # a full pixel, read noise (electrons), colour mosaic
    # directional | linear | none (how its colours are filled in), contrast, exponent of the stored values, sharpening and its
    # radius (px), a blur of the finished picture (sigma, px: a program's, not the lens's), JPEG quality
    "blur": 0.6, "vignette": 0.1, "exposure": 0.72, "noise": 9000.0, "read": 4.0, "mosaic": "directional", "contrast": 0.0,
    "gamma": 1.0, "sharpen": 0.3, "sharpen_radius": 1.0, "soften": 0.0, "jpeg": 92, "camera": "Museum phone",
    # how finely light is worked out and looked at: 2 halves every step
    "fineness": 1.0,
    # days between the seed's own day and the photo's; which photo of the same table it is: another number, other noise
    "days": 0, "shot": 0,
}


def complete(given):
    unknown = set(given) - set(DEFAULT)
    if unknown:
        raise SystemExit("recipe: unknown entries: " + ", ".join(sorted(unknown)))
    return {**DEFAULT, **given}


def pick_lens(rng, width):
    f = width * rng.uniform(0.68, 0.95)
    k1, k2 = round(rng.uniform(-0.12, 0.06), 4), round(rng.uniform(-0.05, 0.08), 4)
    p1, p2, k3 = round(rng.normal(0, 0.0003), 6), round(rng.normal(0, 0.0003), 6), round(rng.uniform(-0.02, 0.02), 4)
    return {"f": round(f, 1), "dist": [k1, k2, p1, p2, k3]}


SIZES = ((3, 3, .25), (2, 2, .15), (3, 2, .15), (2, 3, .1), (4, 3, .15), (4, 4, .08), (5, 3, .07), (2, 1, .05))  # and how often


def pick_table(rng):
    columns, rows = SIZES[rng.choice(len(SIZES), p=[s[2] for s in SIZES])][:2]
    tile = float(rng.choice([300, 300, 250, 200, 400] if columns * rows <= 6 else [300, 300, 250, 200]))
    wide = rng.random() < 0.25
    names = list(COLOURS)
    colours = [names[i] for i in rng.choice(len(names), 1 if rng.random() < 0.7 else 2, replace=False)]
    return {"columns": columns, "rows": rows, "tile": tile,
            "gaps": [0.5, 5.0] if wide else [0.0, round(rng.uniform(0.4, 2.0), 2)], "touching": round(rng.uniform(0, 0.5), 2),
            "chips": round(rng.uniform(0, 0.35), 2), "lean": round(rng.uniform(0, 2.5), 2),
            "wave": round(rng.uniform(0.02, 0.15), 3), "bow": round(rng.uniform(0.03, 0.25), 3), "fine": round(rng.uniform(0.002, 0.02), 4),
            "slope": round(rng.uniform(0.0003, 0.0028), 5), "offset": round(rng.uniform(0.1, 0.5), 2),
            "rise": 0.0 if rng.random() < 0.7 else 0.15, "colours": colours, "texture": str(rng.choice(["fine", "beads", "brushed"])),
            "texture_amount": round(rng.uniform(0.005, 0.035), 4)}


def pick_wood(rng):
    rng.uniform()  # was the light between walls, which now follows from the albedo; the tables of old numbers stay what they were
    return [round(v * rng.uniform(0.6, 1.6), 3) for v in (0.22, 0.15, 0.09)]


def pick_view(rng):
    strong = rng.random() < 0.3
    return {"tilt": round(rng.uniform(0, 12 if strong else 6), 2), "tilt_toward": round(rng.uniform(0, 360), 1),
            "rotate": round(rng.uniform(-38, 38) if rng.random() < 0.3 else rng.normal(0, 3), 2),
            "fill": round(rng.uniform(0.72, 0.93), 3), "shift": [round(rng.normal(0, 0.02), 4), round(rng.normal(0, 0.02), 4)],
            "light": str(rng.choice(["window", "lamp", "two", "overcast"])), "light_toward": round(rng.uniform(0, 360), 1),
            "wood": pick_wood(rng), "wood_turn": round(rng.uniform(0, 180), 1)}


def pick_photo(rng):
    return {"reference": str(rng.choice(["frame", "frame", "frame", "plain", "cut"])),
            "squares": int(rng.choice([4, 4, 4, 1, 2])), "pencil": int(rng.choice([0, 0, 2, 4])),
            "halfway": bool(rng.random() < 0.3), "thickness": round(rng.uniform(0.1, 0.3), 2),
            "blur": round(rng.uniform(0.4, 1.2), 2), "vignette": round(rng.uniform(0, 0.25), 3),
            "exposure": round(rng.uniform(0.55, 0.85), 3),
            "noise": round(float(np.exp(rng.uniform(np.log(2000), np.log(20000))))),
            "mosaic": str(rng.choice(["directional", "directional", "linear", "none"])),
            "contrast": round(rng.choice([0.0, 0.0, 0.3]), 2), "sharpen": round(rng.uniform(0, 1), 2),
            "sharpen_radius": round(rng.uniform(0.7, 1.6), 2), "jpeg": int(rng.integers(70, 99))}


def random(seed):
    """A table photo chosen at random over the whole range."""
    rng = np.random.default_rng([seed, 77])
    width, height = [(4000, 3000), (4000, 3000), (4000, 3000), (4608, 3456), (3264, 2448)][rng.integers(5)]
    opt = {"seed": seed, "width": width, "height": height, **pick_lens(rng, width), **pick_table(rng), **pick_view(rng),
           **pick_photo(rng)}
    if opt["reference"] == "cut" and "white" in opt["colours"]:
        opt["reference"] = "frame"  # a white card on white foam cannot be seen
    return complete(opt)
