"""The scoring of adverse photos (tests/adverse): what it catches, and that alterations are what they say.

usage: test_adverse.py [CASE...]     ends with 77 when numpy or Pillow is missing
"""
import copy
import os
import sys
import unittest

sys.dont_write_bytecode = True
HERE = os.path.dirname(os.path.abspath(__file__))
sys.path[:0] = [os.path.join(HERE, "..", "adverse")]
try:
    import numpy as np
    import PIL  # noqa: F401
except ImportError as missing:
    print("the tests of adverse photos need Debian's python3-numpy and python3-pil: %s" % missing)
    sys.exit(77)
import adverse  # noqa: E402
import kinds  # noqa: E402
import picture  # noqa: E402
import report  # noqa: E402
import score  # noqa: E402
import warp  # noqa: E402

SAMPLE = os.path.join(HERE, "..", "..", "samples", "ferry-1")
LIMIT_MM = 0.6   # no widest gap of the sample is near it
U95_MM = 0.03
NORTH_OF = {"N": "north", "E": "east", "S": "south", "W": "west"}


def inspection_of(truth, turn=score.Turn()):
    """An inspection that says the truth, of the table lying as `turn` says."""
    out = {"tolerance_mm": LIMIT_MM, "table": {"tile_mm": truth["tile"]}, "tiles": [], "seams": []}
    for name, seam in truth["seams"].items():
        as_read, backwards = turn.seam(name, truth["cols"], truth["rows"])
        at, gap = seam["at"], seam["gap"]
        if backwards:
            at, gap = [seam["length"] - a for a in at[::-1]], gap[::-1]
        widest = max(np.array(seam["gap_without_chips"])[score.judge.usable(seam)])
        out["seams"].append({"name": as_read, "verdict": "within" if widest <= LIMIT_MM else "over",
                             "stations": {"at_mm": at, "gap_mm": list(gap), "u95_mm": [U95_MM] * len(at), "state": ["ok"] * len(at)}})
    for name, tile in truth["tiles"].items():
        angles = score.judge.angles(tile["edges"])
        out["tiles"].append({"name": turn.tile(name, truth["cols"], truth["rows"]),
                             "corners": {turn.corner(c): {"angle_deg": a, "u95_deg": 0.01} for c, a in angles.items()},
                             "edges": {turn.side(NORTH_OF[s]): {"length_mm": e["length"], "length_u95_mm": 0.1}
                                       for s, e in tile["edges"].items()}})
    return out


