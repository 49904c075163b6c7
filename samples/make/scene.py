"""What the camera sees that is not a level top in open light: gaps, rims, side faces, tops beside a step, the table-top.

compose.py shades the level tops.  Narrow patches along rims and seams (patch.py) are looked at here, sight line by sight
line (sight.py), and lit by the cross-section of the seam or outer side they end in (slot.py).
"""
import math

import numpy as np

import light
import slot as cross
from floor import Floor, Wood
from patch import Patch
from sight import FLOOR, SIDES, TOP, Hits, Sight, Solid, follow, levels, on_slope

LEAST_STEP_MM = 0.02   # tops that differ by less throw the shades in a gap together
OPPOSITE = {"N": "S", "S": "N", "E": "W", "W": "E"}
BESIDE = {"N": (0, -1), "E": (1, 0), "S": (0, 1), "W": (-1, 0)}
SEAM_SHARE, RIM_SHARE, SQUARE_SHARE = 1 / 12, 1 / 6, 1 / 8   # of a pixel between samples across
MARGIN_PX = 2.5        # of tops beside a rim
CORNER_PX = 5          # of everything around the corners where tiles meet
SEAM_GAP_MM = 0.05     # levels of depth are not closer than for a gap of this width


# ---- tops off the plane -------------------------------------------------------------------------------------------

class Seen:
    """Where the eye sees things that stand above the plane of the tops (at top_mm): on that plane, farther from the point
    below the eye than they are."""

    def __init__(self, eye, top_mm):
        self.eye, self.top_mm = np.array(eye, float), top_mm

    def factor(self, rise_mm):
        above = self.eye[2] - self.top_mm
        return above / (above - rise_mm)

    def on_plane(self, points, rise_mm):
        """rise_mm: one for all points, or one for each."""
        pts = np.asarray(points, float)
        if np.ndim(rise_mm) == 0 and rise_mm == 0:
            return pts
        return self.eye[:2] + (pts - self.eye[:2]) * np.reshape(self.factor(rise_mm), (-1, 1))

    def rim_on_plane(self, tile, points):
        """Points of a tile's top, given as they lie on the table."""
        pts = np.asarray(points, float)
        return self.on_plane(pts, tile.rise_at(*pts.T) if any(tile.slope) else tile.rise_mm)

    def on_top(self, x, y, rise_mm):
        f = self.factor(rise_mm)
        return self.eye[0] + (x - self.eye[0]) / f, self.eye[1] + (y - self.eye[1]) / f

    def on_tile(self, tile, x, y):
        """Where sight lines through places on the plane meet a tile's top."""
        if not tile.rise_mm and not any(tile.slope):
            return x, y
        return on_slope(self.eye, self.top_mm, x, y, tile.pose, tile.rise_mm, tile.slope)


# ---- beside a step ------------------------------------------------------------------------------------------------

class Beside:
    """What a higher neighbour changes of the light on a lower top: known at places ALONG_MM apart along the rim and at shares of the
    step out from it, close together as far as a lamp 14 degrees up throws the step's shade; linear in between."""
    ALONG_MM, NEAR, NEAR_COUNT, FAR_COUNT = 1.0, 4.0, 400, 40

    def __init__(self, slot, body, fineness):
        self.body, self.other = body, slot.right if body is slot.left else slot.left
        far = np.geomspace(self.NEAR, cross.SHADE, round(self.FAR_COUNT * fineness) + 1)[1:]
        self.shares = np.concatenate([np.linspace(0, self.NEAR, round(self.NEAR_COUNT * fineness) + 1), far])
        lo, hi = slot.stations[0], slot.stations[-1]
        self.along = np.linspace(lo, hi, max(2, math.ceil((hi - lo) / self.ALONG_MM * fineness) + 1))
        along, share = (v.ravel() for v in np.meshgrid(self.along, self.shares, indexing="ij"))
        s = body.rim_at(along) - body.sign * share * self.step(along)
        self.change = slot.top_change(body, along, s)

    def step(self, along):
        return np.maximum(self.body.top_at(along) - self.other.top_at(along), 1e-9)

    def add(self, out, x, y):
        """Adds the change at places on the lower top to out."""
        along, s = (y, x) if self.body.upright else (x, -y)
        held = np.clip(along, self.along[0], self.along[-1])
        share = self.body.sign * (self.body.rim_at(held) - s) / self.step(held)
        near = np.flatnonzero(share < cross.SHADE)
        out[near] += self.at(held[near], np.maximum(share[near], 0))

    def at(self, along, share):
        n, across = len(self.shares), np.interp(share, self.shares, np.arange(len(self.shares)))
        row = (along - self.along[0]) / (self.along[1] - self.along[0])
        i, j = np.minimum(row.astype(int), len(self.along) - 2), np.minimum(across.astype(int), n - 2)
        down, right, at = (row - i)[:, None], (across - j)[:, None], i * n + j
        upper = self.change[at] * (1 - right) + self.change[at + 1] * right
        return upper * (1 - down) + (self.change[at + n] * (1 - right) + self.change[at + n + 1] * right) * down


