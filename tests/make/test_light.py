"""The light of the sample generator (samples/make), held against formulas, plain geometry and a brute-force simulation.

usage: test_light.py [CASE...]     ends with 77 when numpy or Pillow is missing
"""
import math
import os
import sys
import unittest

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "samples", "make"))
try:
    import numpy as np
    import PIL  # noqa: F401
except ImportError as missing:
    print("the generator's tests need Debian's python3-numpy and python3-pil: %s" % missing)
    sys.exit(77)
import floor  # noqa: E402
import light  # noqa: E402
import photons  # noqa: E402
import recipe  # noqa: E402
import scene  # noqa: E402
import slot  # noqa: E402
import table  # noqa: E402
import tiles as shapes  # noqa: E402

HEIGHT_MM, SIDE_MM = 45.0, 60.0


def tile(name, column, lean_deg=0.0, rise_mm=0.0, round_mm=0.0):
    """A straight tile."""
    edges = {s: shapes.Edge(SIDE_MM, 0, 0, 0, 0, 0, np.random.default_rng(1)) for s in "NESW"}
    out = shapes.Tile(name, column, 0, SIDE_MM, edges, {s: lean_deg for s in "NESW"}, rise_mm)
    out.round_mm = round_mm
    return out


def pair(gap_mm, first, second):
    """Two tiles side by side, the first's east side at x = 0."""
    first.pose, second.pose = [-SIDE_MM / 2, 0.0, 0.0], [SIDE_MM / 2 + gap_mm, 0.0, 0.0]
    return first, second


def sky(kind):
    out = light.Environment(kind, (1, 1, 1), [])
    out.sky_colour = out.sky_colour / out.sky_level
    return out


def seam(first, second, environment, albedo, fineness=1.0):
    """The cross-sections between two tiles; albedo: of tops and sides, and of the floor."""
    bodies = [slot.Body(t, s, HEIGHT_MM, [np.full(3, albedo)] * 3) for t, s in ((first, "E"), (second, "W")) if t]
    along = np.array([-SIDE_MM / 2, 0.0, SIDE_MM / 2])
    fan = light.Fan(environment, np.column_stack([0 * along, along, 0 * along + HEIGHT_MM]), (1.0, 0.0))
    left, right = bodies if len(bodies) == 2 else (bodies[0], None)
    return slot.Slot(left, right, fan, (along[0], along[-1]), HEIGHT_MM, np.full(3, albedo), fineness)


def on_side(made, body, depths):
    d = np.array(depths, float)
    return made.face_light(body, np.zeros(d.shape), d)[:, 0]


class Formulas(unittest.TestCase):
    def test_even_sky_in_a_deep_black_slot(self):
        for gap in (0.3, 1.7, 4.0):
            made = seam(*pair(gap, tile("A1", 0), tile("B1", 1)), sky(light.even), 0.0)
            for body in (made.left, made.right):
                z = gap * np.array([0.02, 0.1, 0.3, 1.0, 2.0, 4.0, 8.0])
                np.testing.assert_allclose(on_side(made, body, z), (1 - z / np.hypot(z, gap)) / 2, rtol=0.01)

    def test_an_upright_face_in_the_open(self):
        """Against a sum over the hemisphere; the overcast sky gives an upright face 0.396 of what a level one gets."""
        g, turn = np.meshgrid((np.arange(400) + 0.5) / 400 * math.pi / 2, (np.arange(400) + 0.5) / 400 * 2 * math.pi)
        for kind, known in ((light.even, 0.5), (light.overcast, 0.396)):
            radiance = np.array([kind(v) for v in np.sin(g).ravel()]).reshape(g.shape) * np.cos(g)
            summed = (radiance * np.cos(g) * np.maximum(np.cos(turn), 0)).sum() / (radiance * np.sin(g)).sum()
            self.assertAlmostEqual(summed, known, delta=0.0005)
            made = seam(tile("A1", 0), None, sky(kind), 0.0)
            np.testing.assert_allclose(on_side(made, made.left, [1.0, 20.0]), summed, rtol=0.002)

    def test_a_lamp_on_a_level_face(self):
        """Lambert's sum and the fan against many small pieces of the lamp."""
        panel = light.Panel((700, -300, 1545), (260, 0, 0), (0, 260, 0), (1, 1, 1))
        k = (np.arange(40) + 0.5) / 40 - 0.5
        s, t = (v.ravel() for v in np.meshgrid(k, k))
        r = panel.middle + s[:, None] * panel.u + t[:, None] * panel.v - [10, 20, 45]
        far = np.linalg.norm(r, axis=1)
        summed = (r[:, 2] / far * r[:, 2] / far ** 3).sum() * 260 ** 2 / 1600
        self.assertAlmostEqual(float(panel.level(10, 20, 45)) / summed, 1, delta=1e-4)
        fan = light.Fan(light.Environment(lambda sine: 0.0, (0, 0, 0), [panel]), np.array([[10, 20, 45.0]]), (1.0, 0.0))
        upright = np.maximum(r[:, 0], 0) / far * r[:, 2] / far ** 3
        got = fan.face(np.zeros(1), np.array([0.0]), np.array([math.pi / 2]), np.array([math.pi / 2]))[0, 0]
        self.assertAlmostEqual(got / (upright.sum() * 260 ** 2 / 1600), 1, delta=2e-3)