class Scoring(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.scene = picture.Scene(SAMPLE, {})

    def setUp(self):
        self.scene.start()
        self.truth = self.scene.truth

    def scored(self, inspection):
        return score.score(inspection, score.facts(self.scene))

    def test_the_truth_is_right(self):
        r = self.scored(inspection_of(self.truth))
        self.assertEqual((r["wrong"], r["far"], r["hidden"], r["misread"]), (0, 0, 0, 0))
        self.assertGreater(r["visible"], 600)
        self.assertEqual(r["held"], r["visible ok"])
        self.assertEqual(r["visible ok"], r["visible"])
        self.assertEqual((r["angles held"], r["lengths held"]), (r["angles"], r["lengths"]))
        self.assertEqual(r["angles"], 16)

    def test_a_wrong_verdict_is_caught(self):
        told = inspection_of(self.truth)
        over = next(s for s in told["seams"] if s["verdict"] == "over")
        over["verdict"] = "within"
        self.assertEqual((self.scored(told)["wrong"], self.scored(told)["far"]), (1, 1))
        over["verdict"] = "too close to call"
        self.assertEqual(self.scored(told)["wrong"], 0)
        next(s for s in told["seams"] if s["verdict"] == "within")["verdict"] = "over"
        self.assertEqual(self.scored(told)["wrong"], 1)

    def test_a_figure_that_does_not_hold_is_caught(self):
        told = inspection_of(self.truth)
        stations = told["seams"][0]["stations"]
        stations["gap_mm"] = [g + 2 * U95_MM for g in stations["gap_mm"]]
        r = self.scored(told)
        self.assertEqual(r["held"], r["visible ok"] - len(score.judge.usable(self.truth["seams"][told["seams"][0]["name"]])))
        stations["state"] = ["unseen"] * len(stations["state"])
        r = self.scored(told)
        self.assertEqual(r["held"], r["visible ok"])
        self.assertLess(r["visible ok"], r["visible"])

    def cover(self, name, at, length_mm):
        along, across = self.scene.along(name)
        outline = self.scene.rectangle(self.scene.seam_line(name, at)[0], along, across, length_mm, 30)
        self.scene.lay([outline], (0.4, 0.3, 0.2), kinds.seed("test"))

    def test_a_hidden_station_called_ok_is_caught(self):
        name = next(iter(self.truth["seams"]))
        self.cover(name, 60, 40)
        told = inspection_of(self.truth)
        r = self.scored(told)
        self.assertEqual(r["hidden"], r["hidden ok"])
        self.assertTrue(36 <= r["hidden"] <= 40, r["hidden"])  # 40 mm, less the depth at both ends
        self.assertTrue(43 <= self.all_visible() - r["visible"] <= 45)  # and 1.5 mm at both ends is asked nothing of
        states = told["seams"][0]["stations"]["state"]
        states[38:83] = ["unseen"] * 45
        self.assertEqual(self.scored(told)["hidden ok"], 0)
        self.assertEqual(self.scored(told)["held"], self.scored(told)["visible ok"])

    def all_visible(self):
        return sum(len(score.judge.usable(s)) for s in self.truth["seams"].values())

    def test_one_hidden_rim_is_enough(self):
        name = next(iter(self.truth["seams"]))
        at = np.arange(40.0, 80.0)
        first, second = self.scene.rims(name)
        beside = first if self.truth["seams"][name]["gap"][60] > 0.3 else second
        box = self.scene.box(self.scene.px(beside[40:80]), 20)
        x0, y0, x1, y1 = box
        y, x = np.mgrid[y0:y1, x0:x1]
        line = self.scene.px(self.scene.seam_line(name, at)).mean(axis=0)
        self.scene.hide(box, (x < line[0]).astype(float) if name.split("-")[0][1:] == name.split("-")[1][1:] else (y < line[1]).astype(float))
        hidden, visible = score.sight(self.scene, name)
        self.assertGreater(hidden.sum(), 20)
        self.assertFalse((hidden & visible).any())

    def test_seams_of_a_tile_that_is_gone(self):
        self.scene.gone.add("B2")
        r = self.scored(inspection_of(self.truth))
        self.assertEqual(r["wrong"], 2)
        self.assertEqual(r["hidden ok"], r["hidden"])
        self.assertGreater(r["hidden"], 300)

    def test_seams_that_do_not_exist(self):
        told = inspection_of(self.truth)
        more = copy.deepcopy(told["seams"][0])
        more["name"], more["verdict"] = "C1-D1", "within"
        told["seams"].append(more)
        self.assertEqual(self.scored(told)["wrong"], 1)

    def test_a_table_misread(self):
        told = inspection_of(self.truth)
        told["table"]["tile_mm"] *= 0.9
        self.assertEqual(self.scored(told)["misread"], 1)
        told = inspection_of(self.truth)
        del told["tiles"][0]
        self.assertEqual(self.scored(told)["misread"], 1)

    def test_turned_and_mirrored_tables(self):
        for name, turn in score.TURNS.items():
            if turn.skip == (0, 0):
                self.scene.turns = (name,)
                r = self.scored(inspection_of(self.truth, turn))
                self.assertEqual((r["wrong"], r["misread"], r["held"]), (0, 0, self.all_visible()), name)
                self.assertEqual((r["angles held"], r["lengths held"]), (16, 16), name)

    def test_names_of_a_turned_table(self):
        self.assertEqual(score.TURNS["left"].tile("A1", 3, 2), "A3")   # counter-clockwise: the north-west corner goes south-west
        self.assertEqual(score.TURNS["right"].tile("A1", 3, 2), "B1")
        self.assertEqual(score.TURNS["half"].tile("A1", 3, 2), "C2")
        self.assertEqual(score.TURNS["mirrored"].tile("A1", 3, 2), "C1")
        self.assertEqual(score.TURNS["first row gone"].tile("B2", 3, 2), "B1")
        self.assertIsNone(score.TURNS["first row gone"].tile("B1", 3, 2))
        self.assertEqual((score.TURNS["left"].side("north"), score.TURNS["left"].corner("NW")), ("west", "SW"))

    def test_what_is_free_is_left_out(self):
        r = score.without({"wrong": 2, "far": 1, "held": 3, "misread": 1}, ("verdict", "size"))
        self.assertEqual(r, {"held": 3})


class Ends(unittest.TestCase):
    def test_how_a_run_may_end(self):
        self.assertIsNone(adverse.failure(0, "", True))
        self.assertIsNone(adverse.failure(1, "a warning\nanother\n", True))
        self.assertIsNone(adverse.failure(2, "table.jpg: no card\n", False))
        for ended in ((-11, "", False), (3, "x", False), (2, "", False), (2, "a\nb\n", False), (2, "a\n", True), (0, "", False)):
            self.assertIsNotNone(adverse.failure(*ended), ended)

    def test_what_is_asked(self):
        right = {"failures": 0, "wrong": 0, "hidden ok": 0.01, "held": 0.95}
        self.assertEqual(report.faults("x", right, {}), [])
        for change in ({"failures": 1}, {"wrong": 1}, {"hidden ok": 0.03}, {"held": 0.89}):
            self.assertEqual(len(report.faults("x", {**right, **change}, {})), 1, change)
        poor = {**right, "held": 0.7}
        self.assertEqual(report.faults("x", poor, report.red_of(poor)), [])
        self.assertEqual(len(report.faults("x", {**poor, "held": 0.6}, report.red_of(poor))), 1)


class Alterations(unittest.TestCase):
    def test_enough_of_them(self):
        self.assertGreaterEqual(len(kinds.KINDS), 40)

    def test_the_same_words_give_the_same_picture(self):
        scene = picture.Scene(SAMPLE, {})
        first = kinds.alter(scene, "hand", 1).image
        again = kinds.alter(scene, "hand", 1).image
        self.assertTrue((first == again).all())
        self.assertFalse((first == scene.clean).all())

    def test_places_lie_where_the_truth_says(self):
        scene = picture.Scene(SAMPLE, {})
        for name, seam in scene.truth["seams"].items():
            at = scene.px(scene.seam_line(name, 0.0))[0]
            self.assertLess(np.hypot(*(at - seam["start_px"])), 2.0, name)  # from edges' straight lines, not the waves

    def test_a_picture_taken_again(self):
        y, x = np.mgrid[0:90, 0:120].astype(float)
        image = np.repeat((128 + 50 * np.sin(x / 9) * np.cos(y / 11))[..., None], 3, axis=2)
        moved = warp.picture(image.round().astype(np.uint8), (120, 90), lambda p: np.asarray(p) + (0.5, -0.25), (10, 10, 110, 80))
        true = 128 + 50 * np.sin((x + 0.5) / 9) * np.cos((y - 0.25) / 11)
        self.assertLess(np.abs(moved[10:80, 10:110, 0] + 0.5 - true[10:80, 10:110]).max(), 1.6)  # Pillow rounds down; and 0.5 before
        back = np.array([[30.2, 40.7], [100.0, 5.0]])
        self.assertLess(np.abs(warp.sample(image, back)[:, 0] - (128 + 50 * np.sin(back[:, 0] / 9) * np.cos(back[:, 1] / 11))).max(), 0.2)

    def test_the_camera_turned_and_back(self):
        camera = picture.Scene(SAMPLE, {}).camera
        back, there = warp.turned_camera(camera, 3, -2, 10)
        p = np.array([[200.0, 300.0], [1500.0, 1200.0]])
        self.assertLess(np.abs(there(back(p)) - p).max(), 1e-4)
        self.assertGreater(np.abs(back(p) - p).max(), 20)


if __name__ == "__main__":
    unittest.main()
