"""Plans carried out and tiles pushed by the sample generator (samples/make), held against closed forms, the outlines themselves and
moves at random.

usage: test_push.py [CASE...]     ends with 77 when numpy or Pillow is missing
"""
import itertools
import json
import math
import os
import sys
import unittest

sys.dont_write_bytecode = True
SAMPLES = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "samples")
sys.path.insert(0, os.path.join(SAMPLES, "make"))
try:
    import numpy as np
    import PIL  # noqa: F401
except ImportError as missing:
    print("the generator's tests need Debian's python3-numpy and python3-pil: %s" % missing)
    sys.exit(77)
import carry  # noqa: E402
import programme  # noqa: E402
import push  # noqa: E402
import recipe  # noqa: E402
import table  # noqa: E402
import tiles as shapes  # noqa: E402

SIDE_MM, HEIGHT_MM = 200.0, 45.0


def tile(name, column, row, bow=None, slope=None, lean=None):
    """A straight square but for what is said by side."""
    def of(given, side):
        return (given or {}).get(side, 0.0)
    edges = {s: shapes.Edge(SIDE_MM, of(slope, s), 0, of(bow, s), 0, 0, np.random.default_rng(1)) for s in "NESW"}
    return shapes.Tile(name, column, row, SIDE_MM, edges, {s: of(lean, s) for s in "NESW"})


def built(**changes):
    opt = recipe.complete({"seed": 5, "columns": 3, "rows": 2, "tile": SIDE_MM, "lean": 1.5, "chips": 0.5, **changes})
    return opt, table.build_tiles(opt)


class Programme(unittest.TestCase):
    def test_against_every_corner(self):
        """The best of a small programme lies where three of its planes meet: all of them are tried."""
        rng = np.random.default_rng(3)
        for _ in range(20):
            a = np.vstack([rng.standard_normal((9, 3)), np.eye(3), -np.eye(3)])
            most, cost = np.concatenate([rng.uniform(0.1, 1, 9), np.full(6, 3.0)]), rng.standard_normal(3)
            corners = [np.linalg.solve(a[list(i)], most[list(i)]) for i in itertools.combinations(range(15), 3)
                       if abs(np.linalg.det(a[list(i)])) > 1e-9]
            best = min(float(cost @ x) for x in corners if np.all(a @ x <= most + 1e-9))
            x = programme.solve(cost, a, most)
            self.assertAlmostEqual(float(cost @ x), best, delta=1e-6)
            self.assertLess(float(np.max(a @ x - most)), 1e-6)

    def test_none(self):
        with self.assertRaises(ValueError):
            programme.solve([1.0], [[1.0], [-1.0]], [0.0, -1.0])


class Push(unittest.TestCase):
    def pushed(self, *tiles):
        tiles = {t.name: t for t in tiles}
        for t in tiles.values():
            t.pose[0] += 3.0 * t.column  # as laid, with room
            t.pose[1] -= 2.0 * t.row
        push.push(tiles, HEIGHT_MM)
        return shapes.truth(tiles)["seams"]

    def test_wedges_turn_shut(self):
        seam = self.pushed(tile("A1", 0, 0, slope={"E": 0.004}), tile("B1", 1, 0, slope={"W": 0.002}))["A1-B1"]
        np.testing.assert_allclose(seam["gap"], push.APART_MM, atol=0.001)

    def test_a_bow_leaves_its_parabola(self):
        seam = self.pushed(tile("A1", 0, 0, bow={"S": 0.6}), tile("A2", 0, 1, bow={"N": 0.2}))["A1-A2"]
        unit = 2 * np.array(seam["at"]) / seam["length"] - 1
        np.testing.assert_allclose(seam["gap"], 0.8 * unit ** 2 + push.APART_MM, atol=0.005)

    def test_bases_touch_first(self):
        seam = self.pushed(tile("A1", 0, 0, lean={"E": 1.0}), tile("B1", 1, 0, lean={"W": 0.5, "E": 2.0}))["A1-B1"]
        open_mm = HEIGHT_MM * (math.tan(math.radians(1.0)) + math.tan(math.radians(0.5))) + push.APART_MM
        np.testing.assert_allclose(seam["gap"], open_mm, atol=0.001)

    def test_corners_do_not_overlap(self):
        """A1 is 1 mm larger to the south and to the east.  All seams close, but as its corner would then lie in B2, the lower row
        or the right column has to slip by 1 mm, which costs nothing."""
        large = tile("A1", 0, 0)
        large.edges["S"].dev += 1.0
        large.edges["E"].dev += 1.0
        tiles = {t.name: t for t in (large, tile("B1", 1, 0), tile("A2", 0, 1), tile("B2", 1, 1))}
        push.push(tiles, HEIGHT_MM)
        self.assertLessEqual(push.overlap(tiles, HEIGHT_MM), 0.001)
        self.assertAlmostEqual(push.total(tiles), 4 * push.APART_MM, delta=0.02)

    def test_nothing_overlaps_and_nothing_moves_for_the_better(self):
        """Every random move that keeps all apart adds to the total, for whole tables with leans, chips and waves."""
        for seed in (5, 6):
            opt, tiles = built(seed=seed, lay="push")
            _, rows = built(seed=seed)
            self.assertLessEqual(push.overlap(tiles, HEIGHT_MM), 0.001)
            gaps = shapes.truth(tiles)["seams"].values()
            self.assertGreater(min(min(s["gap_without_chips"]) for s in gaps), 0)
            self.assertLess(push.total(tiles), push.total(rows) - 0.5)
            least, rng = push.total(tiles), np.random.default_rng(1)
            poses, better, tried = {n: list(t.pose) for n, t in tiles.items()}, 0.0, 0
            for _ in range(1500):
                some = rng.random(len(tiles)) < 0.4
                for moves, (n, t) in zip(some, tiles.items()):
                    by = rng.standard_normal(3) * (0.03, 0.03, 0.0002) * moves * rng.uniform(0, 1)
                    t.pose = [p + b for p, b in zip(poses[n], by)]
                if push.overlap(tiles, HEIGHT_MM) <= -push.APART_MM + 0.001:
                    tried, better = tried + 1, max(better, least - push.total(tiles))
            print("seed %d: %d moves keep all apart, the best gains %.4f mm" % (seed, tried, better))
            self.assertGreater(tried, 10)
            self.assertLess(better, 0.005)

    def test_no_table_hangs_on_a_corner(self):
        """However the tiles were laid, the total is the same: which corner passes which at first is put right."""
        with open(os.path.join(SAMPLES, "make", "recipes", "valley-north-sanded.json")) as file:
            given = json.load(file)
        totals = [push.total(table.build_tiles(recipe.complete({**given, "laid": laid}))) for laid in (0, 1, 5)]
        self.assertLess(max(totals) - min(totals), push.GAIN_MM)

    def test_many_tables_are_solved(self):
        for seed in range(142, 148):
            _, tiles = built(seed=seed, columns=4, rows=3, lay="push")
            self.assertLessEqual(push.overlap(tiles, HEIGHT_MM), 0.001)

    def test_the_default_is_as_it_was(self):
        with open(os.path.join(SAMPLES, "weir.truth.json")) as file:
            truth = json.load(file)
        with open(os.path.join(SAMPLES, "make", "recipes", "weir.json")) as file:
            opt = recipe.complete(json.load(file))
        made = shapes.truth(table.build_tiles(opt))["seams"]
        for name, seam in truth["seams"].items():
            np.testing.assert_allclose(made[name]["gap"], seam["gap"], atol=0.001)

    def test_laid_again(self):
        def places(**changes):
            return np.array([t.pose for t in built(lay="push", **changes)[1].values()])
        np.testing.assert_array_equal(places(), places(laid=0))
        self.assertGreater(np.abs(places() - places(laid=1)).max(), 0.05)


