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
import compose  # noqa: E402
import floor  # noqa: E402
import light  # noqa: E402
import photons  # noqa: E402
import recipe  # noqa: E402
import scene  # noqa: E402
import sensor  # noqa: E402
import slot  # noqa: E402
import table  # noqa: E402
import tiles as shapes  # noqa: E402

HEIGHT_MM, SIDE_MM = 45.0, 60.0


def tile(name, column, lean_deg=0.0, rise_mm=0.0, round_mm=0.0):
    """A straight tile."""
    edges = {s: shapes.Edge(SIDE_MM, 0, 0, 0, 0, 0, np.random.default_rng(1)) for s in "NESW"}
    out = shapes.Tile(name, column, 0, SIDE_MM, edges, {s: lean_deg for s in "NESW"}, rise_mm)
    out.rounds_mm = dict.fromkeys("NESW", round_mm)
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
    left, right = bodies if len(bodies) == 2 else (bodies[0], None)
    stage = scene.Scene.__new__(scene.Scene)
    stage.environment, stage.height, stage.fineness = environment, HEIGHT_MM, fineness
    return slot.Slot(left, right, *stage.fan(left, right), HEIGHT_MM, np.full(3, albedo), fineness)


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
        world = photons.Slot(gap, HEIGHT_MM, albedo, [dict(rise=t.rise_mm, lean_deg=t.lean_deg["E"], rim=t.rounds_mm["E"]) for t in (a, b)])
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


class LampsEdge(unittest.TestCase):
    """A lamp whose middle is 700 mm to the left of the left rim, at s = 0, and 1400 mm up: how the shade of that rim falls."""
    FAR, HIGH, WIDE = 700.0, 1400.0, 250.0

    def made(self, gap, first, second):
        panel = light.Panel((-self.FAR, 0, HEIGHT_MM + self.HIGH), (self.WIDE, 0, 0), (0, self.WIDE, 0), (1, 1, 1))
        return seam(*pair(gap, first, second), light.Environment(lambda sine: 0.0, (0, 0, 0), [panel]), 0.0)

    def plain(self, s, z, upright, rim_z):
        """Light of the lamp's small pieces that the rim, at s = 0, does not hide from a level or an upright place; and of all."""
        k = ((np.arange(500) + 0.5) / 500 - 0.5) * self.WIDE
        ls, ly = np.meshgrid(k - self.FAR, k[::10])
        down, along = HEIGHT_MM + self.HIGH - z, s - ls
        bright = (along if upright else down) * down / (along ** 2 + ly ** 2 + down ** 2) ** 2
        return (bright * (ls + along * (rim_z - HEIGHT_MM - self.HIGH) / -down > 0)).sum() / bright.sum()

    def edge(self, at, share):
        """Where the share of the open light passes a half, and how wide the rise is."""
        low, half, high = (float(np.interp(v, share, at)) for v in (0.1, 0.5, 0.9))
        return half, abs(high - low) / 0.8

    def compare(self, at, said, true, off_mm):
        half, width = self.edge(at, said)
        true_half, true_width = self.edge(at, true)
        self.assertAlmostEqual(half, true_half, delta=off_mm)
        self.assertAlmostEqual(width, true_width, delta=0.02 * true_width)

    def test_shade_of_a_step(self):
        """On the right, lower top, m beyond its rim at s = 1."""
        made = self.made(1.0, tile("A1", 0, rise_mm=10.0), tile("B1", 1))
        m, zero = np.arange(2.5, 6, 0.05), np.zeros(70)
        whole = made.fan.running(zero, zero + math.pi / 2)[:, 0]
        said = 1 + made.top_change(made.right, zero, m + 1.0)[:, 0] / whole
        self.compare(m, said, [self.plain(1 + v, HEIGHT_MM, False, HEIGHT_MM + 10) for v in m], 0.02)
        # the lamp's two ends over the rim
        ends = [10 * far / (self.HIGH - 10) - 1 for far in (self.FAR - self.WIDE / 2, self.FAR + self.WIDE / 2)]
        self.assertAlmostEqual(float(said[m < ends[0] - 0.05].max()), 0, delta=0.005)
        self.assertAlmostEqual(float(said[m > ends[1] + 0.05].min()), 1, delta=0.005)

    def test_lit_depth_of_the_far_wall(self):
        for gap in (0.5, 3.0):
            made = self.made(gap, tile("A1", 0), tile("B1", 1))
            z = gap * np.arange(3.0, 1.2, -0.02)
            said = made.face_light(made.right, 0 * z, z)[:, 0]
            whole = made.face_light(made.right, np.zeros(1), np.array([1e-6]))[0, 0]
            self.compare(z, said / whole, [self.plain(gap, HEIGHT_MM - v, True, HEIGHT_MM) for v in z], 0.01 * gap)


class Eye:
    """Looks straight down from so far away that all sight lines are parallel, `slant` out of the vertical to the east."""

    def __init__(self, slant):
        self.at = np.array([1e7 * slant, 0.0, 1e7])


