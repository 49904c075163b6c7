"""The variety study: makes what is missing of the tables of tables.py, inspects them all, prints one table.

usage: variety.py SEAMWRIGHT OUT COUNT JOBS
Run it through tests/study/variety.  A station counts when it lies 6 mm or more from its seam's ends and away from chips; a
seam's mean is compared over the same stations.  "held" is how often the truth lies within the stated +-.
"""
import json
import math
import os
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path[:0] = [os.path.join(HERE, "..", "..", "samples", "make"), HERE]
import boards  # noqa: E402
import recipe  # noqa: E402
import table  # noqa: E402
import tables  # noqa: E402

MARGIN_MM, CHIP_STATIONS, CHIP_MM = 6.0, 4, 0.02
TOLERANCE_MM = 0.5
BOARDS = 5
SIDES = {"north": "N", "east": "E", "south": "S", "west": "W"}
FINE = 3.0  # px/mm from which the study's aims hold
NO_PROFILE, PROFILE = "estimated", "profile"


def say(text):
    print(text, file=sys.stderr, flush=True)


def make_table(job):
    """A table's photo and truth, unless they are there.  The truth is written last."""
    out, opt = job
    if not os.path.exists(out + ".truth.json"):
        table.make(recipe.complete(opt), out)
        say("made " + os.path.basename(out))


def make_boards(job):
    out, camera = job
    if not os.path.exists(out + ".truth.json"):
        with open(out + ".recipe.json", "w") as file:
            json.dump({**camera, "blur": 0.6, "noise": 12000, "jpeg": 86, "seed": ord(out[-1])}, file)
        boards.main([out + ".recipe.json", out, str(BOARDS)])
        say("made " + os.path.basename(out))


