"""Tables whose tops stand at different heights and slant: the sample generator (samples/make) held against plain geometry.

usage: test_table.py [CASE...]     ends with 77 when numpy or Pillow is missing
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
import recipe  # noqa: E402
import scene  # noqa: E402
import sight  # noqa: E402
import slot  # noqa: E402
import table  # noqa: E402
import tiles as shapes  # noqa: E402

HEIGHT_MM, SIDE_MM, ALBEDO = 45.0, 60.0, 0.5
EYE = (-210.0, 340.0, 945.0)


def straight(name, column, east=0.0, north=0.0, rise=0.0, rim=0.0):
    """A straight tile whose top slants."""
    edges = {s: shapes.Edge(SIDE_MM, 0, 0, 0, 0, 0, np.random.default_rng(1)) for s in "NESW"}
    out = shapes.Tile(name, column, 0, SIDE_MM, edges, dict.fromkeys("NESW", 0.0), rise)
    out.slope, out.rounds_mm = (east, north), dict.fromkeys("NESW", rim)
    return out


def overcast():
    out = light.Environment(light.overcast, (1, 1, 1), [])
    out.sky_colour = out.sky_colour / out.sky_level
    return out


def stage(first, second, gap, environment=None):
    """Two tiles side by side, the first's east side at x = 0."""
    first.pose, second.pose = [-SIDE_MM / 2, 0.0, 0.0], [SIDE_MM / 2 + gap, 0.0, 0.0]
    grey = np.full(3, ALBEDO)
    look = {"height_mm": HEIGHT_MM, "top": lambda t: grey, "foam": lambda t: grey, "ply": grey,
            "wood": floor.Wood(np.random.default_rng(1), grey, 0)}
    return scene.Scene(environment or overcast(), {"A1": first, "B1": second}, look, scene.Seen(EYE, HEIGHT_MM), [[-80, -40], [80, 40]], 1.0)


def drawn(place):
    """Where a place in space lies on the plane of the tops, seen from EYE."""
    share = (EYE[2] - HEIGHT_MM) / (EYE[2] - place[2])
    return [EYE[i] + share * (place[i] - EYE[i]) for i in (0, 1)]


