"""The cross-section of a seam, or of the table's outer side: what two side faces and the table-top between them look like, which
part of the sky each point of them sees, and the light they pass to one another.

Across a seam runs s: from the first tile (left: the west or north one) to the second; `along` is the world's y or x.
D is the depth under the plane of the tops, d the depth under a tile's own top.  Outside the table one of the two is missing.

       top ___        ___ top        open space lies on the left hand of one who walks from the far left over the left top,
      rim     |      |               down its side, over the floor and up the right side: a step (ds, dD) has its normal at
       side   |      |               (dD, -ds)
              |______|
                floor
"""
import math

import numpy as np

WOOD_BASE_MM = 4.0      # thickness of the tile's wooden base
STATION_MM = 3.0        # between cross-sections: passed-on light is linear in between, the edges' waves are 8 mm and longer
CHIP_STATION_MM = 0.5
LEAST_STRIP_MM = 1e-4   # beside a slanting top strips may shrink to nothing; so long they still have view factors
LEAST_STEP_MM = 0.002   # stands for no step between slanting tops, for the strips of the lower one
LEAST_GAP_MM = 0.02     # narrower gaps are cut into strips as if they were so wide
GRAIN = 0.35            # strips begin at about a tenth of this share of the gap's width and grow with depth
SIDE_STRIPS, FREE_STRIPS, ARC_STRIPS, TOP_STRIPS, FLOOR_STRIPS, FIELD_STRIPS, BASE_STRIPS = 28, 10, 10, 14, 4, 18, 2
FLAT_MM = 1e-9          # what lies nearer to a strip's plane does not see it
CHIP_LEVELS = (0.3, 0.6, 0.85, 0.97, 1.0)  # shares of a chip's height: its bottom is a ledge
OPEN_MM = 15.0          # stands for the gap's width at the table's outer sides
FIELD_MM = 3000.0       # how far the floor around the table reflects
SHADE = 14.0            # a step is felt this many times its height out on the lower top: 1 - cos atan(1 / 14) is 0.3 %
FADE = 0.7              # from this share of it on its effect is faded out, so that no border shows
CHIP_POINTS = 16        # of a chip's outline, as far as it hides the sky
ACROSS = {"E": (1, 0, 1), "W": (1, 0, -1), "N": (0, -1, -1), "S": (0, -1, 1)}  # side: x and y of s, and its outward sign