def profile(program, out, camera):
    name = os.path.join(out, "camera-%s" % camera)
    if not os.path.exists(name + ".lens.json"):
        photos = ["%s%d.jpg" % (name, i + 1) for i in range(BOARDS)]
        subprocess.run([program, "lens", "-o", name + ".lens.json", "--checkerboard", "10x7", "--square", "25", *photos],
                       check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return name + ".lens.json"


def inspect(program, photo, opt, lens, out):
    """The inspection, or the program's sentence why there is none."""
    reference = "100" if opt["reference"] != "frame" else "100/60"
    command = [program, "inspect", photo + ".jpg", "--reference", reference, "--tolerance", str(TOLERANCE_MM), "--no-pictures", "-o", out]
    subprocess.run(["rm", "-rf", out], check=True)
    done = subprocess.run(command + (["--lens", lens] if lens else []), capture_output=True, text=True)
    if done.returncode not in (0, 1):
        return done.stderr.strip().split("\n")[-1]
    with open(os.path.join(out, "inspection.json")) as file:
        return json.load(file)


class Figures:
    """Errors of one kind, and how often the stated +- held them."""

    def __init__(self):
        self.count, self.sum, self.squares, self.held = 0, 0.0, 0.0, 0

    def add(self, error, u95):
        self.count += 1
        self.sum += error
        self.squares += error * error
        self.held += abs(error) <= u95

    def text(self):
        if not self.count:
            return "- | - | -"
        return "%+.4f | %.4f | %.1f %%" % (self.sum / self.count, math.sqrt(self.squares / self.count), 100 * self.held / self.count)


class Tally:
    def __init__(self):
        self.kinds = {k: Figures() for k in ("station", "seam mean", "angle", "straightness", "length")}
        self.tables = self.calls = self.wrong_within = self.wrong_over = self.unsafe = self.open = self.seams = 0
        self.chips = [0, 0, 0]

    def add(self, other_kind, error, u95):
        self.kinds[other_kind].add(error, u95)


def usable(seam):
    at, gap, clean = seam["at"], seam["gap"], seam["gap_without_chips"]
    near = set()
    for i in range(len(at)):
        if abs(gap[i] - clean[i]) > CHIP_MM:
            near.update(range(i - CHIP_STATIONS, i + CHIP_STATIONS + 1))
    return [i for i in range(len(at)) if MARGIN_MM <= at[i] <= seam["length"] - MARGIN_MM and i not in near]


def measured_at(stations, at, hint):
    """Gap and +- at a place, between two measured stations or at the nearest; None when there is none near."""
    xs = stations["at_mm"]
    while hint + 1 < len(xs) and xs[hint + 1] <= at:
        hint += 1
    near = min((k for k in (hint, hint + 1) if k < len(xs)), key=lambda k: abs(xs[k] - at))
    if stations["state"][near] != "ok" or stations["gap_mm"][near] is None or abs(xs[near] - at) > 1.01:
        return hint, None
    return hint, (stations["gap_mm"][near], stations["u95_mm"][near])


def judge_verdict(seam, truth, tallies):
    worst = max(truth["gap_without_chips"][i] for i in usable(truth))
    for t in tallies:
        t.seams += 1
        if seam["verdict"] == "too close to call":
            t.open += 1
            continue
        t.calls += 1
        if seam["verdict"] == "within" and worst > TOLERANCE_MM:
            t.wrong_within += 1
            t.unsafe += worst > TOLERANCE_MM + seam["gap_mm"]["max_u95"]
        t.wrong_over += seam["verdict"] == "over" and worst < TOLERANCE_MM


def add_seam(seam, truth, tallies):
    places, hint, errors = usable(truth), 0, []
    for i in places:
        hint, got = measured_at(seam["stations"], truth["at"][i], hint)
        if got:
            errors.append(got[0] - truth["gap"][i])
            for t in tallies:
                t.add("station", errors[-1], got[1])
    if seam["gap_mm"]["mean"] is None or not places:
        return
    mean = sum(truth["gap_without_chips"][i] for i in places) / len(places)
    for t in tallies:
        t.add("seam mean", seam["gap_mm"]["mean"] - mean, seam["gap_mm"]["mean_u95"])
    judge_verdict(seam, truth, tallies)


def angles(edges):
    n, e, s, w = (edges[k]["slope"] for k in "NESW")
    d = math.degrees
    return {"NE": 90 - d(n + e), "NW": 90 + d(n - w), "SE": 90 + d(e - s), "SW": 90 + d(w + s)}


def add_tile(tile, truth, tallies):
    for corner, true in angles(truth["edges"]).items():
        got = tile["corners"][corner]
        if got["angle_deg"] is not None:
            for t in tallies:
                t.add("angle", got["angle_deg"] - true, got["u95_deg"])
    for side, letter in SIDES.items():
        got, true = tile["edges"][side], truth["edges"][letter]
        for t in tallies:
            if got["straightness_mm"] is not None:
                t.add("straightness", got["straightness_mm"] - true["straightness"], got["straightness_u95_mm"])
            if got["length_mm"] is not None:
                t.add("length", got["length_mm"] - true["length"], got["length_u95_mm"])


def add_inspection(inspection, truth, tallies):
    for t in tallies:
        t.tables += 1
    for seam in inspection["seams"]:
        if seam["name"] in truth["seams"]:
            add_seam(seam, truth["seams"][seam["name"]], tallies)
    for tile in inspection["tiles"]:
        if tile["name"] in truth["tiles"]:
            add_tile(tile, truth["tiles"][tile["name"]], tallies)


def print_tallies(tallies):
    print("| photos | tables | figure | bias | RMS | held |\n| --- | --- | --- | --- | --- | --- |")
    for name, t in tallies.items():
        for kind, figures in t.kinds.items():
            print("| %s | %d | %s (%d) | %s |" % (name, t.tables, kind, figures.count, figures.text()))
    print("\n| photos | seams | too close to call | within though over | of these beyond the ± | over though within | wrong |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for name, t in tallies.items():
        wrong = 100 * (t.wrong_within + t.wrong_over) / max(1, t.calls)
        print("| %s | %d | %d | %d | %d | %d | %.1f %% |" % (name, t.seams, t.open, t.wrong_within, t.unsafe, t.wrong_over, wrong))


def main(args):
    program, out, count, jobs = args[0], args[1], int(args[2]), int(args[3])
    os.makedirs(out, exist_ok=True)
    chosen = tables.tables()[:count]
    names = [os.path.join(out, "s%02d" % (i + 1)) for i in range(count)]
    cameras = [(os.path.join(out, "camera-%s" % c), camera) for c, camera in tables.CAMERAS.items() if any(c == k for k, _ in chosen)]
    with ProcessPoolExecutor(jobs) as pool:
        list(pool.map(make_boards, cameras))
        list(pool.map(make_table, [(n, opt) for n, (_, opt) in zip(names, chosen)]))
    groups = ("all", "%g px/mm and finer" % FINE, "of these, tone curve sRGB", "coarser", "one card", "contrast 0.3")
    tallies = {(g + ", " + lens): Tally() for lens in (NO_PROFILE, PROFILE) for g in groups}
    for name, (camera, opt) in zip(names, chosen):
        with open(name + ".truth.json") as file:
            truth = json.load(file)
        for lens in (NO_PROFILE, PROFILE):
            got = inspect(program, name, opt, profile(program, out, camera) if lens == PROFILE else None, name + "-" + lens)
            if isinstance(got, str):
                say("%s, %s: %s" % (os.path.basename(name), lens, got))
                continue
            fine = got["scale"]["px_per_mm"] >= FINE
            member = (True, fine, fine and not opt["contrast"], not fine, opt["squares"] == 1, opt["contrast"] > 0)
            add_inspection(got, truth, [tallies[g + ", " + lens] for g, yes in zip(groups, member) if yes])
    print_tallies(tallies)


if __name__ == "__main__":
    main(sys.argv[1:])
