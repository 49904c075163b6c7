"""Where a sight line ends: on a top, on a side face, or on the table-top.

A tile is what lies within its four outlines, which change with depth: rounded rims, chips, leaning sides.  A sight line is
followed down through levels of depth; between the last one outside a tile and the first one inside it the place is found by
false position.
"""
import math

import numpy as np

FLOOR, TOP = -1, 4    # instead of a tile's number; instead of a side's
ARC_LEVELS = 10       # of a rounding: a sight line that grazes it may be missed by r (pi / 2 / 10)^2 / 8, 2.5 um at 0.8 mm
CHIP_LEVELS = 20
SIDE_LEVELS = 8       # between them a side is straight but for its edge's waves
LEAST_MM = 0.005
ROUNDS = 9            # of false position and halving
END_MM = 2.0          # between levels where a tile's corner may stand in the way of a sight line for a short stretch only
SIDES = "NESW"


class Solid:
    """A tile as sight lines meet it.  sides: those that may be met."""

    def __init__(self, bodies, sides=SIDES):
        """bodies: side -> slot.Body."""
        self.bodies, self.sides = bodies, sides
        one = bodies[sides[0]]
        self.tile, self.top = one.tile, one.top
        self.c, self.s = math.cos(self.tile.pose[2]), math.sin(self.tile.pose[2])

    def outside(self, x, y, depth):
        """(distance outside the tile's outline at that depth, negative inside; which side is nearest to being passed)."""
        dx, dy = x - self.tile.pose[0], y - self.tile.pose[1]
        lx, ly = self.c * dx + self.s * dy, -self.s * dx + self.c * dy
        d = np.broadcast_to(depth - self.top, lx.shape)
        best, which = None, None
        for side in self.sides:
            body = self.bodies[side]
            h, u = {"N": (ly, lx), "S": (-ly, lx), "E": (lx, ly), "W": (-lx, ly)}[side]
            far = h - self.tile.side_mm / 2 - body.edge.clean(u) - self.out(body, u, d)
            if best is None:
                best, which = far, np.full(far.shape, SIDES.index(side))
            else:
                more = far > best
                best, which = np.where(more, far, best), np.where(more, SIDES.index(side), which)
        return best, which

    @staticmethod
    def out(body, u, d):
        out = body.out(u, d, False)
        for lo, hi, height in body.chips:
            hit = (u > lo) & (u < hi) & (d < height)
            if hit.any():
                out[hit] = body.out(u[hit], d[hit])
        return out


def levels(solids, height_mm, gap_mm, fineness):
    """Depths at which sight lines are looked at: close where outlines bend, never closer than LEAST_MM."""
    tops = np.array([s.top for s in solids])
    low = tops.max()
    out = [low + gap_mm * np.geomspace(0.5, max(1.0, height_mm / gap_mm), round(SIDE_LEVELS * fineness)), np.array([height_mm])]
    for solid in solids:
        r = solid.tile.round_mm
        if r:
            turn = np.linspace(0, math.pi / 2, round(ARC_LEVELS * fineness) + 1)
            out.append(solid.top + r * (1 - np.cos(turn)))
        out.append(solid.top + np.linspace(0, low - solid.top, 3))
        chip = max((h for side in solid.sides for _, _, h in solid.bodies[side].chips), default=0)
        if chip:
            out.append(solid.top + chip * np.linspace(0, 1, round(CHIP_LEVELS * fineness) + 1))
    if any(len(solid.sides) > 1 for solid in solids):
        out.append(np.arange(low, height_mm, END_MM / fineness))
    out = np.unique(np.concatenate(out))
    kept = list(np.unique(tops)) + [height_mm]
    for depth in out[(out >= tops.min()) & (out <= height_mm)]:
        if np.min(np.abs(depth - np.array(kept))) > LEAST_MM / fineness:
            kept.append(depth)
    return np.sort(np.array(kept))


class Sight:
    """Sight lines from the eye through places x, y on the plane of the tops."""

    def __init__(self, eye, top_mm, x, y):
        above = eye[2] - top_mm
        self.x, self.y, self.dx, self.dy = x, y, (x - eye[0]) / above, (y - eye[1]) / above

    def at(self, depth):
        return self.x + self.dx * depth, self.y + self.dy * depth

    def some(self, which):
        out = Sight.__new__(Sight)
        out.x, out.y, out.dx, out.dy = self.x[which], self.y[which], self.dx[which], self.dy[which]
        return out


class Hits:
    """What sight lines end on: number of the solid or FLOOR, side's number in SIDES or TOP, depth."""

    def __init__(self, count, floor_mm):
        self.solid, self.side = np.full(count, FLOOR), np.full(count, TOP)
        self.depth = np.full(count, float(floor_mm))

    def put(self, which, hits):
        self.solid[which], self.side[which], self.depth[which] = hits.solid, hits.side, hits.depth

    def label(self):
        return self.solid * 8 + self.side


def meet(solid, sight, low, high, far_low, far_high):
    """Depth at which sight lines enter the solid between depths low (outside) and high (inside): false position, which is exact on
    straight sides, and halving in turn, which does not mind ledges."""
    low, high, a, b = low.copy(), high.copy(), far_low.copy(), far_high.copy()
    for k in range(ROUNDS):
        part = np.clip(a / np.maximum(a - b, 1e-15), 0.01, 0.99) if k % 2 == 0 else 0.5
        mid = low + part * (high - low)
        far = solid.outside(*sight.at(mid), mid)[0]
        inside = far < 0
        high, b = np.where(inside, mid, high), np.where(inside, far, b)
        low, a = np.where(inside, low, mid), np.where(inside, a, far)
    return low + np.clip(a / np.maximum(a - b, 1e-15), 0, 1) * (high - low)


class Entry:
    """Which sight lines have got inside a solid, between which depths, how far outside it at the first and at the second."""

    def __init__(self):
        self.parts = []

    def add(self, which, low, high, far_low, far_high):
        self.parts.append((which, np.full(len(which), low), np.full(len(which), high), far_low, far_high))

    def joined(self):
        return [np.concatenate(column) for column in zip(*self.parts)] if self.parts else None


def follow(solids, sight, depths):
    """Hits of the sight lines on the solids or on the floor at the last depth."""
    hits, entries = Hits(len(sight.x), depths[-1]), [Entry() for _ in solids]
    active, line = np.arange(len(sight.x)), sight
    before = [np.full(len(active), np.inf) for _ in solids]
    for k, depth in enumerate(depths):
        x, y = line.at(depth)
        now, done = [], np.zeros(len(active), bool)
        for n, solid in enumerate(solids):
            if depth < solid.top:
                now.append(before[n])
                continue
            far = solid.outside(x, y, depth)[0]
            now.append(far)
            new = np.flatnonzero(far < 0)
            if len(new) and depth == solid.top:
                hits.solid[active[new]], hits.depth[active[new]] = n, depth
            elif len(new):
                entries[n].add(active[new], depths[k - 1], depth, before[n][new], far[new])
            done[new] = True
        if done.any():
            keep = np.flatnonzero(~done)
            active, line, now = active[keep], line.some(keep), [far[keep] for far in now]
        before = now
        if not len(active):
            break
    for n, (solid, entry) in enumerate(zip(solids, entries)):
        found = entry.joined()
        if found:
            own = sight.some(found[0])
            met = meet(solid, own, *found[1:])
            side = solid.outside(*own.at(met), met)[1]
            first = np.flatnonzero(met < hits.depth[found[0]])
            at = found[0][first]
            hits.solid[at], hits.side[at], hits.depth[at] = n, side[first], met[first]
    return hits
