"""Things that lie on the table: hands, offcuts, tape, cables, cloth, dust, glare, and a tile that is not there."""
import math

import numpy as np

from kinds import kind
from picture import TO_LINEAR, circle, stored

SKIN, WOOD, PAPER_TAPE, BLACK, COTTON = (0.46, 0.27, 0.20), (0.45, 0.31, 0.18), (0.62, 0.50, 0.30), (0.03, 0.03, 0.032), (0.30, 0.33, 0.42)
WHITE = (0.80, 0.80, 0.78)


def shadow_of(scene, height_mm, depth=0.35):
    """Soft light from the north-west: the shadow falls to the south-east, softer from higher things."""
    away = height_mm * 0.4 * scene.px_per_mm
    return away, away, 0.6 + away * 0.6, depth


def capsule(a, b, radius):
    """Outline of a rounded bar from a to b, mm."""
    a, b = np.asarray(a, float), np.asarray(b, float)
    turn = math.atan2(b[1] - a[1], b[0] - a[0])
    t = np.linspace(np.pi / 2, 3 * np.pi / 2, 20) + turn
    far = np.linspace(-np.pi / 2, np.pi / 2, 20) + turn
    return np.vstack([a + radius * np.column_stack([np.cos(t), np.sin(t)]), b + radius * np.column_stack([np.cos(far), np.sin(far)])])


@kind("hand", (1, 3, 5), "fingers over a seam; 5 with the palm and the wrist")
def hand(scene, fingers, rng):
    name, at = scene.pick_seam(rng, 60)
    middle, turn = scene.seam_line(name, at)[0], rng.uniform(0, 2 * np.pi)
    way = np.array([math.cos(turn), math.sin(turn)])
    side = np.array([-way[1], way[0]])
    parts = []
    for k in range(min(fingers, 4)):
        root = middle + side * (k - (min(fingers, 4) - 1) / 2) * 19 - way * 45
        parts.append(capsule(root, root + way * (78 + 8 * math.sin(k * 1.3 + 0.6)), 8.5))
    if fingers > 4:
        parts += [circle(middle - way * 70, 44, squash=0.9), capsule(middle - way * 90, middle - way * 420, 30)]
    light = scene.lit(np.array(SKIN) * rng.uniform(0.8, 1.1))
    scene.lay([scene.px(p) for p in parts], light, rng, soft_px=1.0, shadow=shadow_of(scene, 12), shade=0.5, noise=2.0)


@kind("offcut", (18, 50, 120), "mm of the same foam lying on a seam, without a rim that shows")
def offcut(scene, length, rng):
    lay_offcut(scene, length, rng, None, 0.0)


@kind("offcut-shaded", (18, 50, 120), "mm of the same foam on a seam, throwing a shadow")
def offcut_shaded(scene, length, rng):
    lay_offcut(scene, length, rng, shadow_of(scene, 10), 0.15)


def lay_offcut(scene, length, rng, shadow, shade):
    for _ in range(2):
        name, at = scene.pick_seam(rng, length / 2 + 20)
        along, across = scene.along(name)
        outline = scene.rectangle(scene.seam_line(name, at)[0], along, across, length, max(20, length * 0.6), rng.uniform(-25, 25))
        scene.lay([outline], scene.foam(name.split("-")[0]), rng, shadow=shadow, shade=shade, noise=0)


@kind("offcut-wood", (12, 40, 100), "mm of thin wood on a seam")
def offcut_wood(scene, length, rng):
    for _ in range(2):
        name, at = scene.pick_seam(rng, length / 2 + 20)
        along, across = scene.along(name)
        outline = scene.rectangle(scene.seam_line(name, at)[0], along, across, length, max(15, length * 0.5), rng.uniform(-30, 30))
        scene.lay([outline], scene.lit(np.array(WOOD) * rng.uniform(0.7, 1.2)), rng, shadow=shadow_of(scene, 4), noise=2.5)


@kind("paper", (25, 60, 140), "mm of a white sheet on a seam")
def paper(scene, length, rng):
    name, at = scene.pick_seam(rng, length / 2 + 20)
    along, across = scene.along(name)
    outline = scene.rectangle(scene.seam_line(name, at)[0], along, across, length, length * 0.7, rng.uniform(-30, 30))
    scene.lay([outline], scene.lit(WHITE), rng, shadow=shadow_of(scene, 1, 0.2))


@kind("tape-along", (30, 90, 180), "mm of masking tape, 19 mm wide, along a seam")
def tape_along(scene, length, rng):
    name, at = scene.pick_seam(rng, length / 2 + 10)
    stretch_of_tape(scene, name, at, length, 0.0, rng)