class Carry(unittest.TestCase):
    def test_true_up_counts_from_the_north_or_west_corner(self):
        cuts = [{"at_mm": 0.0, "remove_mm": 0.5}, {"at_mm": 60.0, "remove_mm": 0.1}, {"at_mm": 200.0, "remove_mm": 0.0}]
        rounds = [[{"edge": "B1 " + s, "true_up": cuts, "why": "x"} for s in ("north", "east", "south", "west")]]
        _, before = built()
        _, after = built(carried_out=rounds)
        for side in "NESW":
            lo, hi = before["B1"].span(side, before["B1"].corner_u())
            for at, off in ((1.0, 0.5 - 0.4 / 60), (60.0, 0.1), (130.0, 0.05), (195.0, 0.1 * 5 / 140)):
                u = lo + at if side in "NS" else hi - at
                self.assertAlmostEqual(float(before["B1"].edges[side].clean(u) - after["B1"].edges[side].clean(u)), off, delta=0.004)
        for side in "NESW":
            np.testing.assert_array_equal(before["A1"].edges[side].dev, after["A1"].edges[side].dev)

    def test_rounds_add_up(self):
        one = [{"edge": "A2 east", "true_up": [{"at_mm": 0.0, "remove_mm": 0.2}], "bevel_mm": 0.3}]
        _, none = built()
        opt, twice = built(carried_out=[one, one])
        np.testing.assert_allclose(none["A2"].edges["E"].dev - twice["A2"].edges["E"].dev, 0.4)

    def test_bevels_only_where_it_leans(self):
        def proud(mm, bevel_mm):
            t = tile("A1", 0, 0, lean={"E": math.degrees(math.atan(mm / HEIGHT_MM))})
            carry.carry_out({"A1": t}, [[{"edge": "A1 east", "bevel_mm": bevel_mm}]], HEIGHT_MM)
            return t.standoff("E", HEIGHT_MM)
        self.assertAlmostEqual(proud(0.09, 1.0), 0.09)
        self.assertAlmostEqual(proud(0.8, 0.5), 0.3)
        self.assertEqual(proud(0.8, 1.0), 0.0)
        self.assertAlmostEqual(proud(0.8, 0.0), 0.8)

    def test_chips_stay_where_they_are(self):
        """The bottom of a chip is where it was, and gone when the edge has come down to it."""
        def edge(off):
            t = tile("A1", 0, 0)
            t.edges["N"].chips = [(20.0, 6.0, 1.5, 8.0)]
            carry.carry_out({"A1": t}, [[{"edge": "A1 north", "true_up": [{"at_mm": 0.0, "remove_mm": off}]}]], HEIGHT_MM)
            return t.edges["N"]
        u = np.linspace(10.0, 30.0, 401)
        whole, cut = edge(0.0), edge(0.6)
        self.assertAlmostEqual(float(cut.clean(20.0) - cut.bite(20.0)), float(whole.clean(20.0) - whole.bite(20.0)))
        was = np.minimum(whole.clean(u) - whole.bite(u), cut.clean(u))  # the old bowl below the new face
        self.assertLess(float(np.abs(was - (cut.clean(u) - cut.bite(u))).max()), 0.2)
        self.assertEqual(edge(1.5).chips, [])

    def test_no_such_edge(self):
        with self.assertRaises(SystemExit):
            built(carried_out=[[{"edge": "Z9 north"}]])


if __name__ == "__main__":
    unittest.main()
