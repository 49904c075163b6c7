"""Where light comes from, and how much of it reaches a face: an unbroken sky, and flat windows and lamps of real size.

Along a gap everything is alike, so light is summed in the plane across it.  A direction is (cos b sin f, sin b, cos b cos f):
f from the zenith in that plane, b out of it.  A face whose normal lies in the plane at fn gets

    E = int cos(f - fn) M(f) df   over the free angles f,   M(f) = int L(f, b) cos^2 b db,

    as n . w = cos b cos(f - fn) and a solid angle is cos b db df.

An even sky of radiance 1 has M = pi / 2; the overcast one pi / 6 + 8 / 9 cos f.  Fan keeps running integrals of M cos f and
M sin f, so that E over any free angles and for any normal is two look-ups.

Units: irradiance is 1 on a level face at the table's middle (mean of the three colours); a face's radiance is its albedo
times its irradiance in the same units.
"""
import math

import numpy as np

PLACE_MM = 20.0      # between places along a gap from which lamps are looked at; linear in between: they are 1 m away or more
BINS = 4096          # of a fan, over 180 degrees: 0.8 mrad, a hundredth of the lamps' own width
PANEL_POINTS = 4096  # of a window or lamp in a fan: some 18 a bin
FIRST, SECOND = 0.7548776662466927, 0.5698402909980532  # 1 / g and 1 / g^2 with g^3 = g + 1: points spread evenly in a square
MAP_MM = 8.0         # between places where the light on level tops is known: linear in between is right within 1e-5


def even(_sine):
    return 1.0


def overcast(sine):
    """CIE standard overcast sky (ISO 15469 / CIE S 011, type 1 of its fifteen in the form of Moon and Spencer, 1942): three
    times as bright overhead as at the horizon.  sine: of the elevation."""
    return (1 + 2 * sine) / 3