class Body:
    """One side of a tile as its cross-sections show it."""

    def __init__(self, tile, side, height_mm, colours):
        """colours: albedo of top, side and wooden base."""
        self.tile, self.side, self.edge = tile, side, tile.edges[side]
        self.upright = side in "EW"
        self.sign = ACROSS[side][2]
        self.top, self.flat = -tile.rise_mm, not any(tile.slope)
        self.height = height_mm + tile.rise_mm
        self.round, self.lean = tile.rounds_mm[side], math.tan(math.radians(tile.lean_deg[side]))
        self.albedo_top, self.albedo_side, self.albedo_base = (np.array(c, float) for c in colours)
        lo, hi = tile.span(side, tile.corner_u())
        self.u = np.unique(np.concatenate([self.edge.u[(self.edge.u > lo) & (self.edge.u < hi)], [lo, hi]]))
        x, y = tile.world(*tile.local(side, self.u, self.edge.clean(self.u)))
        self.along, self.rim = (y, x) if self.upright else (x, -y)
        self.tops = -tile.rise_at(x, y)
        self.chips = [(at - half, at + half, height) for at, half, _, height in self.edge.chips]

    def rim_at(self, along):
        return np.interp(along, self.along, self.rim)

    def top_at(self, along):
        """Depth of the top at its rim: all along it the same unless the top slants."""
        return np.full(np.shape(along), self.top) if self.flat else np.interp(along, self.along, self.tops)

    def height_at(self, along):
        return self.height + self.top - self.top_at(along)

    def chipped(self, along):
        """Where chips are, and the local u there."""
        u = np.interp(along, self.along, self.u)
        hit = np.zeros(u.shape, bool)
        for lo, hi, _ in self.chips:
            hit |= (u > lo) & (u < hi)
        return hit, u

    def rounding(self, d):
        r = self.round
        return r - np.sqrt(np.maximum(r * r - np.maximum(r - d, 0) ** 2, 0)) if r else np.zeros_like(d)

    def out(self, u, d, chipped=True):
        """How far the face lies outside the rim's line, d under the top at the tile's own place u."""
        back = self.rounding(d)
        if chipped and self.chips:
            back = np.maximum(back, self.edge.bite(u, d))
        return self.lean * np.maximum(d - self.round, 0) - back

    def slope(self, u, d, chipped):
        """Of the face: how much farther out it gets per mm down."""
        if chipped:
            step = 0.02
            above = np.maximum(d - step, 0)
            return (self.out(u, d + step) - self.out(u, above)) / (d + step - above)
        r = self.round
        if not r:
            return np.full(d.shape, self.lean)
        down = np.maximum(r - d, 0)
        return np.where(down > 0, down / np.sqrt(np.maximum(r * r - down * down, 1e-12)), self.lean)

    def normal(self, along, d):
        """Angle of the face's normal from the zenith, + towards +s."""
        hit, u = self.chipped(along)
        slope = self.slope(u, d, False)
        if hit.any():
            slope[hit] = self.slope(u[hit], d[hit], True)
        return self.sign * (math.pi / 2 - np.arctan(slope))

    def place(self, along, d):
        """s of the face."""
        hit, u = self.chipped(along)
        out = self.out(u, d, False)
        if hit.any():
            out[hit] = self.out(u[hit], d[hit])
        return self.rim_at(along) + self.sign * out

    def key(self, d):
        """Length of the way down the face; does not jump where a rounding begins flat."""
        r = self.round
        if not r:
            return d
        return r * np.arccos(np.clip(1 - d / r, -1, 1)) * (d < r) + (r * (math.pi / 2 - 1) + d) * (d >= r)

    def horizon(self, along, s, depth):
        """How far from the zenith this side begins to hide the sky, from points (s, depth) in front of it: at most 90 degrees."""
        q, v = self.sign * (s - self.rim_at(along)), depth - self.top_at(along)
        centre = np.hypot(q + self.round, v - self.round)
        f = np.arctan2(q + self.round, v - self.round) - np.arcsin(np.clip(self.round / np.maximum(centre, 1e-12), 0, 1))
        f = np.where(v > 1e-9, f, math.pi / 2)
        hit, u = self.chipped(along)
        if hit.any():
            f[hit] = self.rough_horizon(u[hit], q[hit], v[hit])
        return np.clip(f, -math.pi / 2, math.pi / 2)

    def rough_horizon(self, u, q, v):
        f = np.full(q.shape, math.pi / 2)
        deepest = max(height for _, _, height in self.chips)
        for share in np.linspace(0, 1, CHIP_POINTS) ** 1.5:
            d = np.full(q.shape, deepest * share)
            up = v - d
            f = np.where(up > 1e-6, np.minimum(f, np.arctan2(q - self.out(u, d), np.maximum(up, 1e-6))), f)
        return f


def growing(low, high, scale, count):
    """count + 1 values from low to high, close together at low (about GRAIN scale apart at most, growing in proportion); low and
    high may be arrays.  Shape (..., count + 1)."""
    low, high, scale = np.broadcast_arrays(*(np.asarray(v, float) for v in (low, high, scale)))
    most = np.log1p(np.maximum(high - low, 0) / (GRAIN * scale))[..., None]
    out = low[..., None] + GRAIN * scale[..., None] * np.expm1(most * np.linspace(0, 1, count + 1))
    out[..., -1] = np.maximum(low, high)
    return out


def far(p, q):
    d = p - q
    return np.sqrt(d[..., 0] ** 2 + d[..., 1] ** 2)


