"""What the variety study (tests/study) makes of tables whose tops do not stand level, and how it judges them.

usage: test_study.py [CASE...]     ends with 77 when numpy or Pillow is missing
"""
import os
import sys
import unittest

sys.dont_write_bytecode = True
HERE = os.path.dirname(os.path.abspath(__file__))
sys.path[:0] = [os.path.join(HERE, "..", "..", "samples", "make"), os.path.join(HERE, "..", "study")]
try:
    import numpy as np
    import PIL  # noqa: F401
except ImportError as missing:
    print("the study's tests need Debian's python3-numpy and python3-pil: %s" % missing)
    sys.exit(77)
import judge  # noqa: E402
import recipe  # noqa: E402
import table  # noqa: E402
import tables  # noqa: E402
import tops  # noqa: E402


class Tables(unittest.TestCase):
    def test_what_they_are(self):
        found = {n: t for n, t in tables.numbered().items() if n >= tables.FIRST_STEPPED}
        self.assertEqual(sorted(found), list(range(81, 101)))
        high = [max(r["heights"].values()) - min(r["heights"].values()) for _, r, _ in found.values()]
        self.assertEqual(sum(h > tables.LOW_MM for h in high), 10)
        self.assertLessEqual(max(high), tables.HIGH_MM)
        self.assertEqual({len(views) for _, _, views in found.values()}, {1, 2, 3})
        self.assertEqual({r["light"] for _, r, _ in found.values()}, {"window", "lamp", "two", "overcast"})
        for number, (_, r, views) in found.items():
            made = [table.make_truth(opt, table.build_tiles(opt)) for opt in (recipe.complete({**r, **v}) for v in views)]
            for other in made[1:]:
                self.assertEqual(made[0], other, "%d: all photos show one table" % number)

    def test_older_numbers_stay_what_they_were(self):
        level = [r for _, r, views in tables.numbered().values() if not views]
        self.assertEqual(len(level), tables.COUNT)
        self.assertEqual((level[0]["seed"], level[63]["seed"], level[64]["seed"]), (7000, 7063, 7100))
        self.assertFalse(any("heights" in r or "askew" in r for r in level))


# Three tops in a row and one below the first; A1 slants: a hundredth up to the east, two down to the north.
TRUTH = {
    "tile_height": 45.0, "heights": {"A1": 46.0, "B1": 45.0, "C1": 48.0, "A2": 44.5}, "tilt": {"A1": [0.01, -0.02]},
    "tiles": {"A1": {"pose": [0, 0, 0]}, "B1": {"pose": [200, 0, 0]}, "C1": {"pose": [400, 0, 0]}, "A2": {"pose": [0, -200, 0]}},
    "seams": {"A1-B1": {"start": [100, 90], "length": 180.0}, "B1-C1": {"start": [300, 100], "length": 200.0},
              "A1-A2": {"start": [-100, -100], "length": 200.0}},
}


class Heights(unittest.TestCase):
    def test_steps(self):
        self.assertAlmostEqual(judge.true_step(TRUTH, "A1-B1"), 46 + 0.01 * 100 - 45)  # its middle lies at (100, 0)
        self.assertAlmostEqual(judge.true_step(TRUTH, "B1-C1"), -3)
        self.assertAlmostEqual(judge.true_step(TRUTH, "A1-A2"), 46 + 0.02 * 100 - 44.5)

    def test_heights_count_from_the_median_top(self):
        true = {"A1": 46.0, "B1": 45.0, "C1": 48.0, "A2": 44.5}  # median 45.5
        tiles = [{"name": n, "height_mm": h - 45.5 + (0.3 if n == "C1" else 0), "height_u95_mm": 0.2} for n, h in true.items()]
        rows = {"height": [], "step": []}
        seams = [{"name": "B1-C1", "step_mm": -3.2, "step_u95_mm": 0.1}, {"name": "A1-B1", "step_mm": None, "step_u95_mm": None}]
        judge.add_heights({"tiles": tiles, "seams": seams}, TRUTH, rows)
        np.testing.assert_allclose([r[0] for r in rows["height"]], [0, 0, 0.3, 0], atol=1e-9)
        np.testing.assert_allclose(rows["step"][0][:2], [-0.2, 0.1], atol=1e-9)
        self.assertEqual(len(rows["step"]), 1)

    def test_confidently_wrong(self):
        within, over, open_ = (judge.VERDICTS.index(v) for v in ("within", "over", "too close to call"))
        verdicts = np.array([(0.3, 0.05, 0.59, within), (0.3, 0.05, 0.61, within), (0.8, 0.05, 0.41, over), (0.8, 0.05, 0.39, over),
                             (0.5, 0.3, 0.9, open_)])
        np.testing.assert_array_equal(tops.surely_wrong(verdicts), [False, True, False, True, False])


if __name__ == "__main__":
    unittest.main()
