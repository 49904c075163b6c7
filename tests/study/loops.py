"""Whole loops with photos: what plans promise, against what comes true.  See the script `loops`."""
import concurrent.futures
import json
import os
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
SAMPLES = os.path.join(HERE, "..", "..", "samples")
sys.path.insert(0, os.path.join(SAMPLES, "make"))
import recipe  # noqa: E402
import table  # noqa: E402

ROUNDS = 2
LIMIT_MM = 0.5
BEYOND_MM = 0.05   # a seam counts as truly missed from so much over the limit
END_MM = 5.0       # inspections leave so much out at a seam's ends
CHIP_MM = 0.02     # a place belongs to a chip where it is so much wider with chips than without: as in tests/golden/score.c
ACCUSED = ("too much off", "off unplanned")  # kinds of notes that say that something was done that was not planned

# The camera of the samples, so that their boards make its profile; cut as the volunteers cut, laid by an ordinary push.
CAMERA = {"width": 3264, "height": 2448, "f": 2600.0, "dist": [-0.055, 0.04, 0.0002, -0.0003, -0.01]}
CUT = {"offset": 0.25, "slope": 0.0013, "chips": 0.12, "gaps": [0.0, 0.9], "lay": "push", "fill": 0.9, "jpeg": 90}
TABLES = {
    "leans": {"seed": 141, "columns": 3, "rows": 3, "tile": 300.0, "lean": 1.5, "colours": ["blue"]},
    "square": {"seed": 142, "columns": 3, "rows": 3, "tile": 300.0, "lean": 0.0, "colours": ["sand"]},
    "sixteen": {"seed": 143, "columns": 4, "rows": 4, "tile": 200.0, "lean": 1.0, "colours": ["pink"]},
}
# Each photo has its own light and view.
VIEWS = ({"light": "window", "light_toward": 135, "tilt": 3, "tilt_toward": 280, "rotate": 2},
         {"light": "two", "light_toward": 60, "tilt": 4, "tilt_toward": 80, "rotate": -1.2},
         {"light": "lamp", "light_toward": 300, "tilt": 2, "tilt_toward": 170, "rotate": 0.6})


def read(path):
    with open(path) as file:
        return json.load(file)


def photograph(name, rounds, out):
    """The photo after these rounds; OUT.recipe.json says what it was made from."""
    k = len(rounds)
    made = {**CAMERA, **CUT, **TABLES[name], **VIEWS[k], "carried_out": rounds, "shot": k, "laid": k, "days": k}
    path = os.path.join(out, "%s-%d" % (name, k))
    if not (os.path.exists(path + ".truth.json") and os.path.exists(path + ".recipe.json") and read(path + ".recipe.json") == made):
        table.make(recipe.complete(made), path)
        table.write_json(path + ".recipe.json", made)
    return path


def run(program, *words):
    """0 and 1 tell whether all is within; anything else is a failure."""
    done = subprocess.run([program, *words], capture_output=True, text=True)
    if done.returncode not in (0, 1):
        raise SystemExit("%s\n%s" % (" ".join(words), done.stderr))
    return done.returncode


def widest(seam):
    """The truth's widest gap, chips and ends left out."""
    return max(g for at, with_chips, g in zip(seam["at"], seam["gap"], seam["gap_without_chips"])
               if END_MM <= at <= seam["length"] - END_MM and abs(with_chips - g) <= CHIP_MM)


def promised(plan):
    """{seam: (widest gap, its +-, verdict)} after the plan."""
    return {f["name"]: (f["max_mm"], f["u95_mm"], f["verdict"]) for f in plan["forecast"]}


class Stage:
    """One photo: what is true, what was measured, and what is planned from it."""

    def __init__(self, program, path, *told):
        """told: options of inspect."""
        seams = path + ".seams"
        run(program, "inspect", path + ".jpg", *told, "--no-pictures", "-o", seams)
        self.status = run(program, "plan", seams)
        self.true = {name: widest(seam) for name, seam in read(path + ".truth.json")["seams"].items()}
        self.said = {s["name"]: s["gap_mm"] for s in read(seams + "/inspection.json")["seams"]}
        self.plan, self.seams = read(seams + "/plan.json"), seams

    def over(self, beyond=0.0):
        return sum(v > LIMIT_MM + beyond for v in self.true.values())

    def edges(self):
        """What the plan asks to be done."""
        return [{k: e[k] for k in ("edge", "true_up", "bevel_mm")} for e in self.plan["edges"]]

    def measured(self):
        """(seams whose widest gap lies within its +-, seams)."""
        said = [(self.said[n], t) for n, t in self.true.items() if n in self.said and self.said[n]["max"] is not None]
        return sum(abs(gap["max"] - t) <= gap["max_u95"] for gap, t in said), len(self.true)


def accusations(after):
    """(notes that accuse, edges that are said not to have been done); all are false, as the plan was carried out to the letter."""
    said = read(after.seams + "/recheck.json")
    return sum(n["kind"] in ACCUSED for n in said["notes"]), sum(e["not_enough"] for e in said["edges"])


def tell_first(name, stage):
    held, seams = stage.measured()
    return "%s: %d of %d seams over %.1f mm, widest %.2f; measured within their +-: %d" % (
        name, stage.over(), seams, LIMIT_MM, max(stage.true.values()), held)


def tell_round(k, before, after):
    said = promised(before.plan)
    rows = [(after.true[n], *said[n]) for n in after.true if said[n][0] is not None]
    verdicts = [v for _, _, _, v in rows]
    return "; ".join((
        "  round %d: %d lines of work for %d over" % (k, len(before.plan["work"]), before.over()),
        "%.0f mm2" % before.plan["removed_total_mm2"],
        "promised: %d within, %d too close, %d over, widest %.2f, +- %.2f at most" % (
            *(verdicts.count(v) for v in ("within", "too close to call", "over")), max(r[1] for r in rows), max(r[2] for r in rows)),
        "true: %d over, %d by more than %.2f, widest %.2f" % (
            after.over(), after.over(BEYOND_MM), BEYOND_MM, max(after.true.values())),
        "forecasts that hold: %d of %d" % (sum(abs(t - y) <= u for t, y, u, _ in rows), len(after.true)),
        "\"within\" that came out over: %d" % sum(v == "within" and t > LIMIT_MM for t, _, _, v in rows),
        "measured within their +-: %d of %d" % after.measured(),
        "falsely accused: %d, \"not enough\": %d" % accusations(after)))


def loop(program, lens, name, out):
    rounds, told = [], []
    before = Stage(program, photograph(name, rounds, out), "--lens", lens)
    told.append(tell_first(name, before))
    for k in range(1, ROUNDS + 1):
        rounds = [*rounds, before.edges()]
        after = Stage(program, photograph(name, rounds, out), "--after", before.seams)
        told.append(tell_round(k, before, after))
        before = after
    told.append("  then: %d lines of work; plan ends with status %d" % (len(before.plan["work"]), before.status))
    return "\n".join(told)


def main(program, out, *names):
    os.makedirs(out, exist_ok=True)
    lens = os.path.join(out, "lens.json")
    boards = [os.path.join(SAMPLES, "lens", "board%d.jpg" % i) for i in range(1, 9)]
    run(program, "lens", "-o", lens, "--checkerboard", "10x7", "--square", "25", *boards)
    with concurrent.futures.ProcessPoolExecutor(int(os.environ.get("JOBS", "1"))) as pool:
        for told in pool.map(loop, *zip(*((program, lens, name, out) for name in names or TABLES))):
            print(told, flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