def ahead(a, b, p, q):
    """Which part of the strips p q (shares of them, from and to; (..., i, j)) lies in front of the strips a b; whether any does."""
    step = b - a
    normal = np.stack([step[..., 1], -step[..., 0]], axis=-1) / np.maximum(far(a, b), 1e-12)[..., None]
    base = (normal * a).sum(axis=-1)[..., None]
    fp, fq = (normal @ np.swapaxes(v, -1, -2) - base for v in (p, q))
    cut = np.clip(fp / np.where(fp == fq, 1, fp - fq), 0, 1)
    return np.where(fp >= 0, 0.0, cut), np.where(fq >= 0, 1.0, cut), np.maximum(fp, fq) > FLAT_MM


def strings(a, b, p, q):
    """Length times view factor between strips a b and p q, shape (..., i, j).  Crossed strings (Hottel): half of the two crossed ones
    less the two uncrossed ones, between the parts of both that lie in front of one another."""
    low, high, seen = ahead(a, b, p, q)
    own_low, own_high, own_seen = (np.swapaxes(v, -1, -2) for v in ahead(p, q, a, b))
    step, own = (q - p)[..., None, :, :], (b - a)[..., :, None, :]
    from_, to = p[..., None, :, :] + low[..., None] * step, p[..., None, :, :] + high[..., None] * step
    own_from, own_to = a[..., :, None, :] + own_low[..., None] * own, a[..., :, None, :] + own_high[..., None] * own
    crossed = far(own_from, from_) + far(own_to, to) - far(own_to, from_) - far(own_from, to)
    return np.where(seen & own_seen, np.abs(crossed) / 2, 0)


def exchange(groups):
    """View factors between all strips, shape (..., n, n): row i says which share of what leaves strip i reaches j.
    groups: [(a, b, whether strips of the group may see one another)]: those of a bulging body do not."""
    ends = np.cumsum([0] + [a.shape[-2] for a, _, _ in groups])
    first = groups[0][0]
    out = np.zeros(first.shape[:-2] + (ends[-1], ends[-1]))
    for i, (a, b, hollow) in enumerate(groups):
        for j in range(i, len(groups)):
            if j > i or hollow:
                block = strings(a, b, *groups[j][:2])
                out[..., ends[i]:ends[i + 1], ends[j]:ends[j + 1]] = block
                out[..., ends[j]:ends[j + 1], ends[i]:ends[i + 1]] = np.swapaxes(block, -1, -2)
    length = np.concatenate([far(a, b) for a, b, _ in groups], axis=-1)
    return out / np.maximum(length, 1e-12)[..., None]


class Strips:
    """Passed-on light known at places (station, key), linear in between."""

    def __init__(self, keys, light):
        """keys: (stations, n), growing; light: (stations, n, 3)."""
        self.count, self.n = keys.shape
        self.span = float(keys.max() - keys.min()) + 1.0
        self.low = float(keys.min())
        self.keys = (keys - self.low + self.span * np.arange(self.count)[:, None]).ravel()
        self.light = light.reshape(-1, 3)

    def one(self, station, key):
        k = np.clip(key - self.low, 0, self.span - 1e-9) + self.span * station
        at = np.clip(np.searchsorted(self.keys, k) - 1, station * self.n, station * self.n + self.n - 2)
        part = np.clip((k - self.keys[at]) / np.maximum(self.keys[at + 1] - self.keys[at], 1e-12), 0, 1)[..., None]
        return self.light[at] * (1 - part) + self.light[at + 1] * part

    def at(self, station, part, key):
        if self.count == 1:
            return self.one(np.zeros(key.shape, int), key)
        part = part[..., None]
        return self.one(station, key) * (1 - part) + self.one(station + 1, key) * part