# ---- the scene ----------------------------------------------------------------------------------------------------

class Scene:
    """look: "height_mm", and albedos: "top" and "foam" of a tile, "ply", "wood" (floor.Wood); "paint", if there is any on the tops:
    what it leaves of their light at places x, y.  frame: two corners of what is seen, on
    the plane of the tops."""

    def __init__(self, environment, tiles, look, seen, frame, fineness):
        self.environment, self.tiles, self.look, self.seen, self.fineness = environment, tiles, look, seen, fineness
        self.by_place = {(t.column, t.row): t for t in tiles.values()}
        self.height = look["height_mm"]
        self.bodies = {t.name: {s: self.body(t, s) for s in SIDES} for t in tiles.values()}
        corners = np.array([t.world(*c) for t in tiles.values() for c in t.corner_u().values()])
        self.lo, self.hi = corners.min(axis=0) - 30, corners.max(axis=0) + 30
        self.maps = {t.rise_mm: None for t in tiles.values()} | {0.0: None}
        for rise in self.maps:
            self.maps[rise] = light.LevelMap(environment, self.lo, self.hi, self.height + rise)
        self.slots, self.steps, self.outer = {}, {}, {s: [] for s in SIDES}
        for t in tiles.values():
            for side in SIDES:
                self.add_slot(t, side)
        self.floor = Floor(environment, list(tiles.values()), self.outer, self.height,
                           *(np.column_stack(seen.on_top(*np.array(frame).T, -self.height))), fineness)

    def body(self, tile, side):
        return cross.Body(tile, side, self.height, (self.look["top"](tile), self.look["foam"](tile), self.look["ply"]))

    def neighbour(self, tile, side):
        step = BESIDE[side]
        return self.by_place.get((tile.column + step[0], tile.row + step[1]))

    def add_slot(self, tile, side):
        """The cross-sections at a tile's side, which it shares with its neighbour."""
        other = self.neighbour(tile, side)
        if other and side in "NW":
            return  # the neighbour's
        body = self.bodies[tile.name][side]
        if other:
            left, right = body, self.bodies[other.name][OPPOSITE[side]]
        else:
            left, right = (body, None) if body.sign > 0 else (None, body)
        made = cross.Slot(left, right, *self.fan(left, right), self.height, self.look["wood"].tone, self.fineness)
        self.slots[tile.name, side] = made
        if other:
            self.slots[other.name, OPPOSITE[side]] = made
        else:
            self.outer[side].append((made, body))

    def fan(self, left, right):
        """Light as it comes in between the rims: seen from the higher one, or from the middle between two of one height, so that
        shades of rims lie where they lie though lamps are near."""
        bodies = [b for b in (left, right) if b]
        lo, hi = bodies[0].along.min(), bodies[0].along.max()
        along = np.linspace(lo, hi, max(2, round((hi - lo) / light.PLACE_MM * self.fineness) + 1))
        tops = np.array([b.top_at(along) for b in bodies])
        high = tops.min(axis=0)
        counts = tops <= high + LEAST_STEP_MM
        s = (counts * [b.rim_at(along) for b in bodies]).sum(axis=0) / counts.sum(axis=0)
        x, y, across = (s, along, (1.0, 0.0)) if bodies[0].upright else (along, -s, (0.0, -1.0))
        places = np.column_stack([x, y, self.height - high])
        return light.Fan(self.environment, places, across, self.fineness), (lo, hi)

    def level(self, x, y, rise_mm):
        return self.maps[rise_mm].at(x, y)

    def step(self, tile, side):
        """The most that the neighbour stands higher along a side; 0 if it does not or there is none."""
        other = self.neighbour(tile, side)
        if other is None:
            return 0.0
        return max(0.0, float(np.max(other.rim_rises(OPPOSITE[side]) - tile.rim_rises(side))))

    def top_light(self, tile, x, y):
        """On a tile's top: the open light, and what higher neighbours change."""
        return self.level(x, y, tile.rise_mm) + self.beside(tile, x, y)

    def beside(self, tile, x, y):
        """What higher neighbours change of the light on a tile's top."""
        out = np.zeros((len(x), 3))
        for side in SIDES:
            if (tile.name, side) not in self.steps:
                high = self.step(tile, side) > 1e-6
                made = Beside(self.slots[tile.name, side], self.bodies[tile.name][side], self.fineness) if high else None
                self.steps[tile.name, side] = made
            if self.steps[tile.name, side]:
                self.steps[tile.name, side].add(out, x, y)
        return out

    def stepped(self, tile):
        return any(self.step(tile, side) > 1e-6 for side in SIDES)

    def paint(self, x, y):
        """What grain and pencil leave of a top's light."""
        return self.look["paint"](x, y)[:, None] if "paint" in self.look else 1.0