@kind("tape-across", (1, 3, 6), "strips of masking tape, 19 mm wide, across seams")
def tape_across(scene, count, rng):
    for _ in range(count):
        name, at = scene.pick_seam(rng, 30)
        stretch_of_tape(scene, name, at, 60, 90 + rng.uniform(-15, 15), rng)


def stretch_of_tape(scene, name, at, length, turn, rng):
    along, across = scene.along(name)
    light = scene.lit(np.array(PAPER_TAPE) * rng.uniform(0.9, 1.15))
    scene.lay([scene.rectangle(scene.seam_line(name, at)[0], along, across, length, 19, turn)], light, rng,
              shadow=(0.5, 0.5, 0.8, 0.15), noise=2.5)


@kind("tape-own-colour", (25, 70, 150), "mm of tape in the tops' own colour, 25 mm wide, along a seam")
def tape_own_colour(scene, length, rng):
    name, at = scene.pick_seam(rng, length / 2 + 10)
    along, across = scene.along(name)
    light = scene.top_light(name.split("-")[0]) * rng.uniform(0.94, 1.04)
    scene.lay([scene.rectangle(scene.seam_line(name, at)[0], along, across, length, 25)], light, rng, noise=1.5)


@kind("glare", (12, 35, 80), "mm: radius of a spot where the picture is white")
def glare(scene, radius, rng):
    for _ in range(2):
        name, at = scene.pick_seam(rng, min(40, radius))
        middle = scene.px(scene.seam_line(name, at))[0]
        add_glow(scene, middle, radius * scene.px_per_mm, rng.uniform(0.6, 1.0))


def add_glow(scene, middle, radius_px, squash):
    """Adds light that falls off smoothly; where nothing but white is left, the tops are hidden."""
    box = scene.box(np.array([middle - 2.2 * radius_px, middle + 2.2 * radius_px]), 0)
    if box is None:
        return
    x0, y0, x1, y1 = box
    y, x = np.mgrid[y0:y1, x0:x1]
    far = np.hypot(x - middle[0], (y - middle[1]) / squash) / radius_px
    linear = TO_LINEAR[scene.image[y0:y1, x0:x1]] + (1.3 * np.exp(-far ** 4 * 0.7))[..., None]
    scene.image[y0:y1, x0:x1] = np.clip(stored(linear) + 0.5, 0, 255).astype(np.uint8)
    scene.hide(box, linear.min(axis=2) >= 1.0)


@kind("missing-tile", ("corner", "edge", "middle"), "which tile is not there; the table-top shows instead",
      fits=lambda s: s.truth["cols"] * s.truth["rows"] >= 4)
def missing_tile(scene, which, rng):
    columns, rows = scene.truth["cols"], scene.truth["rows"]
    free = [n for n in scene.truth["tiles"] if all(scene.far_from_cards(p, -30) for p in (scene.tile_middle(n),))]
    bare = [n for n in free if kind_of(n, columns, rows) == which] or [n for n in scene.truth["tiles"] if kind_of(n, columns, rows) == which]
    bare = bare or sorted(scene.truth["tiles"])[-1:]
    name = bare[rng.integers(len(bare))]
    scene.gone.add(name)
    outline = scene.px(scene.tile_outline(name) + 0.6 * np.sign(scene.tile_outline(name) - scene.tile_middle(name)), name)
    scene.lay([outline], table_top(scene), rng, shadow=None, shade=0.35, noise=2.0)


def kind_of(name, columns, rows):
    column, row = ord(name[0]) - ord("A"), int(name[1:]) - 1
    ends = (column in (0, columns - 1)) + (row in (0, rows - 1))
    return ("middle", "edge", "corner")[ends]


def table_top(scene):
    """A function that gives a box the table-top, copied from the photo's own rim."""
    inside = scene.inside_table()
    h, w = inside.shape
    strip = max(8, int(0.02 * h))
    rim = TO_LINEAR[scene.clean[:strip]][:, inside[:strip].max(axis=0) == 0]
    if rim.shape[1] < 50:
        rim = TO_LINEAR[scene.clean[:strip]]

    def texture(box):
        x0, y0, x1, y1 = box
        rows = np.abs((np.arange(y0, y1) % (2 * strip)) - strip + 0.5).astype(int)[:, None]
        columns = np.abs((np.arange(x0, x1) % (2 * rim.shape[1])) - rim.shape[1] + 0.5).astype(int)[None, :]
        return rim[rows, columns]
    return texture


@kind("cable-along", (40, 120, 220), "mm of a black cable, 5 mm thick, lying on a seam")
def cable_along(scene, length, rng):
    name, at = scene.pick_seam(rng, min(length / 2 + 10, scene.truth["tile"] * 0.49))
    t = np.linspace(-length / 2, length / 2, 120)
    limit = scene.truth["seams"][name]["length"]
    t = t[(at + t > 2) & (at + t < limit - 2)]
    line = np.array([scene.seam_line(name, at + v, 1.5 * math.sin(v / 17.0))[0] for v in t])
    scene.lay([scene.band(line, 5)], scene.lit(BLACK), rng, shadow=shadow_of(scene, 4), noise=1.5)