class Photons(unittest.TestCase):
    """Grey slots against photons followed one by one (photons.py, which shares nothing with the generator)."""

    def hold(self, first, second, gap, albedo, kind, places):
        """places: (which side, depth under its own top, or "top": distance from the rim)."""
        a, b = pair(gap, first, second)
        made = seam(a, b, sky(kind), albedo)
        world = photons.Slot(gap, HEIGHT_MM, albedo, [dict(rise=t.rise_mm, lean_deg=t.lean_deg["E"], rim=t.round_mm) for t in (a, b)])
        rng = np.random.default_rng(3)
        for side, at in places:
            true = world.light(rng, kind is light.overcast, side, at)
            if side == "top":
                lower = made.left if a.rise_mm < b.rise_mm else made.right
                s = np.array([lower.rim_at(np.zeros(1))[0] - lower.sign * at])
                said = 1 + made.top_change(lower, np.zeros(1), s)[0, 0]
            else:
                said = on_side(made, (made.left, made.right)[side], [at])[0]
            self.assertLess(abs(said / true - 1), 0.03, "%s at %.2f: %.4f, photons %.4f" % (side, at, said, true))


    def test_straight(self):
        self.hold(tile("A1", 0), tile("B1", 1), 1.5, 0.7, light.even, [(0, 0.2), (0, 0.8), (1, 2.0), (0, 4.0), (1, 7.0)])

    def test_straight_under_an_overcast_sky(self):
        self.hold(tile("A1", 0), tile("B1", 1), 3.0, 0.2, light.overcast, [(0, 0.3), (0, 1.5), (1, 4.0), (0, 8.0)])

    def test_leaning(self):
        self.hold(tile("A1", 0, 1.0), tile("B1", 1, 0.6), 2.0, 0.6, light.even, [(0, 0.3), (0, 1.5), (1, 3.0), (0, 6.0)])

    def test_round_rims(self):
        self.hold(tile("A1", 0, round_mm=0.8), tile("B1", 1, round_mm=0.4), 1.0, 0.5, light.even,
                  [(0, 0.1), (0, 0.5), (1, 0.3), (0, 1.5), (1, 3.0)])

    def test_step(self):
        self.hold(tile("A1", 0), tile("B1", 1, rise_mm=3.0), 1.0, 0.5, light.even,
                  [(1, 0.5), (1, 2.5), (1, 3.6), (0, 0.5), (0, 1.5), ("top", 0.7), ("top", 3.0)])


def place_of(x, values, level):
    """Where a rising row of values passes a level."""
    return float(np.interp(level, values, x))


class LampsEdge(unittest.TestCase):
    """A lamp whose middle is at (-700, 1400) over the left rim at s = 0, seen across the seam, and what hides half of it: the line
    from its middle over the rim.  Its two ends give the penumbra."""
    FAR, HIGH, WIDE = 700.0, 1400.0, 250.0

    def made(self, gap, first, second):
        panel = light.Panel((-self.FAR, 0, HEIGHT_MM + self.HIGH), (self.WIDE, 0, 0), (0, self.WIDE, 0), (1, 1, 1))
        return seam(*pair(gap, first, second), light.Environment(lambda sine: 0.0, (0, 0, 0), [panel]), 0.0)

    def edge(self, at, lit):
        """Places of half light and where the straight middle of the rise begins and ends."""
        lit = lit / lit.max()
        low, half, high = (place_of(at, lit, v) for v in (0.1, 0.5, 0.9))
        return half, (high - low) / 0.8

    def test_shade_of_a_step(self):
        """On the right, lower top: from the rim of a tile 10 mm higher, its shade ends at m beyond it."""
        made = self.made(1.0, tile("A1", 0, rise_mm=10.0), tile("B1", 1))
        m = np.arange(0.5, 12, 0.004)
        open_light = made.fan.face(np.ones(m.shape), np.full(m.shape, -math.pi / 2), np.full(m.shape, math.pi / 2), np.zeros(m.shape))
        half, width = self.edge(m, (open_light + made.top_change(made.right, np.zeros(m.shape), m + 1.0))[:, 0])
        ends = [10 * far / (self.HIGH - 10) - 1 for far in (self.FAR - self.WIDE / 2, self.FAR, self.FAR + self.WIDE / 2)]
        self.assertAlmostEqual(half, ends[1], delta=0.03)
        self.assertAlmostEqual(width, ends[2] - ends[0], delta=0.04)

    def test_lit_depth_of_the_far_wall(self):
        for gap in (0.5, 3.0):
            made = self.made(gap, tile("A1", 0), tile("B1", 1))
            z = np.arange(0.01, 4 * gap, 0.001 * gap)
            half, width = self.edge(z[::-1], made.face_light(made.right, np.zeros(z.shape), z)[::-1, 0])
            near, middle, far = (gap * self.HIGH / f for f in (self.FAR + self.WIDE / 2, self.FAR, self.FAR - self.WIDE / 2))
            self.assertAlmostEqual(half, middle, delta=0.01 * gap)
            self.assertAlmostEqual(-width, far - near, delta=0.03 * gap)