class View:
    """What sight lines through a patch may meet.  solids: sight.Solid; slots: those at whose floor they may end; near: the same
    solids with the sides only that are met away from their ends."""

    def __init__(self, scene, solids, slots, gap_mm, near=None):
        self.scene, self.solids, self.slots, self.near = scene, solids, slots, near
        self.depths = levels(solids, scene.height, gap_mm, scene.fineness)
        self.near_depths = levels(near, scene.height, gap_mm, scene.fineness) if near else None

    def sight(self, x, y):
        return Sight(self.scene.seen.eye, self.scene.height, x, y)

    def follow(self, sight):
        if not self.near:
            return follow(self.solids, sight, self.depths)
        clear = np.ones(len(sight.x), bool)
        for depth in (self.depths[0], self.depths[-1]):
            x, y = sight.at(depth)
            for solid in self.near:
                body = solid.bodies[solid.sides[0]]
                along = y if body.upright else x
                clear &= (along > body.along[0]) & (along < body.along[-1])
        out = Hits(len(sight.x), self.depths[-1])
        for solids, depths, which in ((self.near, self.near_depths, clear), (self.solids, self.depths, ~clear)):
            which = np.flatnonzero(which)
            if len(which):
                out.put(which, follow(solids, sight.some(which), depths))
        return out

    def look_label(self, x, y):
        return self.follow(self.sight(x, y)).label()

    def look(self, x, y):
        """(hits, radiance by colour) of sight lines through places x, y on the plane of the tops."""
        sight = self.sight(x, y)
        hits = self.follow(sight)
        hx, hy = sight.at(hits.depth)
        out = np.zeros((len(x), 3))
        label = hits.label()
        for n, solid in enumerate(self.solids):
            at = np.flatnonzero(label == n * 8 + TOP)
            if len(at):
                body = solid.bodies[solid.sides[0]]
                lit = self.scene.top_light(solid.tile, hx[at], hy[at])
                out[at] = body.albedo_top * lit * self.scene.paint(hx[at], hy[at])
            for side in solid.sides:
                at = np.flatnonzero(label == n * 8 + SIDES.index(side))
                if len(at):
                    under = hits.depth[at] + solid.tile.rise_at(hx[at], hy[at])
                    out[at] = self.side(solid.bodies[side], hx[at], hy[at], under)
        at = np.flatnonzero(hits.solid == FLOOR)
        if len(at):
            out[at] = self.scene.look["wood"].albedo(hx[at], hy[at]) * self.floor(hx[at], hy[at])
        return hits, out

    def side(self, body, x, y, d):
        along = y if body.upright else x
        lit = self.scene.slots[body.tile.name, body.side].face_light(body, along, np.maximum(d, 0))
        return lit * np.where((d > body.height_at(along) - cross.WOOD_BASE_MM)[:, None], body.albedo_base, body.albedo_side)

    def floor(self, x, y):
        """Between two tiles as their cross-section says (where seams cross: the brighter one), else as around the table."""
        out, inside, under = self.scene.floor.light(x, y), np.zeros(len(x), bool), self.scene.floor.inside(x, y)
        for one in self.slots:
            along, s = (y, x) if one.left.upright else (x, -y)
            held = np.clip(along, one.stations[0], one.stations[-1])
            at = np.flatnonzero(under & (s > one.left.rim_at(held)) & (s < one.right.rim_at(held)))
            lit = one.floor_light(along[at], s[at])
            out[at] = np.where(inside[at, None], np.maximum(out[at], lit), lit)
            inside[at] = True
        return out


