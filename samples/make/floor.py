"""The table-top around the tiles: wood with its grain, the open light on it less what the tiles hide, and what their outer sides
pass on to it."""
import math

import numpy as np

from tiles import hull

SKY_PITCH_MM = 8.0      # between places where the sky's light is known, and what the tiles pass on
SHADE_STEPS = 10        # of the border of a lamp's shade: 8 mm wide below a 250 mm wide lamp 1.4 m up and a 45 mm high rim
SHADE_PITCH_MM = (0.8, 4.0)  # no finer, no coarser
SKY_DIRECTIONS = 320    # into which the sky is cut for the shadow: each is 0.3 % of the light
LAMP_POINTS = 196
FOOT_MM = 0.1           # so near to the tiles stands for at their foot
GRAIN_MM = (9.0, 500.0)          # across the fibres and along them
GRAIN_TONES = ((0, 0.35, 0.6, 0.8, 1), (0.7, 1.0, 1.12, 0.92, 1.25))  # early and late wood, times the wood's tone
FINE_MM, FINE_SHARE = (1.3, 120.0), 0.12
LATTICE = 256           # random values each way, repeated
GOLDEN = math.pi * (3 - math.sqrt(5))


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


class Raster:
    """Light at places pitch_mm apart, linear in between."""

    def __init__(self, lo, hi, pitch_mm):
        self.lo, self.pitch = np.array(lo, float), pitch_mm
        self.columns, self.rows = (int(v) + 2 for v in (np.array(hi) - self.lo) / pitch_mm)
        self.values = None

    def places(self):
        x, y = np.meshgrid(self.lo[0] + self.pitch * np.arange(self.columns), self.lo[1] + self.pitch * np.arange(self.rows))
        return x.ravel(), y.ravel()

    def at(self, x, y):
        col = np.clip((x - self.lo[0]) / self.pitch, 0, self.columns - 1.001)
        row = np.clip((y - self.lo[1]) / self.pitch, 0, self.rows - 1.001)
        c, r = col.astype(np.int64), row.astype(np.int64)
        fc, fr = (col - c)[..., None], (row - r)[..., None]
        at, v, n = r * self.columns + c, self.values, self.columns
        return (v[at] * (1 - fc) + v[at + 1] * fc) * (1 - fr) + (v[at + n] * (1 - fc) + v[at + n + 1] * fc) * fr


class Floor:
    """Light on the table-top between lo and hi."""

    def __init__(self, environment, tiles, outer, height_mm, lo, hi, fineness=1.0):
        """outer: side letter -> [(slot, body)] of the table's outer sides."""
        self.height, self.outer = height_mm, outer
        base = [t.world(*c) for t in tiles for c in t.corner_u({s: t.standoff(s, height_mm) for s in "NESW"}).values()]
        self.outline(hull(base))
        self.soft = Raster(lo, hi, SKY_PITCH_MM / fineness)
        count = round(SKY_DIRECTIONS * fineness ** 2)
        x, y = self.soft.places()
        at_foot, far = self.soft_light(environment, *self.put_outside(x, y, 0), count), self.outside(x, y).max(axis=0)
        under = np.flatnonzero(far < 0)  # these are there so that between them and the ones outside light is right: as much less as it
        mirrored = self.put_outside(x[under], y[under], 1)  # is more on the other side of the outline
        at_foot[under] = 2 * at_foot[under] - self.soft_light(environment, *mirrored, count)
        self.soft.values = np.maximum(at_foot, 0)
        self.lamps = [self.lamp(panel, lo, hi, fineness) for panel in environment.panels]

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

    def put_outside(self, x, y, again):
        """Places under the tiles go to the nearest one outside, and beyond it `again` as far as they had to go."""
        far = self.outside(x, y)
        nearest, deep = far.argmax(axis=0), -far.max(axis=0)
        more = np.where(deep > 0, FOOT_MM + deep * (1 + again), 0)
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

    def soft_light(self, environment, x, y, count):
        return environment.sky_level * environment.sky_colour * self.sky_share(environment, x, y, count)[:, None] + self.passed(x, y)

    def lamp(self, panel, lo, hi, fineness):
        """A lamp's open light, and the share of the lamp that is seen: two rasters."""
        lit = Raster(lo, hi, SKY_PITCH_MM)
        lit.values = panel.level(*lit.places(), 0.0)[:, None] * panel.colour
        size = min(np.linalg.norm(panel.u), np.linalg.norm(panel.v))
        pitch = np.clip(self.height * size / panel.middle[2] / SHADE_STEPS, *SHADE_PITCH_MM) / fineness
        share = Raster(lo, hi, pitch)
        x, y = self.put_outside(*share.places(), 0)
        share.values = np.ones((len(x), 1))
        share.values[:, 0] = self.seen(panel, x, y, round(LAMP_POINTS * fineness ** 2))
        return lit, share

    def seen(self, panel, x, y, count):
        """Share of a lamp that is not hidden: counted only where some of its rim is and some is not, as both are convex."""
        edge = [panel.middle + i * panel.u / 2 + j * panel.v / 2 for i in (-1, 0, 1) for j in (-1, 0, 1) if i or j]
        hidden = sum(self.hides(x, y, p).astype(int) for p in edge)
        out = np.where(hidden == len(edge), 0.0, 1.0)
        border = np.flatnonzero((hidden > 0) & (hidden < len(edge)))
        if len(border):
            x, y = x[border], y[border]
            out[border] = sum(~self.hides(x, y, p) for p in panel.points(count)) / count
        return out

    def hides(self, x, y, point):
        t = self.height / point[2]
        return self.hidden(x, y, (point[0] - x) * t, (point[1] - y) * t)

    def sky_share(self, environment, x, y, count):
        """Directions evenly spread by cosine, each weighted with the sky's radiance there."""
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
        return self.soft.at(x, y) + sum(lit.at(x, y) * share.at(x, y) for lit, share in self.lamps)