class Panel:
    """A flat Lambertian source: middle, its two sides as vectors (mm), radiance of the three colours."""

    def __init__(self, middle, u, v, colour):
        self.middle, self.u, self.v = (np.array(p, float) for p in (middle, u, v))
        self.colour = np.array(colour, float)
        normal = np.cross(self.u, self.v)
        self.area = float(np.linalg.norm(normal))
        self.normal = normal / self.area

    def points(self, count):
        k = np.arange(count)[:, None] + 0.5
        return self.middle + (k * FIRST % 1 - 0.5) * self.u + (k * SECOND % 1 - 0.5) * self.v

    def level(self, x, y, z):
        """Light of radiance 1 on a level face: Lambert's sum over the rectangle's sides (angle that a side spans, times how far
        the plane through side and face stands up); exact while the whole rectangle is above the face."""
        place = np.stack(np.broadcast_arrays(x, y, z), axis=-1)
        corners = [self.middle + (i * self.u + j * self.v) / 2 - place for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
        total = 0.0
        for p, q in zip(corners, corners[1:] + corners[:1]):
            across = np.cross(p, q)
            length = np.linalg.norm(across, axis=-1)
            total = total + np.arctan2(length, (p * q).sum(axis=-1)) * across[..., 2] / length
        return np.abs(total) / 2


def sky_share(sky):
    """The running integrals of M cos f and M sin f from the horizon to BINS + 1 angles, for a sky's radiance; (BINS + 1, 2)."""
    nodes, weights = np.polynomial.legendre.leggauss(64)
    b = nodes * math.pi / 2
    step = math.pi / BINS
    inner, inner_weights = np.polynomial.legendre.leggauss(3)
    f = -math.pi / 2 + step * (np.arange(BINS)[:, None] + 0.5 + inner / 2)
    m = np.zeros(f.shape)
    for angle, weight in zip(b, weights * math.pi / 2):
        m += weight * math.cos(angle) ** 2 * sky(math.cos(angle) * np.cos(f))
    share = np.stack([(m * np.cos(f)) @ inner_weights, (m * np.sin(f)) @ inner_weights], axis=-1) * step / 2
    return np.concatenate([np.zeros((1, 2)), np.cumsum(share, axis=0)])


class Environment:
    """sky: radiance against the sine of elevation; sky_colour: what it is multiplied by, by colour."""

    def __init__(self, sky, sky_colour, panels):
        self.sky, self.sky_colour, self.panels = sky, np.array(sky_colour, float), panels
        self.running = sky_share(sky)
        self.sky_level = float(self.running[-1, 0])

    def level(self, x, y, z):
        """Light on a level face in the open, by colour."""
        out = np.zeros(np.broadcast(x, y).shape + (3,)) + self.sky_level * self.sky_colour
        for panel in self.panels:
            out += panel.level(x, y, z)[..., None] * panel.colour
        return out


class Fan:
    """Running integrals of the light that comes in across a gap, from places along it.  places: (n, 3); across: which way f is
    positive, level."""

    def __init__(self, environment, places, across, fineness=1.0):
        self.places = len(places)
        table = np.zeros((self.places, BINS + 1, 2, 3))
        table += environment.running[None, :, :, None] * environment.sky_colour
        for panel in environment.panels:
            table += self.seen(panel, places, np.array([*across, 0.0]), round(PANEL_POINTS * fineness ** 2))[..., None] * panel.colour
        self.table = table.reshape(-1, 6)

    def seen(self, panel, places, across, count):
        points = panel.points(count)
        r = points[None] - places[:, None]
        far = np.linalg.norm(r, axis=-1)
        side, up = r @ across, r[..., 2]
        in_plane = np.hypot(side, up)
        weight = np.abs(r @ panel.normal) / far ** 3 * (in_plane / far) * (panel.area / count) * (up > 0)
        at = (np.arctan2(side, up) / math.pi + 0.5) * BINS - 0.5  # every point is one bin wide
        low = np.clip(np.floor(at).astype(int), 0, BINS - 2)
        part = np.clip(at - low, 0, 1)
        flat = (low + BINS * np.arange(len(places))[:, None]).ravel()
        out = np.zeros((len(places), BINS + 1, 2))
        for k, share in enumerate((up / in_plane, side / in_plane)):
            for more, split in ((0, 1 - part), (1, part)):
                lot = np.bincount(flat + more, (weight * share * split).ravel(), minlength=BINS * len(places))
                out[:, 1:, k] += np.cumsum(lot.reshape(len(places), BINS), axis=1)
        exact = panel.level(*places.T)
        return out * (exact / out[:, -1, 0])[:, None, None]

    def running(self, place, f):
        """(..., 6): integrals of M cos f and M sin f, by colour, from the horizon to f.  place: number of the place, may be between two."""
        p = np.clip(place, 0, self.places - 1)
        i = np.minimum(p.astype(int), max(0, self.places - 2))
        x = np.clip((f / math.pi + 0.5) * BINS, 0, BINS)
        j = np.minimum(x.astype(int), BINS - 1)
        fp, fx = (p - i)[..., None], (x - j)[..., None]
        at = i * (BINS + 1) + j
        near = self.table[at] * (1 - fx) + self.table[at + 1] * fx
        if self.places == 1:
            return near
        at = at + BINS + 1
        return near * (1 - fp) + (self.table[at] * (1 - fx) + self.table[at + 1] * fx) * fp

    def face(self, place, low, high, normal):
        """Light on a face with its normal at the angle `normal` that sees the angles low to high."""
        both = self.running(place, np.maximum(low, high)) - self.running(place, low)
        return np.maximum(np.cos(normal)[..., None] * both[..., :3] + np.sin(normal)[..., None] * both[..., 3:], 0)


class LevelMap:
    """The open light on level faces at one height, known at points MAP_MM apart."""

    def __init__(self, environment, lo, hi, z):
        self.lo = np.array(lo, float)
        self.columns, self.rows = (int(v) + 2 for v in (np.array(hi) - self.lo) / MAP_MM)
        x, y = np.meshgrid(self.lo[0] + MAP_MM * np.arange(self.columns), self.lo[1] + MAP_MM * np.arange(self.rows))
        self.values = environment.level(x, y, z).reshape(-1, 3)

    def at(self, x, y):
        col, row = (np.clip((v - o) / MAP_MM, 0, n - 1.001) for v, o, n in ((x, self.lo[0], self.columns), (y, self.lo[1], self.rows)))
        c, r = col.astype(np.int64), row.astype(np.int64)
        fc, fr = (col - c)[..., None], (row - r)[..., None]
        at, v = r * self.columns + c, self.values
        return (v[at] * (1 - fc) + v[at + 1] * fc) * (1 - fr) + (v[at + self.columns] * (1 - fc) + v[at + self.columns + 1] * fc) * fr


# ---- the lights a recipe can name ---------------------------------------------------------------------------------

def window(spot, toward_deg):
    c, s = math.cos(math.radians(toward_deg)), math.sin(math.radians(toward_deg))
    return Panel(spot(1900, toward_deg, 1250), (-1300 * s, 1300 * c, 0), (0, 0, 1400), (0.92, 0.98, 1.08))


def lamp(middle, side_mm, colour):
    return Panel(middle, (side_mm, 0, 0), (0, side_mm, 0), colour)


def make(kind, toward_deg, table_middle, top_mm):
    """kind: window | lamp | two | overcast.  Rooms have an even sky (walls and ceiling) for the rest of the light."""
    mx, my = table_middle

    def spot(dist, toward, height):
        return (mx + dist * math.cos(math.radians(toward)), my + dist * math.sin(math.radians(toward)), top_mm + height)
    panels, share = {
        "window": lambda: ([window(spot, toward_deg)], 0.62),
        "lamp": lambda: ([lamp(spot(700, toward_deg, 1500), 260, (1.12, 0.98, 0.82))], 0.72),
        "two": lambda: ([lamp(spot(1000, toward_deg, 1400), 250, (1.05, 1.0, 0.9)),
                         lamp(spot(1200, toward_deg + 150, 1500), 250, (0.75, 0.72, 0.68))], 0.75),
        "overcast": lambda: ([], 0.0)}[kind]()
    bare = Environment(overcast if kind == "overcast" else even, (1.0, 1.0, 1.0), panels)
    if panels:
        level = sum(p.level(mx, my, top_mm) * p.colour.mean() for p in panels)
        for p in panels:
            p.colour = p.colour * share / level
    return Environment(bare.sky, np.full(3, (1 - share) / bare.sky_level), panels)
