"""Where a sight line ends: on a top, on a side face, or on the table-top.

A tile is what lies within its four outlines, which change with depth: rounded rims, chips, leaning sides.  A sight line is
followed down through levels of depth; between the last one outside a tile and the first one inside it the place is found by
false position.  Where it meets the plane of a top is worked out, as tops may slant.
"""
import math

import numpy as np

FLOOR, TOP = -1, 4    # instead of a tile's number; instead of a side's
ARC_LEVELS = 10       # of a rounding: a sight line that grazes it may be missed by r (pi / 2 / 10)^2 / 8, 2.5 um at 0.8 mm
GRAZE_MM = 0.0025     # the same where a top slants, so that levels cannot follow its rims: they are sqrt(8 r GRAZE_MM) apart
CHIP_LEVELS = 20
SIDE_LEVELS = 8       # between them a side is straight but for its edge's waves
LEAST_MM = 0.005
ROUNDS = 9            # of false position and halving
END_MM = 2.0          # between levels where a tile's corner may stand in the way of a sight line for a short stretch only
SIDES = "NESW"


def on_slope(eye, top_mm, x, y, middle, rise_mm, slope):
    """Where sight lines through places x, y on the plane of the tops (at top_mm) meet a plane that stands rise_mm over it at
    `middle` and rises by slope (mm per mm east and north)."""
    above = eye[2] - top_mm
    dx, dy = (x - eye[0]) / above, (y - eye[1]) / above
    rise = rise_mm + slope[0] * (x - middle[0]) + slope[1] * (y - middle[1])
    up = rise / (1 + slope[0] * dx + slope[1] * dy)
    return x - dx * up, y - dy * up


class Solid:
    """A tile as sight lines meet it.  sides: those that may be met.  top, low: depths of the top's highest and lowest corner."""

    def __init__(self, bodies, sides=SIDES):
        """bodies: side -> slot.Body."""
        self.bodies, self.sides = bodies, sides
        one = bodies[sides[0]]
        self.tile, self.top, self.low, self.flat = one.tile, one.top, one.top, one.flat
        if not self.flat:
            tops = [-self.tile.rise_at(*self.tile.world(*c)) for c in self.tile.corner_u().values()]
            self.top, self.low = min(tops), max(tops)
        self.c, self.s = math.cos(self.tile.pose[2]), math.sin(self.tile.pose[2])

    def outside_each(self, x, y, depth):
        """Distance outside each of the sides at that depth, negative inside."""
        dx, dy = x - self.tile.pose[0], y - self.tile.pose[1]
        lx, ly = self.c * dx + self.s * dy, self.c * dy - self.s * dx
        d = depth - self.top if self.flat else depth + self.tile.rise_at(x, y)
        if np.ndim(d) == 0:
            d = np.full(lx.shape, d)
        for side in self.sides:
            body = self.bodies[side]
            h, u = (ly, lx) if side in "NS" else (lx, ly)
            yield (h if side in "NE" else -h) - self.tile.side_mm / 2 - body.edge.clean(u) - self.out(body, u, d)

    def outside(self, x, y, depth):
        """Distance outside the tile's outline."""
        best = None
        for far in self.outside_each(x, y, depth):
            best = far if best is None else np.maximum(best, far)
        return best

    def nearest(self, x, y, depth):
        """Which side is nearest to being passed, as its number in SIDES."""
        far = np.array(list(self.outside_each(x, y, depth)))
        return np.array([SIDES.index(side) for side in self.sides])[far.argmax(axis=0)]

    def top_on(self, sight):
        """Depth at which sight lines meet the plane of the top."""
        a, b = self.tile.slope
        return -self.tile.rise_at(sight.x, sight.y) / (1 + a * sight.dx + b * sight.dy)

    @staticmethod
    def out(body, u, d):
        out = body.out(u, d, False)
        for lo, hi, height in body.chips:
            hit = ((u > lo) & (u < hi) & (d < height)).nonzero()[0]
            if len(hit):
                out[hit] = body.out(u[hit], d[hit])
        return out