class Eye:
    """Looks straight down from so far away that all sight lines are parallel, `slant` out of the vertical to the east."""

    def __init__(self, slant):
        self.at = np.array([1e7 * slant, 0.0, 1e7])


class Picture(unittest.TestCase):
    def test_nothing_periodic_along_a_straight_seam(self):
        for rim, slant in ((0.0, 0.2), (0.5, 0.0), (0.0, -0.35)):
            a, b = pair(1.3, tile("A1", 0, 0.4, round_mm=rim), tile("B1", 1, round_mm=rim))
            for t in (a, b):
                t.pose[2] = 0.004  # the rims run across the samples
                t.pose[1] = t.pose[0] * 0.004
            wood = floor.Wood(np.random.default_rng(1), (0, 0, 0), 0)
            look = {"height_mm": HEIGHT_MM, "top": lambda t: (0.5, 0.4, 0.3), "foam": lambda t: (0.5, 0.4, 0.3), "ply": (0.4, 0.3, 0.2),
                    "wood": wood}
            tiles = {"A1": a, "B1": b}
            seen = scene.Seen(Eye(slant).at, HEIGHT_MM)
            stage = scene.Scene(sky(light.overcast), tiles, look, seen, [[-80, -40], [80, 40]], 1.0)
            patch = scene.Patches(stage, 0.33).seam(a, b, "E")
            patch.render()
            rows = patch.light[20:-20]  # away from the seam's ends
            mean = rows.mean(axis=0)
            self.assertLess(float(mean.min()), 0.3 * float(mean.max()))  # the gap is in the patch
            self.assertLess(float(np.abs(rows / mean - 1).max()), 0.001)
            power = np.abs(np.fft.rfft((rows - mean) / mean.max(), axis=0)[1:]) / len(rows)
            self.assertLess(float(power.max()), 0.0002)

    def photo(self, **changes):
        opt = recipe.complete({**SMALL, **changes})
        tiles = table.build_tiles(opt)
        truth = table.make_truth(opt, tiles)
        return np.asarray(table.photograph(opt, tiles, truth, lambda text: None), float)

    def test_twice_the_fineness_changes_less_than_the_noise(self):
        one, other_noise, fine = self.photo(), self.photo(shot=1), self.photo(fineness=2.0)
        noise = (other_noise - one) / math.sqrt(2)
        change = fine - one
        self.assertGreater(noise.std(), 0.5)
        self.assertLess(change.std(), noise.std())
        blocks = change[:change.shape[0] // 8 * 8, :change.shape[1] // 8 * 8].reshape(change.shape[0] // 8, 8, -1, 8, 3).mean(axis=(1, 3))
        print("fineness: change %.3f, noise %.3f, largest block mean %.3f" % (change.std(), noise.std(), np.abs(blocks).max()))
        self.assertLess(float(np.abs(blocks).max()), noise.std())


# Two small tiles of unlike height, with rounded rims, a chip or two, in the light of a lamp.
SMALL = {"seed": 5, "width": 300, "height": 200, "f": 300.0, "dist": [0.0] * 5, "columns": 2, "rows": 1, "tile": 40.0, "rim": {"A1": 0.3},
         "heights": {"B1": 1.0}, "gaps": [0.5, 1.0], "touching": 0, "chips": 1.0, "light": "lamp", "squares": 1, "side": 14.0, "inner": 8.0,
         "margin": 2.0, "sharpen": 0.0, "mosaic": "none", "texture_amount": 0.0, "colours": ["sand"]}


if __name__ == "__main__":
    unittest.main()
