"""A clean photo with its truth, what stands where in it, and the brushes that alterations paint with.

Millimetres are the truth's world: x east, y north, on the tops.  Pixels are the photo's, the centre of the top-left one being
(0, 0).  Light is added and taken in linear light (sRGB's curve undone), and written back as 8 bits.
"""
import json
import math
import os
import sys

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

HERE = os.path.dirname(os.path.abspath(__file__))
SAMPLES = os.path.join(HERE, "..", "..", "samples")
for folder in (os.path.join(SAMPLES, "make"), os.path.join(HERE, "..", "study")):
    if folder not in sys.path:
        sys.path.append(folder)
import lens as optics  # noqa: E402

LEVELS = np.arange(256) / 255.0
TO_LINEAR = np.where(LEVELS <= 0.04045, LEVELS / 12.92, ((LEVELS + 0.055) / 1.055) ** 2.4).astype(np.float32)  # IEC 61966-2-1
STEPS = 16384  # of the table that goes back: finer than half a level even where the curve is steepest
_RAMP = np.arange(STEPS + 1) / STEPS
TO_STORED = (np.where(_RAMP <= 0.0031308, 12.92 * _RAMP, 1.055 * np.maximum(_RAMP, 1e-9) ** (1 / 2.4) - 0.055) * 255).astype(np.float32)
PAPER = 0.85      # albedo of a card's white, about
SOFT_PX = 0.7     # blur of painted edges: that of the sharp photos here
NOISE = 1.2       # stored levels, of painted faces
NEIGHBOURS = {"N": (0, -1), "E": (1, 0), "S": (0, 1), "W": (-1, 0)}


def stored(linear):
    """Linear light as stored levels (float)."""
    return TO_STORED[(np.clip(linear, 0, 1) * STEPS + 0.5).astype(np.int32)]


def tile_name(column, row):
    return chr(ord("A") + column) + str(row + 1)


def place_of(name):
    """(column, row) of a tile's name."""
    return ord(name[0]) - ord("A"), int(name[1:]) - 1