class Picture(unittest.TestCase):
    def seam_patch(self, gap, slant, side, rim=0.0, turn=0.0):
        """A patch along the seam of two straight tiles, turned so that its rims run across the samples; side: albedo."""
        a, b = pair(gap, tile("A1", 0, 0.4, round_mm=rim), tile("B1", 1, round_mm=rim))
        for t in (a, b):
            t.pose[1:] = [t.pose[0] * turn, turn]
        look = {"height_mm": HEIGHT_MM, "top": lambda t: (0.5, 0.4, 0.3), "foam": lambda t: side, "ply": side,
                "wood": floor.Wood(np.random.default_rng(1), (0, 0, 0), 0)}
        seen = scene.Seen(Eye(slant).at, HEIGHT_MM)
        stage = scene.Scene(sky(light.overcast), {"A1": a, "B1": b}, look, seen, [[-80, -40], [80, 40]], 1.0)
        patch = scene.Patches(stage, 0.33).seam(a, b, "E")
        patch.render()
        return patch, patch.light[20:-20].astype(float)  # away from the seam's ends

    def test_nothing_periodic_along_a_straight_seam(self):
        for rim, slant in ((0.0, 0.2), (0.5, 0.0), (0.0, -0.35)):
            rows = self.seam_patch(1.3, slant, (0.5, 0.4, 0.3), rim, 0.004)[1]
            mean = rows.mean(axis=0)
            self.assertLess(float(mean.min()), 0.3 * float(mean.max()))  # the gap is in the patch
            t = np.linspace(-1, 1, len(rows))[:, None, None]  # the patch may run off the rims' direction by a hair
            rest = rows - mean - t * (rows * t).sum(axis=0) / (t * t).sum()
            self.assertLess(float(np.abs(rest / np.maximum(mean, 0.01 * mean.max())).max()), 0.001)
            power = np.abs(np.fft.rfft(rest / mean.max(), axis=0)[1:]) / len(rows)
            self.assertLess(float(power.max()), 0.0002)

    def test_rims_lie_where_they_lie(self):
        """With black sides the light that is missing across a seam is its gap, however narrow and wherever samples fall."""
        for gap in (0.01, 0.1, 0.37, 1.3):
            patch, rows = self.seam_patch(gap, 0.3, (0, 0, 0))
            missing = (1 - rows / rows[:, :1]).sum(axis=1) * patch.a[0]
            np.testing.assert_allclose(missing, gap, atol=0.0005)

    def light_on_sensor(self, **changes):
        opt = recipe.complete({**SMALL, **changes})
        tiles = table.build_tiles(opt)
        picture, develop = table.look(opt, tiles, table.make_truth(opt, tiles), lambda text: None)
        return compose.expose(picture), develop

    def test_twice_the_fineness_changes_less_than_the_noise(self):
        def photo(light_, develop, seed):
            return np.asarray(sensor.develop(np.random.default_rng(seed), light_, develop), float)
        plain, fine = self.light_on_sensor(), self.light_on_sensor(fineness=2.0)
        noise = (photo(*plain, 1) - photo(*plain, 2)) / math.sqrt(2)
        change = photo(*fine, 1) - photo(*plain, 1)
        rows, columns = (n // 8 for n in change.shape[:2])
        block = np.abs(change[:8 * rows, :8 * columns].reshape(rows, 8, columns, 8, 3).mean(axis=(1, 3))).max()
        print("twice as fine: change %.3f, noise %.3f; largest mean of a block %.3f levels" % (change.std(), noise.std(), block))
        self.assertLess(change.std(), 0.5 * noise.std())
        self.assertLess(block, noise.std())
        # light across the seam, away from its ends, in mm of a bright top: what a gap is measured by
        a, b = (p[0][60:130, 100:156].astype(float) for p in (plain, fine))
        self.assertLess(a.min(), 0.1 * a.max())  # the seam is there
        moved = np.abs((b - a).sum(axis=1)).max() / a.max() * MM_A_SAMPLE
        print("light across the seam changes by up to %.4f mm" % moved)
        self.assertLess(moved, 0.002)


MM_A_SAMPLE = 0.24  # of SMALL's light on the sensor, half a pixel
# Two small tiles of unlike height, with rounded rims, a chip or two, in the light of a lamp.
SMALL = {"seed": 5, "width": 128, "height": 96, "f": 220.0, "dist": [0.0] * 5, "columns": 2, "rows": 1, "tile": 25.0, "rim": {"A1": 0.3},
         "heights": {"B1": 1.0}, "gaps": [0.5, 1.0], "touching": 0, "chips": 0.5, "light": "lamp", "squares": 1, "side": 10.0, "inner": 6.0,
         "margin": 1.0, "sharpen": 0.0, "mosaic": "none", "texture_amount": 0.0, "colours": ["sand"]}


class Rims(unittest.TestCase):
    def test_recipe_and_truth(self):
        def truth(**changes):
            opt = recipe.complete({**SMALL, "rim": 0.0, **changes})
            return table.make_truth(opt, table.build_tiles(opt))
        sharp, one, named, drawn = truth(), truth(rim=0.4), truth(rim={"B1": 0.6}), truth(rim=[0.1, 0.8])
        self.assertNotIn("rim", sharp)
        self.assertEqual(one["rim"], {"A1": 0.4, "B1": 0.4})
        self.assertEqual(named["rim"], {"A1": 0.0, "B1": 0.6})
        self.assertTrue(all(0.1 <= r <= 0.8 for r in drawn["rim"].values()) and len(set(drawn["rim"].values())) == 2)
        for other in (one, named, drawn):  # the same tiles, laid alike
            self.assertEqual((other["tiles"], other["seams"]), (sharp["tiles"], sharp["seams"]))
        with self.assertRaises(SystemExit):
            truth(rim={"C9": 0.6})

    def test_sides_begin_below_the_rounding(self):
        a, b = pair(1.0, tile("A1", 0, 1.0, round_mm=0.8), tile("B1", 1, 2.0, round_mm=0.3))
        made = seam(a, b, sky(light.even), 0.5)
        ends = [float(body.place(np.zeros(1), np.array([body.round]))[0]) for body in (made.left, made.right)]
        np.testing.assert_allclose(ends, [0.0, 1.0], atol=1e-9)
        np.testing.assert_allclose(made.left.place(np.zeros(1), np.zeros(1)), -0.8, atol=1e-9)


if __name__ == "__main__":
    unittest.main()