@kind("cable-beside", (60, 140, 260), "mm of a thin black cable, 2 mm, 3 to 6 mm beside a seam")
def cable_beside(scene, length, rng):
    name, at = scene.pick_seam(rng, min(length / 2 + 10, scene.truth["tile"] * 0.49))
    t, off = np.linspace(-length / 2, length / 2, 120), rng.choice([-1, 1]) * rng.uniform(4, 6)
    limit = scene.truth["seams"][name]["length"]
    t = t[(at + t > 2) & (at + t < limit - 2)]
    line = np.array([scene.seam_line(name, at + v, off + 0.8 * math.sin(v / 31.0))[0] for v in t])
    scene.lay([scene.band(line, 2)], scene.lit(BLACK), rng, shadow=(1, 1, 1, 0.3), noise=1.5)


@kind("cable-across", (1, 3, 5), "black cables across the table")
def cable_across(scene, count, rng):
    for _ in range(count):
        name, at = scene.pick_seam(rng, 40)
        middle, turn = scene.seam_line(name, at)[0], rng.uniform(0, np.pi)
        t = np.linspace(-400, 400, 200)
        way, bend = np.array([math.cos(turn), math.sin(turn)]), rng.uniform(20, 60)
        line = middle + np.outer(t, way) + np.outer(bend * np.sin(t / 130.0), (-way[1], way[0]))
        scene.lay([scene.band(line, 5)], scene.lit(BLACK), rng, shadow=shadow_of(scene, 4), noise=1.5)


@kind("sawdust-slots", (0.15, 0.5, 0.9), "share of the seams' length that dust fills")
def sawdust_slots(scene, share, rng):
    outlines = []
    for name, seam in scene.truth["seams"].items():
        at = 4.0
        while at < seam["length"] - 4:
            run = rng.uniform(2, 14)
            if rng.random() < share:
                outlines.append((name, at, min(at + run, seam["length"] - 4)))
            at += run
    for name, a, b in outlines:
        seam = scene.truth["seams"][name]
        t = np.linspace(a, b, max(3, int((b - a) * 2)))
        gap = np.interp(t, seam["at"], seam["gap_without_chips"])
        along, across = scene.along(name)
        middle = scene.seam_line(name, t)
        wide = (gap / 2 + rng.uniform(0.1, 0.6, len(t)))[:, None] * across
        scene.lay([scene.px(np.vstack([middle + wide, (middle - wide)[::-1]]))], scene.lit(np.array(WOOD) * 1.3), rng, soft_px=0.9, noise=5.0)


@kind("sawdust-tops", (150, 800, 3000), "grains and curls of sawdust scattered over the tops")
def sawdust_tops(scene, count, rng):
    for _ in range(count):
        names = list(scene.truth["tiles"])
        middle = scene.tile_middle(names[rng.integers(len(names))]) + rng.uniform(-0.52, 0.52, 2) * scene.truth["tile"]
        size = np.exp(rng.normal(math.log(0.5), 0.5))
        outline = scene.px(circle(middle, size, 8, rng.uniform(0.2, 1), rng.uniform(0, np.pi)))
        scene.lay([outline], scene.lit(np.array(WOOD) * rng.uniform(0.8, 1.7)), rng, soft_px=0.6, noise=2.0)


@kind("cloth-corner", (0.15, 0.4, 0.8), "of a tile's side: how far a cloth reaches in over a corner of the table")
def cloth_corner(scene, reach, rng):
    columns, rows, tile = scene.truth["cols"], scene.truth["rows"], scene.truth["tile"]
    east, south = rng.integers(2), rng.integers(2)
    name = chr(ord("A") + (columns - 1 if east else 0)) + str(rows if south else 1)
    corner = scene.tile_outline(name)[{(0, 0): 0, (1, 0): 1, (1, 1): 2, (0, 1): 3}[(int(east), int(south))]]
    x, y = (1 if east else -1), (-1 if south else 1)
    a = np.linspace(0, 1, 30)[:, None]
    start, end = corner + (-x * reach * tile * 1.6, y * 60), corner + (x * 60, -y * reach * tile * 1.6)
    fold = np.column_stack([np.sin(a[:, 0] * 19) * 6, np.cos(a[:, 0] * 23) * 6])
    outline = np.vstack([start + a * (end - start) + fold, [corner + (x * 300, -y * 300), corner + (x * 300, y * 300), corner + (-x * 300, y * 300)]])
    scene.lay([scene.px(outline)], scene.lit(COTTON), rng, soft_px=1.0, shadow=shadow_of(scene, 5), noise=4.0)
