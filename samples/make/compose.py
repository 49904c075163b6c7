"""Puts the picture together: level faces shaded here, gaps and rims from their patches (scene.py), cards and pencil on top.

Works on a grid of 2 x 2 sub-pixels a pixel, in linear light, block by block.
"""
import math

import numpy as np
from PIL import Image, ImageDraw

from sight import on_slope

SUB = 2            # sub-pixels a pixel, each way
BLOCK = 512        # sub-pixels; keeps a block's arrays in the cache
MAP_STEP = 8       # sub-pixels between exactly mapped points; linear in between is right within 0.001 px


def bilinear(image, col, row):
    """Image samples at fractional places, clamped at the border."""
    h, w = image.shape[:2]
    col, row = np.clip(col, 0, w - 1.001), np.clip(row, 0, h - 1.001)
    c, r = col.astype(np.int32), row.astype(np.int32)
    fc, fr = (col - c).astype(np.float32), (row - r).astype(np.float32)
    flat = image.reshape(h * w, -1)
    at = r * w + c
    fc, fr = fc[..., None], fr[..., None]
    top = flat[at] * (1 - fc) + flat[at + 1] * fc
    low = flat[at + w] * (1 - fc) + flat[at + w + 1] * fc
    return top * (1 - fr) + low * fr


class Raster:
    """A one-channel image on the table, from its south-west corner: pitch_mm a sample."""

    def __init__(self, lo, hi, pitch_mm):
        self.lo, self.pitch_mm = np.array(lo, float), pitch_mm
        self.columns, self.rows = (int(v) + 2 for v in (np.array(hi) - lo) / pitch_mm)
        self.values = None

    def place(self, x, y):
        return (x - self.lo[0]) / self.pitch_mm, (y - self.lo[1]) / self.pitch_mm

    def at(self, x, y):
        return bilinear(self.values, *self.place(x, y))[..., 0]


def blur_rows(a, sigma, axis):
    n = int(math.ceil(3.5 * sigma))
    k = np.exp(-0.5 * (np.arange(-n, n + 1) / sigma) ** 2)
    k = (k / k.sum()).astype(a.dtype)
    pad = [(0, 0)] * a.ndim
    pad[axis] = (n, n)
    p = np.pad(a, pad, mode="edge")
    out = np.zeros_like(a)
    for i, weight in enumerate(k):
        cut = [slice(None)] * a.ndim
        cut[axis] = slice(i, i + a.shape[axis])
        out += weight * p[tuple(cut)]
    return out


def blur_axis(a, sigma, axis, band=128):
    """Gaussian blur along one axis, in bands of rows that fit the cache."""
    n = int(math.ceil(3.5 * sigma))
    if n < 1:
        return a
    out, reach = np.empty_like(a), n if axis == 0 else 0
    for r in range(0, a.shape[0], band):
        lo = max(0, r - reach)
        out[r:r + band] = blur_rows(a[lo:r + band + reach], sigma, axis)[r - lo:r - lo + band]
    return out


def gaussian(a, sigma):
    return blur_axis(blur_axis(a, sigma, 0), sigma, 1) if sigma > 0 else a


# ---- the tops' texture --------------------------------------------------------------------------------------------

