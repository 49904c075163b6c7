"""The table-top around the tiles: wood with its grain, the open light on it less what the tiles hide, and what their outer sides
pass on to it."""
import math

import numpy as np

PITCH_MM = 8.0          # between places where its light is known: shadows of a 45 mm high rim under lamps of real size are softer
SKY_DIRECTIONS = 320    # into which the sky is cut for the shadow: each is 0.3 % of the light
LAMP_POINTS = 144
GRAIN_MM = (9.0, 500.0)          # across the fibres and along them
GRAIN_TONES = ((0, 0.35, 0.6, 0.8, 1), (0.7, 1.0, 1.12, 0.92, 1.25))  # early and late wood, times the wood's tone
FINE_MM, FINE_SHARE = (1.3, 120.0), 0.12
LATTICE = 256           # random values each way, repeated
GOLDEN = math.pi * (3 - math.sqrt(5))


def hull(points):
    """Convex outline, counter-clockwise."""
    pts = sorted(map(tuple, points))

    def half(seq):
        out = []
        for p in seq:
            while len(out) > 1 and ((out[-1][0] - out[-2][0]) * (p[1] - out[-2][1])
                                    - (out[-1][1] - out[-2][1]) * (p[0] - out[-2][0])) <= 0:
                out.pop()
            out.append(p)
        return out[:-1]
    return np.array(half(pts) + half(pts[::-1]))


class Wood:
    def __init__(self, rng, tone, turn_deg):
        self.tone, turn = np.array(tone), math.radians(turn_deg)
        self.c, self.s = math.cos(turn), math.sin(turn)
        self.coarse, self.fine = rng.uniform(0, 1, (2, LATTICE, LATTICE))

    @staticmethod
    def noise(values, u, v):
        """Smooth in between random values at whole u, v."""
        i, j = np.floor(u).astype(int), np.floor(v).astype(int)
        fu, fv = u - i, v - j
        fu, fv = fu * fu * (3 - 2 * fu), fv * fv * (3 - 2 * fv)
        i, j, ii, jj = i % LATTICE, j % LATTICE, (i + 1) % LATTICE, (j + 1) % LATTICE
        return ((values[i, j] * (1 - fu) + values[ii, j] * fu) * (1 - fv) + (values[i, jj] * (1 - fu) + values[ii, jj] * fu) * fv)

    def albedo(self, x, y):
        u, v = self.c * x + self.s * y, -self.s * x + self.c * y
        sway = 0.6 * self.noise(self.fine, u / 40, v / 300)  # fibres are not quite straight
        coarse = self.noise(self.coarse, u / GRAIN_MM[0] + sway, v / GRAIN_MM[1])
        fine = self.noise(self.fine, u / FINE_MM[0], v / FINE_MM[1]) - 0.5
        return (np.interp(coarse, *GRAIN_TONES) * (1 + FINE_SHARE * fine))[..., None] * self.tone