class Scene:
    """One photo to be altered.  image: its pixels; hidden: 255 where something covers the tops, or None; options: what the program
    is told, {"--reference": "100/60", ...}; gone: names of tiles that are not there any more; moved: where a pixel of the clean photo
    stands in the altered one; tag: an orientation tag, or None; folder: where files for
    the program may be put; board_profile: a profile as the program makes them; turns: how the table may lie in the altered photo (see score.py); save: what Pillow is told about the
    JPEG."""

    def __init__(self, path, options, board_profile=None):
        with Image.open(path + ".jpg") as photo:
            self.exif = photo.info.get("exif", b"")
            self.clean = np.asarray(photo.convert("RGB"))
        with open(path + ".truth.json") as file:
            self.truth = json.load(file)
        self.name, self.path = os.path.basename(path), path
        c = self.truth["camera"]
        self.camera = optics.Camera(c["width"], c["height"], c["f"], c["dist"], c["at"], c["look"], c["roll"])
        self.own_options, self.board_profile, self.folder = dict(options), board_profile, None
        self.px_per_mm = c["f"] / math.dist(c["at"], c["look"])
        self.start()

    def start(self):
        """A clean copy to alter."""
        self.image, self.hidden, self.options = self.clean.copy(), None, dict(self.own_options)
        self.gone, self.moved, self.turns, self.save = set(), None, ("as it is",), {"quality": 94}
        self.tag = None

    # ---- where things stand --------------------------------------------------------------------------------------

    def height_of(self, tile):
        return self.truth["heights"].get(tile, self.truth["tile_height"]) if tile else self.truth["tile_height"]

    def px(self, points_mm, tile=None):
        """Places on the tops as pixels of the clean photo (n, 2)."""
        p = np.atleast_2d(np.asarray(points_mm, float))
        return self.camera.project(np.column_stack([p, np.full(len(p), self.height_of(tile))]))

    def place(self, points_mm, tile=None):
        """The same in the altered photo."""
        p = self.px(points_mm, tile)
        return self.moved(p) if self.moved else p

    def edge_at(self, tile, side, along_mm):
        """Places of a tile's edge (n, 2), mm: along_mm from the tile's middle, east or north."""
        pose, edge = self.truth["tiles"][tile]["pose"], self.truth["tiles"][tile]["edges"][side]
        t = np.atleast_1d(np.asarray(along_mm, float))
        out = self.truth["tile"] / 2 + edge["offset"] + edge["slope"] * t
        local = {"N": (t, out), "S": (t, -out), "E": (out, t), "W": (-out, t)}[side]
        c, s = math.cos(pose[2]), math.sin(pose[2])
        return np.column_stack([pose[0] + c * local[0] - s * local[1], pose[1] + s * local[0] + c * local[1]])

    def seam_line(self, name, at_mm, beside_mm=0.0):
        """Places along a seam, at_mm from its north or west end, beside_mm to the east or south of the middle between its rims."""
        first, second = name.split("-")
        seam, at = self.truth["seams"][name], np.atleast_1d(np.asarray(at_mm, float))
        upright = first[1:] == second[1:]
        sides = "EW" if upright else "SN"
        rims = []
        for tile, side in zip((first, second), sides):
            pose = self.truth["tiles"][tile]["pose"]
            along = (seam["start"][1] - at) - pose[1] if upright else (seam["start"][0] + at) - pose[0]
            rims.append(self.edge_at(tile, side, along))
        middle = (rims[0] + rims[1]) / 2
        return middle + ((beside_mm, 0.0) if upright else (0.0, -beside_mm))

    def rims(self, name):
        """Both rims at the truth's places along a seam: two arrays (n, 2), mm."""
        seam = self.truth["seams"][name]
        middle, half = self.seam_line(name, seam["at"]), np.array(seam["gap_without_chips"])[:, None] / 2
        first, second = name.split("-")
        across = np.array((1.0, 0.0) if first[1:] == second[1:] else (0.0, -1.0))
        return middle - half * across, middle + half * across

    def tile_middle(self, name):
        return np.array(self.truth["tiles"][name]["pose"][:2])

    def tile_outline(self, name):
        """A tile's four corners on the table, mm, from NW clockwise."""
        h = self.truth["tile"] / 2
        return np.vstack([self.edge_at(name, "N", [-h, h]), self.edge_at(name, "S", [h, -h])])

    def cards(self):
        return [np.array(a[:3]) for a in self.truth["reference"]["at"]]

    def card_half(self):
        """From a card's middle to the end of its paper, mm."""
        r = self.truth["reference"]
        return r["side"] / 2 + (0 if r["kind"] == "cut" else r["margin"])

    def far_from_cards(self, point_mm, by_mm):
        return all(math.dist(point_mm, c[:2]) > self.card_half() * 1.2 + by_mm for c in self.cards())

    def pick_seam(self, rng, room_mm=30.0, tries=60):
        """(seam, place along it) with room from the seam's ends, away from the cards if there is such a place."""
        names = list(self.truth["seams"])
        for _ in range(tries):
            name = names[rng.integers(len(names))]
            length = self.truth["seams"][name]["length"]
            at = rng.uniform(min(room_mm, length / 2), max(length - room_mm, length / 2))
            if self.far_from_cards(self.seam_line(name, at)[0], room_mm / 2):
                break
        return name, at

    def along(self, name):
        """Unit vectors along and across a seam, mm."""
        first, second = name.split("-")
        return (np.array((0.0, -1.0)), np.array((1.0, 0.0))) if first[1:] == second[1:] else (np.array((1.0, 0.0)), np.array((0.0, -1.0)))

    def inside_table(self):
        """Mask of the photo's pixels inside the table's outline, 0 to 255."""
        corners = [self.tile_outline(tile_name(c, r))[k] for k, (c, r) in enumerate(
            ((0, 0), (self.truth["cols"] - 1, 0), (self.truth["cols"] - 1, self.truth["rows"] - 1), (0, self.truth["rows"] - 1)))]
        mask = Image.new("L", self.size())
        ImageDraw.Draw(mask).polygon([tuple(p) for p in self.px(corners)], fill=255)
        return np.asarray(mask)

    def size(self):
        return self.image.shape[1], self.image.shape[0]

    # ---- light ---------------------------------------------------------------------------------------------------

    def linear(self):
        return TO_LINEAR[self.image]

    def put(self, linear):
        self.image = (stored(linear) + 0.5).astype(np.uint8)

    def top_light(self, tile):
        """Median linear colour of a tile's top, away from its rims and cards."""
        x, y = self.tile_middle(tile)
        spread = self.truth["tile"] * 0.42
        grid = np.array([(x + i * spread / 6, y + j * spread / 6) for i in range(-6, 7) for j in range(-6, 7)])
        free = np.array([self.far_from_cards(p, 0) for p in grid])
        p = np.rint(self.px(grid[free] if free.any() else grid, tile)).astype(int)
        w, h = self.size()
        return np.median(TO_LINEAR[self.clean[np.clip(p[:, 1], 0, h - 1), np.clip(p[:, 0], 0, w - 1)]], axis=0)

    def white(self):
        """Linear light of a card's white paper, mean over the cards."""
        out = []
        for x, y, turn in self.cards():
            r = self.truth["reference"]
            d = r["side"] / 2 * 0.6 if r["kind"] == "cut" else r["side"] / 2 + r["margin"] * 0.6
            a = np.radians(turn) + np.arange(4) * np.pi / 2
            p = np.rint(self.px(np.column_stack([x + d * np.cos(a), y + d * np.sin(a)]))).astype(int)
            out.append(np.median(TO_LINEAR[self.clean[p[:, 1], p[:, 0]]], axis=0))
        return np.mean(out, axis=0)

    def lit(self, albedo):
        """Light of a matt face of that albedo (r, g, b), lit as the cards are."""
        return np.asarray(albedo, np.float32) / PAPER * self.white().astype(np.float32)

    # ---- brushes -------------------------------------------------------------------------------------------------

    def box(self, pixels, margin):
        """The part of the photo (x0, y0, x1, y1) around some pixels, or None outside."""
        w, h = self.size()
        lo, hi = np.floor(pixels.min(axis=0) - margin).astype(int), np.ceil(pixels.max(axis=0) + margin + 1).astype(int)
        x0, y0, x1, y1 = max(0, lo[0]), max(0, lo[1]), min(w, hi[0]), min(h, hi[1])
        return (x0, y0, x1, y1) if x1 > x0 and y1 > y0 else None

    def shape(self, outlines_px, box, soft_px=SOFT_PX):
        """Cover (0 to 1) of polygons inside a box, four samples a pixel each way, softened."""
        x0, y0, x1, y1 = box
        mask = Image.new("L", ((x1 - x0) * 4, (y1 - y0) * 4))
        draw = ImageDraw.Draw(mask)
        for outline in outlines_px:
            draw.polygon([((x - x0 + 0.5) * 4 - 0.5, (y - y0 + 0.5) * 4 - 0.5) for x, y in outline], fill=255)
        mask = mask.resize((x1 - x0, y1 - y0), Image.BOX)
        return np.asarray(mask.filter(ImageFilter.GaussianBlur(soft_px)) if soft_px else mask, np.float32) / 255

    def hide(self, box, cover):
        if self.hidden is None:
            self.hidden = np.zeros(self.image.shape[:2], np.uint8)
        x0, y0, x1, y1 = box
        part = self.hidden[y0:y1, x0:x1]
        np.maximum(part, np.where(cover > 0.5, 255, 0).astype(np.uint8), out=part)

    def lay(self, outlines_px, light, rng, soft_px=SOFT_PX, shadow=None, hides=True, shade=None, noise=NOISE):
        """Lays an opaque thing on the table.  light: linear (3,) or a function of box giving (h, w, 3); shadow: (dx, dy, blur_px,
        depth) of the shadow that it throws; shade: how much its rims are darker, 0 to 1."""
        everything = np.vstack(outlines_px)
        box = self.box(everything, 4 + (abs(shadow[0]) + abs(shadow[1]) + 3 * shadow[2] if shadow else 0))
        if box is None:
            return
        x0, y0, x1, y1 = box
        cover, linear = self.shape(outlines_px, box, soft_px), TO_LINEAR[self.image[y0:y1, x0:x1]]
        if shadow:
            dx, dy, blur_px, depth = shadow
            dark = self.shape([np.asarray(o) + (dx, dy) for o in outlines_px], box, blur_px)
            linear = linear * (1 - depth * dark)[..., None]
        face = light(box) if callable(light) else np.broadcast_to(np.asarray(light, np.float32), linear.shape)
        if shade:
            width = max(2.0, 0.12 * min(np.ptp(everything, axis=0)))
            inner = np.asarray(Image.fromarray((cover * 255).astype(np.uint8)).filter(ImageFilter.GaussianBlur(width)), np.float32) / 255
            face = face * (1 - shade * (1 - np.clip(2 * inner - 1, 0, 1)))[..., None]
        linear = linear + cover[..., None] * (face - linear)
        levels = stored(linear) + cover[..., None] * rng.normal(0, noise, linear.shape)
        self.image[y0:y1, x0:x1] = np.clip(levels + 0.5, 0, 255).astype(np.uint8)
        if hides:
            self.hide(box, cover)

    def dim(self, outlines_px, share, soft_px=SOFT_PX):
        """Light inside the outlines times `share`, on what is there: nothing is hidden."""
        box = self.box(np.vstack(outlines_px), 4 + 3 * soft_px)
        if box is None:
            return
        x0, y0, x1, y1 = box
        cover = self.shape(outlines_px, box, soft_px)
        linear = TO_LINEAR[self.image[y0:y1, x0:x1]] * (1 - (1 - share) * cover)[..., None]
        self.image[y0:y1, x0:x1] = (stored(linear) + 0.5).astype(np.uint8)

    def band(self, line_mm, width_mm):
        """The outline, px, of a band along a line of places."""
        line = np.asarray(line_mm, float)
        way = np.gradient(line, axis=0)
        way /= np.hypot(*way.T)[:, None]
        side = np.column_stack([-way[:, 1], way[:, 0]]) * width_mm / 2
        return self.px(np.vstack([line + side, (line - side)[::-1]]))

    def rectangle(self, middle_mm, along, across, length_mm, width_mm, turn_deg=0.0):
        """The outline, px, of a rectangle whose length runs along a unit vector."""
        c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
        a, b = np.array(along) * c + np.array(across) * s, np.array(across) * c - np.array(along) * s
        corners = [(-1, -1), (1, -1), (1, 1), (-1, 1)]
        return self.px([np.asarray(middle_mm) + a * i * length_mm / 2 + b * j * width_mm / 2 for i, j in corners])

    def foam(self, tile):
        """A function that gives a box the top of a tile, taken from its middle: the same foam."""
        x, y = self.px(self.tile_middle(tile), tile)[0]
        light = self.top_light(tile)
        size = int(self.truth["tile"] * self.px_per_mm * 0.3)
        x, y = int(x), int(y)
        patch = TO_LINEAR[self.clean[y - size:y + size, x - size:x + size]]
        near = np.abs(patch - light).max(axis=2) < 0.35 * max(light.max(), 0.02)

        def texture(box):
            x0, y0, x1, y1 = box
            rows, columns = (np.arange(y0, y1)[:, None] * 1 + 7) % (2 * size), (np.arange(x0, x1)[None, :] + 13) % (2 * size)
            out = patch[rows, columns].copy()
            out[~near[rows, columns]] = light
            return out
        return texture


def circle(middle, radius, steps=48, squash=1.0, turn=0.0):
    """Outline of an ellipse, (n, 2)."""
    a = np.linspace(0, 2 * np.pi, steps, endpoint=False)
    x, y = radius * np.cos(a), radius * squash * np.sin(a)
    return np.column_stack([middle[0] + x * math.cos(turn) - y * math.sin(turn), middle[1] + x * math.sin(turn) + y * math.cos(turn)])