class Slant(unittest.TestCase):
    def end_of_top(self, view, label, start, end):
        """Share of the way from start to end, on the plane of the tops, at which what is seen is no longer the top `label`."""
        low, high = 0.0, 1.0
        for _ in range(40):
            mid = (low + high) / 2
            x, y = (np.array([a + mid * (b - a)]) for a, b in zip(start, end))
            low, high = (mid, high) if view.look_label(x, y)[0] == label else (low, mid)
        return low

    def test_rims_lie_where_plain_geometry_has_them(self):
        """Both rims of a seam, near its ends and its middle, with tops at 0.3 and 0.2 degrees."""
        a, b = straight("A1", 0, math.radians(0.3), math.radians(-0.2), 0.4), straight("B1", 1, -0.002, 0.004, -0.3)
        view = scene.Patches(stage(a, b, 1.6), 0.3).view([(a, "E"), (b, "W")])
        for y in (-28.0, 0.0, 28.0):
            top_a = HEIGHT_MM + 0.4 + math.radians(0.3) * 30 + math.radians(-0.2) * y   # 30 mm east of the middle
            top_b = HEIGHT_MM - 0.3 - 0.002 * -30 + 0.004 * y
            # the camera stands in the west: it sees the first tile's rim as the top's end, and the second's
            for tile, x, z, inwards in ((0, 0.0, top_a, -1), (1, 1.6, top_b, 1)):
                rim, inside = drawn((x, y, z)), drawn((x + inwards * 3, y, z + inwards * 3 * (a, b)[tile].slope[0]))
                beyond = [2 * r - i for r, i in zip(rim, inside)]
                share = self.end_of_top(view, tile * 8 + sight.TOP, inside, beyond)
                self.assertAlmostEqual(share * 6, 3, delta=0.001, msg="tile %d, y %g" % (tile, y))

    def test_the_light_along_a_seam_whose_step_changes(self):
        """At each place as between level tops with the step there, whichever of the two stands higher."""
        gap = 1.2
        slanting = stage(straight("A1", 0, 0.0, 0.04), straight("B1", 1), gap).slots["A1", "E"]  # no tile slants so: a step of 1.1 mm
        for y in (-27.0, -10.0, 12.0, 27.0):
            level = stage(straight("A1", 0, rise=0.04 * y), straight("B1", 1), gap).slots["A1", "E"]
            depth = np.array([0.05, 0.4, 0.9, 2.0, 6.0])
            for side in ("left", "right"):
                got, want = (made.face_light(getattr(made, side), np.full(5, y), depth)[:, 0] for made in (slanting, level))
                np.testing.assert_allclose(got, want, rtol=0.02, atol=0.003)
            side = "left" if y < 0 else "right"
            lower = getattr(level, side)
            s = lower.rim_at(np.full(3, y)) - lower.sign * np.array([0.2, 0.6, 1.5])
            got, want = (made.top_change(getattr(made, side), np.full(3, y), s)[:, 0] for made in (slanting, level))
            np.testing.assert_allclose(got, want, atol=0.003)

    def test_shade_of_a_step_from_its_table(self):
        """What is looked up of it against what it is made of, between its places."""
        lamp = light.make("lamp", 180, (0, 0), HEIGHT_MM)  # beyond the higher tile
        made = stage(straight("A1", 0, 0.0, 0.01, 3.0), straight("B1", 1), 1.2, lamp)
        one = made.slots["A1", "E"]
        along, share = (v.ravel() for v in np.meshgrid(np.linspace(-28.7, 28.3, 37), np.linspace(0.003, 13.7, 171)))
        beside = scene.Beside(one, one.right, 1.0)
        m = share * beside.step(along)
        s = one.right.rim_at(along) + m
        exact = one.top_change(one.right, along, s)
        self.assertLess(exact.min(), -0.3)  # there is a shade
        # the lamp's share 0.7 sets in over 0.15 of the step: where that bends, between two places 0.01 apart, a quarter of their
        # distance times the slope is cut off
        for got in (beside.at(along, share), made.beside(made.tiles["B1"], s, along)):
            np.testing.assert_allclose(got, exact, atol=0.01 / 4 * 0.7 / 0.15)
            self.assertLess(float(np.sqrt(np.mean((got - exact) ** 2))), 0.0005)

    def test_a_card_lies_in_the_plane_of_its_top(self):
        """The middles of its printed sides, worked out in space, are half covered by the black."""
        tile = straight("A1", 0, 0.3, -0.2, 1.5)  # far steeper than any top, so that the third axis counts
        card = compose.Card("plain", 20.0, 0.0, 5.0, [4.0, -3.0, 25.0], tile, 0.2)
        normal = np.array([-0.3, 0.2, 1.0]) / math.sqrt(1.13)
        first = np.array([math.cos(math.radians(25)), math.sin(math.radians(25)), 0.0])
        first[2] = 0.3 * first[0] - 0.2 * first[1]
        first /= np.linalg.norm(first)
        middle = np.array([4.0, -3.0, HEIGHT_MM + 1.5 + 0.3 * 4.0 + 0.2 * 3.0 + 0.2])
        for axis in (first, -first, np.cross(normal, first), -np.cross(normal, first)):
            x, y = drawn(middle + 10.0 * axis)
            albedo = card.paint(EYE, np.array([x]), np.array([y]), HEIGHT_MM, 0.1)[1][0, 0]
            self.assertAlmostEqual(albedo, (card.WHITE[0] + card.BLACK[0]) / 2, delta=0.001)