class Slot:
    """left, right: Body or None; fan: light.Fan of places from fan_from to fan_to along; level: the light that counts as open."""

    def __init__(self, left, right, fan, fan_span, height_mm, floor_albedo, fineness=1.0):
        self.left, self.right, self.fan, self.height, self.fineness = left, right, fan, height_mm, fineness
        self.fan_from, self.fan_to = fan_span
        self.floor_albedo = np.array(floor_albedo, float)
        bodies = [b for b in (left, right) if b]
        lo, hi = max(b.along.min() for b in bodies), min(b.along.max() for b in bodies)
        self.stations = self.places(bodies, lo, max(hi, lo + 0.1))
        self.passed = {}
        self.solve(bodies)

    def places(self, bodies, lo, hi):
        out = [np.linspace(lo, hi, max(2, math.ceil((hi - lo) / STATION_MM * self.fineness) + 1))]
        for body in bodies:
            for a, b, _ in body.chips:
                a, b = np.sort(np.interp([a, b], body.u, body.along))
                out.append(np.arange(a, b, CHIP_STATION_MM / self.fineness))
        out = np.concatenate(out)
        return np.unique(np.round(out[(out >= lo) & (out <= hi)], 6))

    def fan_place(self, along):
        return (along - self.fan_from) / max(self.fan_to - self.fan_from, 1e-9) * (self.fan.places - 1)

    def station(self, along):
        i = np.clip(np.searchsorted(self.stations, along) - 1, 0, max(0, len(self.stations) - 2))
        a, b = self.stations[i], self.stations[np.minimum(i + 1, len(self.stations) - 1)]
        return i, np.clip((along - a) / np.maximum(b - a, 1e-12), 0, 1)

    # ---- direct light ---------------------------------------------------------------------------------------------

    def free(self, along, s, depth, normal, own):
        """The angles between which a point sees sky."""
        low, high = np.maximum(normal - math.pi / 2, -math.pi / 2), np.minimum(normal + math.pi / 2, math.pi / 2)
        if self.left and (self.left is not own or own.chips):
            low = np.maximum(low, -self.left.horizon(along, s, depth))
        if self.right and (self.right is not own or own.chips):
            high = np.minimum(high, self.right.horizon(along, s, depth))
        return low, high

    def direct(self, along, s, depth, normal, own):
        return self.fan.face(self.fan_place(along), *self.free(along, s, depth, normal, own), normal)

    # ---- strips ---------------------------------------------------------------------------------------------------

    def count(self, n):
        return max(2, round(n * self.fineness))

    def levels(self, body, other, width):
        """Depths under the body's own top between which its strips lie, (stations, n + 1); and how many of them are foam."""
        free = np.maximum(0.0, other.top_at(self.stations) - body.top_at(self.stations)) if other else np.zeros(width.shape)
        parts, start, zero = [], np.full(width.shape, body.round), np.zeros(width.shape)
        if body.round:
            turn = np.linspace(0, math.pi / 2, self.count(ARC_STRIPS) + 1)
            parts.append(np.broadcast_to(body.round * (1 - np.cos(turn)), width.shape + turn.shape))
        else:
            parts.append(zero[:, None])
        if free.max() > body.round + 0.005:
            up = growing(0.0, np.maximum(free - body.round, 0), width, self.count(FREE_STRIPS))
            parts.append((free[:, None] - up)[:, -2::-1])
            start = np.maximum(free, body.round)
        hit, u = body.chipped(self.stations)
        wide = width + np.where(hit, body.edge.bite(u), 0) + (other.edge.bite(other.chipped(self.stations)[1]) if other else 0)
        height = body.height_at(self.stations)
        bottom = height - WOOD_BASE_MM
        parts.append(growing(start, bottom, wide, self.count(SIDE_STRIPS))[:, 1:])
        parts.append(np.linspace(bottom, height, BASE_STRIPS + 1, axis=1)[:, 1:])
        if body.chips:
            parts.append(self.chip_levels(body, hit, u, start, bottom))
        out = np.sort(np.concatenate(parts, axis=1), axis=1)
        if body.flat and (other is None or other.flat):
            return out
        least = LEAST_STRIP_MM * np.arange(out.shape[1])
        return np.maximum.accumulate(out - least, axis=1) + least

    def chip_levels(self, body, hit, u, start, bottom):
        reach = np.zeros(u.shape)
        for at, half, _, height in body.edge.chips:
            reach = np.maximum(reach, height * np.sqrt(np.clip(1 - ((u - at) / half) ** 2, 0, 1)))
        idle = start[:, None] + (bottom - start)[:, None] * (np.arange(len(CHIP_LEVELS)) + 0.5) / len(CHIP_LEVELS)
        return np.where(hit[:, None], reach[:, None] * np.array(CHIP_LEVELS), idle)

    def side(self, body, other, width):
        """A body's strips from its top down: ends (stations, n + 1, 2), mid depths, albedo (n, 3)."""
        d = self.levels(body, other, width)
        along = np.broadcast_to(self.stations[:, None], d.shape).ravel()
        s = body.place(along, d.ravel()).reshape(d.shape)
        mid = (d[:, 1:] + d[:, :-1]) / 2
        base = mid[0] > body.height_at(self.stations)[0] - WOOD_BASE_MM
        return np.stack([s, d + body.top_at(self.stations)[:, None]], axis=-1), mid, np.where(base[:, None], body.albedo_base, body.albedo_side)

    def top(self, body, other, width):
        """Strips of the lower top beside a step, from its rim inwards: ends, mid distances from the rim's line, albedo."""
        top = body.top_at(self.stations)
        step = np.maximum(top - other.top_at(self.stations), LEAST_STEP_MM)
        _, u = body.chipped(self.stations)
        edge = -body.out(u, np.zeros(u.shape))
        m = growing(edge, edge + 2 * SHADE * step, np.minimum(0.3 * step, width + step), self.count(TOP_STRIPS))
        s = body.rim_at(self.stations)[:, None] - body.sign * m
        n = m.shape[1] - 1
        return np.stack([s, np.broadcast_to(top[:, None], s.shape)], axis=-1), (m[:, 1:] + m[:, :-1]) / 2, np.tile(body.albedo_top, (n, 1))

    def floor(self, ends):
        """ends: (stations, 2) of s where the two sides meet the floor, or where one does and the field's far end."""
        if self.left and self.right:
            s = ends[:, :1] + (ends[:, 1:] - ends[:, :1]) * np.linspace(0, 1, self.count(FLOOR_STRIPS) + 1)
        else:
            out = growing(np.zeros(len(ends)), np.full(len(ends), FIELD_MM), OPEN_MM, self.count(FIELD_STRIPS))
            s = ends[:, :1] + out if self.left else ends[:, 1:] - out[:, ::-1]
        mid = (s[:, 1:] + s[:, :-1]) / 2
        return np.stack([s, np.full(s.shape, self.height)], axis=-1), mid, np.tile(self.floor_albedo, (mid.shape[1], 1))

    def chain(self, bodies):
        """All strips in walking order: [(name, ends, keys, albedo, own body)]."""
        width = np.full(len(self.stations), OPEN_MM)
        if self.left and self.right:
            width = np.maximum(self.right.rim_at(self.stations) - self.left.rim_at(self.stations), LEAST_GAP_MM)
        sides = {b: self.side(b, self.right if b is self.left else self.left, width) for b in bodies}
        feet = [sides[b][0][:, -1, 0] if b else np.zeros(len(self.stations)) for b in (self.left, self.right)]
        parts = [("left", *sides[self.left], self.left)] if self.left else []
        parts.append(("floor", *self.floor(np.stack(feet, axis=1)), None))
        if self.right:
            ends, mid, albedo = sides[self.right]
            parts.append(("right", ends[:, ::-1], mid[:, ::-1], albedo[::-1], self.right))
        if self.left and self.right and self.lower(self.left, self.right):
            ends, mid, albedo = self.top(self.left, self.right, width)
            parts.insert(0, ("left top", ends[:, ::-1], mid[:, ::-1], albedo[::-1], self.left))
        if self.left and self.right and self.lower(self.right, self.left):
            parts.append(("right top", *self.top(self.right, self.left, width), self.right))
        return parts

    def lower(self, body, other):
        """Whether the body's top is somewhere lower than the other's."""
        return (body.top_at(self.stations) - other.top_at(self.stations)).max() > 1e-6

    def lit(self, a, b, own):
        """Direct light on strips, a mean over three places on each."""
        step = b - a
        normal = np.arctan2(step[..., 1], step[..., 0])
        along = np.broadcast_to(self.stations[:, None], normal.shape).ravel()
        out = 0.0
        for share, weight in ((0.5 - math.sqrt(0.15), 5 / 18), (0.5, 8 / 18), (0.5 + math.sqrt(0.15), 5 / 18)):
            p = a + share * step
            out = out + weight * self.direct(along, p[..., 0].ravel(), p[..., 1].ravel(), normal.ravel(), own)
        return out.reshape(normal.shape + (3,))

    @staticmethod
    def groups(parts):
        """The strips of each body, and of the floor, together: ends a and b, and whether the body is hollow somewhere."""
        out = []
        for owner in dict.fromkeys(part[4] for part in parts):
            own = [part[1] for part in parts if part[4] is owner]
            out.append((np.concatenate([e[:, :-1] for e in own], axis=1), np.concatenate([e[:, 1:] for e in own], axis=1),
                        owner is not None and bool(owner.chips)))
        return out

    def solve(self, bodies):
        parts = self.chain(bodies)
        albedo = np.concatenate([part[3] for part in parts])
        lit = np.concatenate([self.lit(part[1][:, :-1], part[1][:, 1:], part[4]) for part in parts], axis=1)
        groups = self.groups(parts)
        passed = np.empty(lit.shape)
        for i in range(0, len(lit), 32):  # so many cross-sections at once stay in the cache
            factors = exchange([(a[i:i + 32], b[i:i + 32], hollow) for a, b, hollow in groups])
            passed[i:i + 32] = hand_on(factors, lit[i:i + 32], albedo)
        first = 0
        for name, ends, mid, _, body in parts:
            n = mid.shape[1]
            light, first = passed[:, first:first + n], first + n
            keys = body.key(mid) if name in ("left", "right") else mid
            if keys[0, 0] > keys[0, -1]:
                keys, light = keys[:, ::-1], light[:, ::-1]
            self.passed[name] = Strips(keys, light)

    # ---- light at a point -----------------------------------------------------------------------------------------

    def face_light(self, body, along, d):
        """On the body's rounded rim and side, d under its top."""
        along = np.clip(along, self.stations[0], self.stations[-1])
        out = self.direct(along, body.place(along, d), d + body.top_at(along), body.normal(along, d), body)
        return out + self.passed["left" if body is self.left else "right"].at(*self.station(along), body.key(d))

    def floor_light(self, along, s):
        along = np.clip(along, self.stations[0], self.stations[-1])
        depth = np.full(s.shape, self.height)
        return self.direct(along, s, depth, np.zeros(s.shape), None) + self.passed["floor"].at(*self.station(along), s)

    def top_change(self, body, along, s):
        """What the higher neighbour changes on a lower top: light it passes on, less light it takes away; faded out."""
        along = np.clip(along, self.stations[0], self.stations[-1])
        other = self.right if body is self.left else self.left
        m = body.sign * (body.rim_at(along) - s)
        place, depth = self.fan_place(along), body.top_at(along)
        step = np.maximum(depth - other.top_at(along), 1e-9)
        toward = -other.sign  # the way the angle grows towards the higher tile
        edge = toward * other.horizon(along, s, depth)
        hidden = self.fan.running(place, np.full(s.shape, toward * math.pi / 2)) - self.fan.running(place, edge)
        taken = -toward * hidden[..., :3]
        fade = np.clip((SHADE - m / step) / (SHADE * (1 - FADE)), 0, 1)
        return (self.passed["left top" if body is self.left else "right top"].at(*self.station(along), m) + taken) * (fade * fade * (3 - 2 * fade))[..., None]


def hand_on(factors, lit, albedo):
    """Light that arrives from other strips when all of them pass on what they get: B = albedo (lit + factors B)."""
    out = np.empty(lit.shape)
    unit = np.eye(len(albedo))
    for colour in range(3):
        share = albedo[:, colour]
        radiance = np.linalg.solve(unit - share[:, None] * factors, (share * lit[..., colour])[..., None])
        out[..., colour] = (factors @ radiance)[..., 0]
    return out