def levels(solids, height_mm, gap_mm, fineness):
    """Depths at which sight lines are looked at: close where outlines bend, never closer than LEAST_MM."""
    tops = np.array([t for s in solids for t in (s.top, s.low)])
    low = tops.max()
    out = [low + gap_mm * np.geomspace(0.5, max(1.0, height_mm / gap_mm), round(SIDE_LEVELS * fineness)), np.array([height_mm])]
    for solid in solids:
        r = max(solid.bodies[side].round for side in solid.sides)
        if r and not solid.flat:
            out.append(np.arange(solid.top, solid.low + r, math.sqrt(8 * r * GRAZE_MM) / fineness))
        elif r:
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
        far = solid.outside(*sight.at(mid), mid)
        inside = far < 0
        high, b = np.where(inside, mid, high), np.where(inside, far, b)
        low, a = np.where(inside, low, mid), np.where(inside, a, far)
    return low + np.clip(a / np.maximum(a - b, 1e-15), 0, 1) * (high - low)


class Entry:
    """Which sight lines have got inside a solid, between which depths, how far outside it at the first and at the second."""

    def __init__(self):
        self.parts = []

    def add(self, which, low, high, far_low, far_high):
        """low: one depth for all, or one for each."""
        self.parts.append((which, np.broadcast_to(low, len(which)), np.full(len(which), high), far_low, far_high))

    def joined(self):
        return [np.concatenate(column) for column in zip(*self.parts)] if self.parts else None


class Descent:
    """One solid's part in following sight lines down.  own: depth of its top on each line still followed; before: how far outside it
    they were when last looked at (inf before they reach its top)."""

    def __init__(self, solid, number, sight):
        self.solid, self.number, self.entry = solid, number, Entry()
        self.own, self.before = solid.top_on(sight), np.full(len(sight.x), np.inf)

    def some(self, keep):
        self.own, self.before = self.own[keep], self.before[keep]

    def land(self, line, active, last, depth, hits):
        """Which lines end on its top between the levels last and depth."""
        done = np.zeros(len(active), bool)
        reached = ((self.own > last) & (self.own <= depth)).nonzero()[0]
        if len(reached):
            own, some = self.own[reached], line.some(reached)
            far = self.before[reached] = self.solid.outside(*some.at(own), own)
            on = reached[far < 0]
            done[on] = True
            first = on[self.own[on] < hits.depth[active[on]]]
            hits.solid[active[first]], hits.depth[active[first]] = self.number, self.own[first]
        return done

    def pass_level(self, line, active, last, depth, hits):
        """Which lines have ended on the solid when they are depth deep; last: the level before."""
        done = self.land(line, active, last, depth, hits)
        below = ((self.own < depth) & ~done).nonzero()[0]
        if len(below):
            some = line if len(below) == len(active) else line.some(below)
            far = self.solid.outside(*some.at(depth), depth)
            new = (far < 0).nonzero()[0]
            if len(new):
                at = below[new]
                self.entry.add(active[at], np.maximum(self.own[at], last), depth, self.before[at], far[new])
                done[at] = True
            self.before[below] = far
        return done


def follow(solids, sight, depths):
    """Hits of the sight lines on the solids or on the floor at the last depth."""
    hits = Hits(len(sight.x), depths[-1])
    descents = [Descent(solid, n, sight) for n, solid in enumerate(solids)]
    active, line, last = np.arange(len(sight.x)), sight, -math.inf
    for depth in depths:
        done = np.zeros(len(active), bool)
        for one in descents:
            done |= one.pass_level(line, active, last, depth, hits)
        if done.any():
            keep = (~done).nonzero()[0]
            active, line = active[keep], line.some(keep)
            for one in descents:
                one.some(keep)
        last = depth
        if not len(active):
            break
    for one in descents:
        meet_sides(one, sight, hits)
    return hits


def meet_sides(descent, sight, hits):
    """Lines that got inside a solid end on its side, if on nothing before."""
    found = descent.entry.joined()
    if not found:
        return
    own = sight.some(found[0])
    met = meet(descent.solid, own, *found[1:])
    side = descent.solid.nearest(*own.at(met), met)
    first = (met < hits.depth[found[0]]).nonzero()[0]
    at = found[0][first]
    hits.solid[at], hits.side[at], hits.depth[at] = descent.number, side[first], met[first]
