"""A gap between two tiles and the light in it, by brute force: photons are followed from a place backwards until they are absorbed
or come from the sky.  Independent of samples/make: nothing is shared but the shapes' description.

Axes: s across the gap, y along it (endless), z up from the table-top.
"""
import math

import numpy as np

FIRST = 10000    # photons for a first guess of a place's light
EVENTS = 14000   # then so many come from the sky: 0.85 %
WIDE = 60.0      # tops beside a step reach so many times its height out


class Line:
    """From p to q, open space on the left hand."""

    def __init__(self, p, q):
        self.p, self.q = np.array(p, float), np.array(q, float)
        step = self.q - self.p
        self.length = math.hypot(*step)
        self.n = np.array([-step[1], step[0]]) / self.length

    def meet(self, at, way):
        """(how far along the way, how far along the line)."""
        with np.errstate(divide="ignore", invalid="ignore"):
            towards = way @ self.n
            t = ((self.p - at) @ self.n) / towards
            u = (at + t[:, None] * way - self.p) @ (self.q - self.p) / self.length
        return np.where((towards < 0) & (t > 1e-9) & (u >= 0) & (u <= self.length), t, np.inf), u

    def normal(self, u):
        return np.broadcast_to(self.n, (len(u), 2))


class Arc:
    """A quarter circle bulging upwards and to one side (out: +1 or -1); u counts from its top."""

    def __init__(self, centre, radius, out):
        self.c, self.r, self.out = np.array(centre, float), radius, out

    def meet(self, at, way):
        off = at - self.c
        a, b, c = (way ** 2).sum(axis=1), (off * way).sum(axis=1), (off ** 2).sum(axis=1) - self.r ** 2
        root = b * b - a * c
        with np.errstate(invalid="ignore"):
            t = (-b - np.sqrt(root)) / a
            hit = off + t[:, None] * way
            good = (root > 0) & (t > 1e-9) & (hit[:, 1] >= 0) & (hit[:, 0] * self.out >= 0)
            angle = np.arctan2(hit[:, 0] * self.out, hit[:, 1])
        return np.where(good, t, np.inf), angle * self.r

    def normal(self, u):
        return np.column_stack([np.sin(u / self.r) * self.out, np.cos(u / self.r)])


def flying(rng, normal):
    """3-D directions spread by the cosine about normals in the plane; returns their parts in the plane (not unit vectors)."""
    q, turn = rng.random(len(normal)), rng.random(len(normal)) * 2 * math.pi
    up, side = np.sqrt(1 - q), np.sqrt(q) * np.cos(turn)
    return up[:, None] * normal + side[:, None] * np.column_stack([normal[:, 1], -normal[:, 0]])


class Slot:
    """tiles: the left and the right one: rise, lean_deg, rim."""

    def __init__(self, gap, height, albedo, tiles):
        self.gap, self.albedo = gap, albedo
        self.tops = [height + t["rise"] for t in tiles]
        self.step = abs(self.tops[0] - self.tops[1])
        self.tiles, self.parts = tiles, []
        feet = []
        for n, (tile, top, rim) in enumerate(zip(tiles, self.tops, (0.0, gap))):
            out, r = (1, tile["rim"]) if n == 0 else (-1, tile["rim"])
            foot = rim + out * (top - r) * math.tan(math.radians(tile["lean_deg"]))
            feet.append(foot)
            ends = [(rim, top - r), (foot, 0.0)]
            self.parts.append(Line(*(ends if n == 0 else ends[::-1])))
            if r:
                self.parts.append(Arc((rim - out * r, top - r), r, out))
            far = rim - out * (r + max(WIDE * self.step, 1.0))
            self.parts.append(Line(*(((far, top), (rim - out * r, top)) if n == 0 else ((rim - out * r, top), (far, top)))))
        self.parts.append(Line((feet[0], 0.0), (feet[1], 0.0)))

    def place(self, side, at):
        """Where a place is, and its normal.  side: 0 or 1 and how deep under its own top, or "top" and how far from the lower rim."""
        n = side
        if side == "top":
            n = 0 if self.tops[0] < self.tops[1] else 1
        out, rim, top, r = (1, -1)[n], (0.0, self.gap)[n], self.tops[n], self.tiles[n]["rim"]
        if side == "top":
            return np.array([rim - out * at, top]), np.array([0.0, 1.0])
        if at < r:
            turn = math.acos(1 - at / r)
            normal = np.array([out * math.sin(turn), math.cos(turn)])
            return np.array([rim - out * r, top - r]) + r * normal, normal
        lean = math.radians(self.tiles[n]["lean_deg"])
        return np.array([rim + out * (at - r) * math.tan(lean), top - at]), np.array([out * math.cos(lean), math.sin(lean)])

    def nearest(self, at, way):
        """Which part a photon meets first (-1: none), how far on, and where on the part."""
        best, which, place = np.full(len(at), np.inf), np.full(len(at), -1), np.zeros(len(at))
        for n, part in enumerate(self.parts):
            t, u = part.meet(at, way)
            closer = t < best
            best, which, place = np.where(closer, t, best), np.where(closer, n, which), np.where(closer, u, place)
        return best, which, place

    def follow(self, rng, overcast, where, normal, count):
        """Mean light of `count` photons, 1 being what a level face in the open gets."""
        at = np.tile(where + 1e-7 * normal, (count, 1))
        way, total = flying(rng, np.tile(normal, (count, 1))), 0.0
        while len(at):
            t, which, place = self.nearest(at, way)
            sky = way[(which < 0) & (way[:, 1] > 0), 1]
            total += ((1 + 2 * sky) / 3 * 9 / 7).sum() if overcast else len(sky)
            go = np.flatnonzero((which >= 0) & (rng.random(len(at)) < self.albedo))
            at, normal = at[go] + t[go, None] * way[go], np.zeros((len(go), 2))
            for n, part in enumerate(self.parts):
                m = which[go] == n
                normal[m] = part.normal(place[go][m])
            at, way = at + 1e-9 * normal, flying(rng, normal)
        return total / count

    def light(self, rng, overcast, side, at):
        where, normal = self.place(side, at)
        first = self.follow(rng, overcast, where, normal, FIRST)
        return self.follow(rng, overcast, where, normal, round(EVENTS / max(first, 0.01)))