# Two tiles, one of them 6 mm higher, with a coarse grain; no lens, no noise.
GRAINY = {"seed": 9, "width": 256, "height": 192, "f": 420.0, "dist": [0.0] * 5, "columns": 2, "rows": 1, "tile": 60.0, "heights": {"B1": 6.0},
          "askew": [0.1, 0.3], "rim": [0.1, 0.6], "rim_by": "edge", "gaps": [0.5, 1.0], "touching": 0, "chips": 0.0, "light": "overcast",
          "squares": "each", "side": 14.0, "inner": 8.0, "margin": 2.0, "texture": "brushed", "texture_amount": 0.1, "colours": ["sand"],
          "fill": 0.8, "halfway": True, "pencil": 2}
WEST, EAST = {"tilt": 16, "tilt_toward": 180, "rotate": 2}, {"tilt": 14, "tilt_toward": 10, "rotate": -3, "shot": 1}


class Views(unittest.TestCase):
    def view(self, changes):
        opt = recipe.complete({**GRAINY, **changes})
        tiles = table.build_tiles(opt)
        truth = table.make_truth(opt, tiles)
        return (*table.look(opt, tiles, truth, lambda text: None)[:1], truth)

    def seen(self, picture, x, y):
        """Light at places of B1's top as it came to lie on the sensor."""
        tile = picture.tiles["B1"]
        z = picture.stage.height + tile.rise_at(x, y)
        px = picture.camera.project(np.column_stack([x, y, z]))
        at = (px + 0.5) * compose.SUB - 0.5
        return compose.bilinear(self.exposed(picture), at[:, 0], at[:, 1])[:, 1]

    def exposed(self, picture):
        if not hasattr(picture, "exposed"):
            picture.exposed = compose.expose(picture)
        return picture.exposed

    def test_one_table_from_two_places(self):
        (west, truth), (east, other) = self.view(WEST), self.view(EAST)
        self.assertGreater(math.dist(west.camera.at, east.camera.at), 0.45 * west.camera.at[2])
        for seam in [*truth["seams"].values(), *other["seams"].values()]:
            del seam["start_px"]  # the only figure of the table that is the photo's
        for key in set(truth) - {"camera", "marks"}:
            self.assertEqual(truth[key], other[key], key)
        for one, two in zip(truth["marks"], other["marks"]):  # drawn to the pixel of each photo
            np.testing.assert_allclose(one["mm"], two["mm"], atol=0.15)
        x, y = (v.ravel() for v in np.meshgrid(np.linspace(45, 78, 40), np.linspace(-22, -12, 20)))  # clear of the card
        same = np.corrcoef(self.seen(west, x, y), self.seen(east, x, y))[0, 1]
        print("grain of a high top from two places: correlation %.3f" % same)
        self.assertGreater(same, 0.9)

    def test_one_card_lies_on_one_tile_where_tops_are_not_level(self):
        def off_seam(**changes):
            opt = recipe.complete({"columns": 2, "rows": 2, "tile": 200.0, "squares": 1, "side": 60.0, "margin": 10.0, **changes})
            (x, y, _), = table.card_places(np.random.default_rng(4), opt)
            return min(abs(x - 100), abs(y + 100))
        self.assertLess(off_seam(), 40)  # near the middle, over the seams
        for changes in ({"heights": {"A1": 2.0}}, {"rise": 1.0}, {"askew": [0.1, 0.2]}):
            self.assertGreater(off_seam(**changes), 40 * 1.2)

    def test_truth(self):
        _, truth = self.view(WEST)
        self.assertEqual(sorted(truth["tilt"]), ["A1", "B1"])
        for slope in truth["tilt"].values():
            self.assertTrue(0.1 <= math.degrees(math.atan(math.hypot(*slope))) <= 0.3)
        self.assertEqual(truth["heights"], {"A1": 45.0, "B1": 51.0})
        self.assertEqual(len(truth["reference"]["at"]), 2)
        self.assertEqual(len({r for rims in truth["rims"].values() for r in rims.values()}), 8)
        self.assertNotIn("rim", truth)


if __name__ == "__main__":
    unittest.main()