def beads(rng, shape, size):
    """Pressed foam beads: the tone of the nearest centre, darker where two beads meet."""
    cells = (shape[0] // size + 3, shape[1] // size + 3)
    jitter, tone = rng.uniform(0, 1, cells + (2,)), rng.standard_normal(cells)
    row, col = np.mgrid[0:shape[0], 0:shape[1]]
    cr, cc = row // size + 1, col // size + 1
    best = np.full(shape, 1e9, np.float32)
    second, out = best.copy(), np.zeros(shape, np.float32)
    for dr in (-1, 0, 1):
        for dc in (-1, 0, 1):
            j = jitter[cr + dr, cc + dc]
            dy, dx = (cr + dr - 1 + j[..., 0]) * size - row, (cc + dc - 1 + j[..., 1]) * size - col
            d = (dy * dy + dx * dx).astype(np.float32)
            closer = d < best
            second = np.where(closer, best, np.minimum(second, d))
            out = np.where(closer, tone[cr + dr, cc + dc], out)
            best = np.minimum(best, d)
    seam = np.clip((np.sqrt(second) - np.sqrt(best)) / (0.25 * size), 0, 1)
    return (0.5 * out + 2.0 * (seam - 0.9)).astype(np.float32)


def texture(rng, raster, kind, amount):
    shape = (raster.rows, raster.columns)
    mm = 1 / raster.pitch_mm

    def clouds(size_mm):
        coarse = rng.standard_normal([int(v / mm / size_mm) + 6 for v in shape])
        coarse = gaussian(coarse.astype(np.float32), 1.0)[..., None]
        row, col = np.mgrid[0:shape[0], 0:shape[1]] / (mm * size_mm)
        return bilinear(coarse / coarse.std(), col + 2, row + 2)[..., 0]

    def noise(sx_mm, sy_mm):
        n = blur_axis(blur_axis(rng.standard_normal(shape, dtype=np.float32), sy_mm * mm, 0), sx_mm * mm, 1)
        return n / n.std()
    if kind == "beads":
        field = beads(rng, shape, max(4, int(4.0 * mm)))
    elif kind == "brushed":
        field = 0.8 * noise(12.0, 0.5) + 0.4 * noise(0.6, 0.6)
    else:
        field = 0.7 * noise(0.45, 0.45) + 0.5 * noise(1.2, 1.2)
    field += 0.5 * clouds(12.0)
    raster.values = np.clip(1 + amount * field, 0.5, 1.5).astype(np.float32)


# ---- pencil -------------------------------------------------------------------------------------------------------

def river(rng, lo, hi):
    """A winding line somewhere on the table, as one sketches a river before cutting."""
    n = int(rng.integers(40, 90))
    turn = np.cumsum(rng.normal(0, 0.22, n)) + rng.uniform(0, 2 * math.pi)
    step = rng.uniform(3, 7)
    start = np.array(lo) + rng.uniform(0.15, 0.85, 2) * (np.array(hi) - lo)
    return start + np.cumsum(np.column_stack([np.cos(turn), np.sin(turn)]) * step, axis=0)


def drawn_off(ends, wide):
    """How far a stroke's middle lies off the line through its ends as Pillow draws it (columns, rows): by up to a sample, as it
    rounds to whole samples and an even width has no middle one."""
    ends = np.array(ends)
    origin = np.floor(ends.min(axis=0)) - 2 * wide
    size = np.ceil(ends.max(axis=0) - origin).astype(int) + 2 * wide
    image = Image.new("L", tuple(int(v) for v in size), 0)
    ImageDraw.Draw(image).line([tuple(p) for p in ends - origin], fill=1, width=wide)
    ink, (a, b) = np.asarray(image, float), ends - origin
    along = int(abs(b[1] - a[1]) > abs(b[0] - a[0]))  # runs along rows' numbers (1) or columns' (0)
    ink = ink if along else ink.T
    lo, hi = sorted((a[along], b[along]))
    clear = min(wide, (hi - lo) / 3)
    at = np.arange(math.ceil(lo + clear), math.floor(hi - clear) + 1)
    middle = (ink[at] * np.arange(ink.shape[1])).sum(axis=1) / ink[at].sum(axis=1)
    off = float(np.mean(middle - (a[1 - along] + (at - a[along]) / (b[along] - a[along]) * (b[1 - along] - a[1 - along]))))
    return (off, 0.0) if along else (0.0, off)


def pencil(rng, raster, tiles, opt, share, width_mm=0.5):
    """raster.values: share of light that the pencil leaves; only on the tops, where they lie on the table whatever their heights.
    share: draws which edges have a half-way mark.  Returns what was drawn: ("line", points, how far each piece was drawn off the
    line between them) and ("tick", tile, side, where it meets the edge, where it ends)."""
    image = Image.new("L", (raster.columns, raster.rows), 0)
    draw = ImageDraw.Draw(image)
    hi = raster.lo + raster.pitch_mm * np.array([raster.columns, raster.rows])
    wide = max(1, round(width_mm / raster.pitch_mm))
    drawn = []
    for _ in range(opt["pencil"]):
        points = river(rng, raster.lo, hi)
        x, y = raster.place(*points.T)
        draw.line(list(zip(x, y)), fill=int(rng.integers(90, 170)), width=wide, joint="curve")
        places = list(zip(x, y))
        off = [drawn_off(pair, wide) for pair in zip(places[:-1], places[1:])]
        drawn.append(("line", points, raster.pitch_mm * np.array(off)))
    for t in tiles.values() if opt["halfway"] else ():
        for s in "NESW":
            u = float(rng.normal(0, opt["halfway_off"]))
            rim = float(t.edges[s].clean(u))
            inner = (u + rng.normal(0, opt["halfway_skew"]), rim - rng.uniform(9, 14))
            ends = [t.world(*t.local(s, *place)) for place in ((u, rim), inner)]
            dark = int(rng.integers(80, 150))
            if share.random() >= opt["halfway_share"]:
                continue
            places, thin = [raster.place(*p) for p in ends], max(1, wide * 2 // 3)
            draw.line(places, fill=dark, width=thin)
            drawn.append(("tick", t.name, s, *(np.array(ends) + raster.pitch_mm * np.array(drawn_off(places, thin)))))
    keep = Image.new("L", image.size, 0)
    for t in tiles.values():
        ring = np.vstack([t.rim("N"), t.rim("E")[::-1], t.rim("S")[::-1], t.rim("W")])
        ImageDraw.Draw(keep).polygon([raster.place(*p) for p in ring], fill=1)
    ink = np.asarray(image) * np.asarray(keep)
    raster.values = (255 - ink)[..., None] if opt["pencil"] or opt["halfway"] else None
    return drawn


# ---- cards --------------------------------------------------------------------------------------------------------

class Card:
    """A printed square on paper.  kind "frame": black outer with white inner; "plain": black square on white paper;
    "cut": a white card cut to the square itself."""
    WHITE, BLACK = np.array([0.80, 0.80, 0.79]), np.array([0.040, 0.040, 0.042])

    def __init__(self, kind, side, inner, margin, at, tile, thickness, ink_mm=0.0):
        """at: x, y, degrees; it lies in the plane of its tile's top, `thickness` above it."""
        self.kind, self.side, self.inner, self.margin, self.at, self.tile = kind, side, inner, margin, at, tile
        self.thickness, self.ink_mm = thickness, ink_mm  # ink_mm: how far the ink has run beyond the black's sides
        self.rise_mm = float(tile.rise_at(at[0], at[1])) + thickness
        self.axes = self.in_plane(math.radians(at[2]), *tile.slope)

    @staticmethod
    def in_plane(turn, a, b):
        """The card's two axes as what is multiplied with a place's x and y, for lengths along the slanting plane."""
        first = np.array([math.cos(turn), math.sin(turn), a * math.cos(turn) + b * math.sin(turn)])
        first /= np.linalg.norm(first)
        normal = np.array([-a, -b, 1.0]) / math.sqrt(1 + a * a + b * b)
        return [axis[:2] + axis[2] * np.array([a, b]) for axis in (first, np.cross(normal, first))]

    def half(self):
        return self.side / 2 + (0 if self.kind == "cut" else self.margin)

    def paint(self, eye, x, y, top_mm, step_mm):
        """(cover, albedo) where sight lines that meet the tops at x, y meet the card."""
        x, y = on_slope(eye, top_mm, x, y, self.at, self.rise_mm, self.tile.slope)
        u, v = (np.abs(p * (x - self.at[0]) + q * (y - self.at[1])) for p, q in self.axes)

        def square(half):  # share of a step_mm wide spot inside the square
            return np.clip((half - u) / step_mm + 0.5, 0, 1) * np.clip((half - v) / step_mm + 0.5, 0, 1)
        dark = np.zeros_like(u) if self.kind == "cut" else square(self.side / 2 + self.ink_mm)
        if self.kind == "frame":
            dark = dark - square(self.inner / 2 - self.ink_mm)
        return square(self.half()), self.WHITE + (self.BLACK - self.WHITE) * dark[..., None]


# ---- blocks -------------------------------------------------------------------------------------------------------

class Picture:
    """Everything that is needed to say what a sight line sees.  stage: scene.Scene."""

    def __init__(self, camera, stage, patches, around, cards, pixel_mm):
        self.camera, self.stage, self.seen, self.tiles = camera, stage, stage.seen, stage.tiles
        self.albedo = {n: stage.look["top"](t) for n, t in self.tiles.items()}
        self.rises = sorted({0.0} | {t.rise_mm for t in self.tiles.values()})
        self.patches, self.around, self.cards = patches, around, cards
        self.step_mm = pixel_mm / SUB
        self.quads = {n: self.seen.rim_on_plane(t, [t.world(*c) for c in t.corner_u().values()])
                      for n, t in sorted(self.tiles.items(), key=lambda item: item[1].rise_mm)}  # the highest hide the others

    def inside(self, quad, x, y):
        ok = np.ones(x.shape, bool)
        for a, b in zip(quad, np.roll(quad, -1, axis=0)):  # clockwise from NW: inside is on the right
            ok &= (b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0]) <= 0
        return ok

    def block(self, x, y, lights):
        """lights: level -> light on level faces at that level over the plane.  Patches have been painted already."""
        out = np.zeros(x.shape + (3,), np.float32)
        on_tile = np.zeros(x.shape, bool)
        for name, quad in self.quads.items():
            if touches(quad, x, y):
                m, tile = self.inside(quad, x, y), self.tiles[name]
                at = self.seen.on_tile(tile, x[m], y[m])
                paint = self.stage.paint(*at)
                lit = lights[tile.rise_mm][m]
                if self.stage.stepped(tile):
                    lit = lit + self.stage.beside(tile, *at)
                out[m] = self.albedo[name] * lit * paint
                on_tile |= m
        beside = ~on_tile
        if beside.any():
            out[beside] = sample(self.around, x[beside], y[beside])[0]
        for p in self.patches:
            if touches(p.corners, x, y):
                value, m = sample(p, x, y)
                out[m] = value[m]
        for card in self.cards:
            r = card.half() * 1.5
            if touches(np.array([[card.at[0] - r, card.at[1] - r], [card.at[0] + r, card.at[1] + r]]), x, y):
                cover, albedo = card.paint(self.camera.at, x, y, self.stage.height, self.step_mm)
                out += cover[..., None] * (albedo * self.card_light(card, x, y, cover, lights) - out)
        return out

    def card_light(self, card, x, y, cover, lights):
        """As on its tile's top, beside higher ones too."""
        out, on = lights[card.tile.rise_mm], cover > 0
        change = self.stage.beside(card.tile, *self.seen.on_tile(card.tile, x[on], y[on]))
        if change.any():
            out = out.copy()
            out[on] += change
        return out


def touches(points, x, y):
    lo, hi = points.min(axis=0), points.max(axis=0)
    return lo[0] <= x.max() and hi[0] >= x.min() and lo[1] <= y.max() and hi[1] >= y.min()


def sample(patch, x, y):
    """Patch values at x, y, and where they hold."""
    det = patch.a[0] * patch.b[1] - patch.a[1] * patch.b[0]
    dx, dy = x - patch.origin[0], y - patch.origin[1]
    col, row = (dx * patch.b[1] - dy * patch.b[0]) / det, (dy * patch.a[0] - dx * patch.a[1]) / det
    m = (col >= 0) & (row >= 0) & (col <= patch.columns - 1.01) & (row <= patch.rows - 1.01)
    return bilinear(patch.light, col, row), m


def finish_patch(patch):
    ends = ((0, 0), (patch.columns, 0), (0, patch.rows), (patch.columns, patch.rows))
    patch.corners = np.array([patch.origin + i * patch.a + j * patch.b for i, j in ends])


def spread(grid, rows, columns):
    """Linear in between: a grid of points MAP_STEP apart -> every sub-pixel of a block."""
    f = np.arange(MAP_STEP) / MAP_STEP
    down = (grid[:-1, None] * (1 - f)[None, :, None] + grid[1:, None] * f[None, :, None]).reshape(-1, grid.shape[1])
    full = (down[:, :-1, None] * (1 - f) + down[:, 1:, None] * f).reshape(down.shape[0], -1)
    return full[:rows, :columns]


def expose(picture):
    """The whole photo's light on the sensor's pixels' quarters, linear; shape (SUB height, SUB width, 3)."""
    cam = picture.camera
    rows, columns = cam.height * SUB, cam.width * SUB
    out = np.empty((rows, columns, 3), np.float32)
    for p in [*picture.patches, picture.around]:
        finish_patch(p)
    for r in range(0, rows, BLOCK):
        for c in range(0, columns, BLOCK):
            h, w = min(BLOCK, rows - r), min(BLOCK, columns - c)
            gr = r + MAP_STEP * np.arange(-(-h // MAP_STEP) + 1)
            gc = c + MAP_STEP * np.arange(-(-w // MAP_STEP) + 1)
            px, py = np.meshgrid((gc + 0.5) / SUB - 0.5, (gr + 0.5) / SUB - 0.5)
            gx, gy = cam.plane(px, py, picture.stage.height)
            x, y = spread(gx, h, w), spread(gy, h, w)
            lights = {}
            for rise in picture.rises:
                lit = picture.stage.level(*picture.seen.on_top(gx, gy, rise), rise)
                lights[rise] = np.stack([spread(lit[..., k], h, w) for k in range(3)], axis=-1).astype(np.float32)
            out[r:r + h, c:c + w] = picture.block(x, y, lights)
    return out