# ---- patches ------------------------------------------------------------------------------------------------------

def edge_patch(view, rims, upright, pixel_mm, share, margin_mm):
    """A patch along one or two rims.  Samples lie `share` of a pixel apart across them, half a pixel along."""
    axis = 1 if upright else 0
    pts = np.vstack(rims)
    along, pos = pts[:, axis], pts[:, 1 - axis]
    slope, cut = np.polyfit(along, pos, 1)
    off = pos - slope * along - cut
    q, p = pixel_mm * share, pixel_mm * 0.5
    lo, hi = off.min() - margin_mm, off.max() + margin_mm
    start, end = along.min() - MARGIN_PX * pixel_mm, along.max() + MARGIN_PX * pixel_mm
    first = (cut + slope * start + lo, start) if upright else (start, cut + slope * start + lo)
    a = (q, 0.0) if upright else (0.0, q)
    b = (slope * p, p) if upright else (p, slope * p)
    return Patch(first, a, b, (hi - lo) / q + 2, (end - start) / p + 1, view, box=(max(1, round(0.5 / share)), 1))


def square_patch(view, points, pixel_mm, share, margin_px, upright=True):
    """upright: whether what is looked at runs up and down, so that a row of samples runs across it."""
    pts = np.array(points)
    lo, hi = pts.min(axis=0) - margin_px * pixel_mm, pts.max(axis=0) + margin_px * pixel_mm
    q = pixel_mm * share
    n = (hi - lo) / q + 2
    a, b, columns, rows = ((q, 0), (0, q), *n) if upright else ((0, q), (q, 0), *n[::-1])
    return Patch(lo, a, b, columns, rows, view, box=(max(1, round(0.5 / share)),) * 2)