class Floor:
    """Light on the table-top between lo and hi."""

    def __init__(self, environment, tiles, outer, height_mm, lo, hi, fineness=1.0):
        """outer: side letter -> [(slot, body)] of the table's outer sides."""
        self.height, self.outer = height_mm, outer
        base = [t.world(*c) for t in tiles for c in t.corner_u({s: t.standoff(s, height_mm) for s in "NESW"}).values()]
        self.outline(hull(base))
        self.pitch = PITCH_MM / fineness
        self.lo = np.array(lo, float)
        self.columns, self.rows = (int(v) + 2 for v in (np.array(hi) - self.lo) / self.pitch)
        x, y = np.meshgrid(self.lo[0] + self.pitch * np.arange(self.columns), self.lo[1] + self.pitch * np.arange(self.rows))
        x, y = self.put_outside(x.ravel(), y.ravel())
        self.values = self.open(environment, x, y, fineness) + self.passed(x, y)

    def outline(self, corners):
        step = np.roll(corners, -1, axis=0) - corners
        length = np.hypot(*step.T)
        self.normals = np.column_stack([step[:, 1], -step[:, 0]]) / length[:, None]
        self.offsets = (self.normals * corners).sum(axis=1)

    def outside(self, x, y):
        """How far outside each of the outline's lines."""
        return x[None] * self.normals[:, :1] + y[None] * self.normals[:, 1:] - self.offsets[:, None]

    def inside(self, x, y):
        return self.outside(x, y).max(axis=0) < 0

    def put_outside(self, x, y):
        """Places under the tiles stand for the nearest one outside: light between two places is linear up to the outline."""
        far = self.outside(x, y)
        nearest = far.argmax(axis=0)
        more = np.where(far.max(axis=0) < 0, 0.1 - far.max(axis=0), 0)
        return x + more * self.normals[nearest, 0], y + more * self.normals[nearest, 1]

    def hidden(self, x, y, tx, ty):
        """Whether the way from (x, y) by (tx, ty), on which light comes down to the tops' height, meets the outline."""
        enter, leave = np.zeros(x.shape), np.ones(x.shape)
        for (nx, ny), offset in zip(self.normals, self.offsets):
            a, b = nx * x + ny * y - offset, nx * tx + ny * ty
            b = np.where(b == 0, 1e-12, b)
            cross = -a / b
            enter, leave = np.where(b < 0, np.maximum(enter, cross), enter), np.where(b > 0, np.minimum(leave, cross), leave)
        return enter < leave

    def open(self, environment, x, y, fineness):
        out = environment.sky_level * environment.sky_colour * self.sky_share(environment, x, y, fineness)[:, None]
        for panel in environment.panels:
            points = panel.points(round(LAMP_POINTS * fineness ** 2))
            share = 0.0
            for p in points:
                t = self.height / p[2]
                share = share + ~self.hidden(x, y, (p[0] - x) * t, (p[1] - y) * t)
            out += (panel.level(x, y, 0.0) * share / len(points))[:, None] * panel.colour
        return out

    def sky_share(self, environment, x, y, fineness):
        """Directions evenly spread by cosine, each weighted with the sky's radiance there."""
        count = round(SKY_DIRECTIONS * fineness ** 2)
        total = share = 0.0
        for k in range(count):
            q = (k + 0.5) / count
            sine, flat = math.sqrt(1 - q), math.sqrt(q)
            weight = environment.sky(sine)
            reach = self.height * flat / sine
            total += weight
            share = share + weight * ~self.hidden(x, y, np.full(x.shape, reach * math.cos(GOLDEN * k)), np.full(x.shape, reach * math.sin(GOLDEN * k)))
        return share / total

    def passed(self, x, y):
        """Light from the outer sides: as beside an endless side, less beyond its ends."""
        out = np.zeros((len(x), 3))
        for group in self.outer.values():
            best, add = np.full(x.shape, np.inf), np.zeros((len(x), 3))
            for slot, body in group:
                along, s = (y, x) if body.upright else (x, -y)
                held = np.clip(along, slot.stations[0], slot.stations[-1])
                beyond = np.abs(along - held)
                foot = body.place(held, np.full(x.shape, body.height))
                q = body.sign * (s - foot)
                far = np.hypot(q, beyond)
                use = (beyond < best) & (q > 0)
                light_there = slot.passed["floor"].at(*slot.station(held), foot + body.sign * far) * (q / np.maximum(far, 1e-9))[:, None]
                add[use], best[use] = light_there[use], beyond[use]
            out += add
        return out

    def light(self, x, y):
        col = np.clip((x - self.lo[0]) / self.pitch, 0, self.columns - 1.001)
        row = np.clip((y - self.lo[1]) / self.pitch, 0, self.rows - 1.001)
        c, r = col.astype(np.int64), row.astype(np.int64)
        fc, fr = (col - c)[..., None], (row - r)[..., None]
        at, v, n = r * self.columns + c, self.values, self.columns
        return (v[at] * (1 - fc) + v[at + 1] * fc) * (1 - fr) + (v[at + n] * (1 - fc) + v[at + n + 1] * fc) * fr