class Patches:
    """Rims first, then seams, chips and junctions; where patches overlap the later one counts."""

    def __init__(self, scene, pixel_mm):
        self.scene, self.seen, self.pixel_mm, self.fineness = scene, scene.seen, pixel_mm, scene.fineness

    def all(self):
        rims, seams, chips, junctions = [], [], [], {}
        for (c, r), tile in self.scene.by_place.items():
            for side in "ESWN":
                other = self.scene.neighbour(tile, side)
                if other is None:
                    rims.append(self.rim(tile, side))
                elif side in "ES":
                    seams.append(self.seam(tile, other, side))
                chips += [self.chip(tile, other, side, chip) for chip in tile.edges[side].chips]
            for name, (x, y) in tile.corner_u().items():
                at = junctions.setdefault((c + ("E" in name), r + ("S" in name)), ([], []))
                at[0].append(tuple(self.seen.rim_on_plane(tile, [tile.world(x, y)])[0]))
                at[1].append((tile, name))
        return rims + seams + chips + [self.junction(*at) for at in junctions.values()]

    def share(self, share):
        return share / self.fineness

    def view(self, pairs):
        """pairs: (tile, sides that may be met)."""
        solids = [Solid(self.scene.bodies[t.name], s) for t, s in pairs]
        slots = []
        for t, sides in pairs:
            for s in sides:
                one = self.scene.slots[t.name, s]
                if one.left and one.right and one not in slots:
                    slots.append(one)
        gaps = [np.median(one.right.rim_at(one.stations) - one.left.rim_at(one.stations)) for one in slots]
        near = None if all(len(s) > 1 for _, s in pairs) else solids
        whole = solids if near is None else [Solid(self.scene.bodies[t.name], "".join(o for o in SIDES if o != OPPOSITE[s])) for t, s in pairs]
        return View(self.scene, whole, slots, max(min(gaps, default=cross.OPEN_MM), SEAM_GAP_MM), near)

    def drawn(self, tile, side):
        return self.seen.rim_on_plane(tile, tile.rim(side, False))

    def rim(self, tile, side):
        """As far out as the side face shows."""
        body = self.scene.bodies[tile.name][side]
        foot = tile.rim(side, False) + np.array({"N": (0, 1), "S": (0, -1), "E": (1, 0), "W": (-1, 0)}[side]) * body.lean * body.height
        rims, shown = self.drawn(tile, side), self.seen.on_plane(foot, -self.scene.height)
        axis, sign = (0, 1) if side == "E" else (0, -1) if side == "W" else (1, 1) if side == "N" else (1, -1)
        lines = [rims]
        if (sign * (shown[:, axis].mean() - rims[:, axis].mean())) > 0:
            shift = np.zeros(2)
            shift[axis] = sign * np.max(sign * (shown[:, axis] - rims[:, axis]))
            lines.append(rims + shift)
        margin = MARGIN_PX * self.pixel_mm + tile.rounds_mm[side]
        return edge_patch(self.view([(tile, side)]), lines, side in "EW", self.pixel_mm, self.share(RIM_SHARE), margin)

    def seam(self, tile, other, side):
        view = self.view([(tile, side), (other, OPPOSITE[side])])
        margin = MARGIN_PX * self.pixel_mm + max(tile.rounds_mm[side], other.rounds_mm[OPPOSITE[side]])
        return edge_patch(view, [self.drawn(tile, side), self.drawn(other, OPPOSITE[side])], side == "E", self.pixel_mm,
                          self.share(SEAM_SHARE), margin)

    def chip(self, tile, other, side, chip):
        at, half, depth, _ = chip
        dev = float(tile.edges[side].clean(at))
        box = [tile.world(*tile.local(side, at + e * half, dev - f * depth)) for e in (-1, 1) for f in (0, 1)]
        view = self.view([(tile, side)] + ([(other, OPPOSITE[side])] if other else []))
        return square_patch(view, self.seen.rim_on_plane(tile, box), self.pixel_mm, self.share(SQUARE_SHARE), 3,
                            side in "EW")

    def junction(self, points, corners):
        """corners: (tile, the name of its corner): only the two sides there can be met."""
        margin = CORNER_PX + max(t.rounds_mm[s] for t, sides in corners for s in sides) / self.pixel_mm
        return square_patch(self.view(corners), points, self.pixel_mm, self.share(SQUARE_SHARE), margin)


def around(scene, lo, hi, step_mm):
    """The table-top, a sample every step_mm."""
    size = (np.array(hi) - lo) / step_mm + 1
    out = Patch(lo, (step_mm, 0), (0, step_mm), size[0], size[1])
    x, y = np.meshgrid(lo[0] + step_mm * np.arange(out.columns), lo[1] + step_mm * np.arange(out.rows))
    below = scene.seen.on_top(x, y, -scene.height)
    out.light = (scene.look["wood"].albedo(*below) * scene.floor.light(*below)).astype(np.float32)
    return out
