"""Edge spread: one traced table, developed many times as phones and programs might, each photo inspected twice.

usage: spread.py SEAMWRIGHT UNCORRECTED OUT
SEAMWRIGHT is the program, UNCORRECTED the same with the edge response's correction taken out (uncorrected.c).
Everything lands in OUT and stays: what is there is not made again.  Run it through tests/study/spread.
"""
import json
import os
import subprocess
import sys

import numpy as np

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "..", "samples", "make"))
import compose  # noqa: E402
import recipe  # noqa: E402
import sensor  # noqa: E402
import table  # noqa: E402

# One small table with narrow and wide seams, no chips: every station counts.
SCENE = {"seed": 401, "width": 1600, "height": 1500, "f": 1500.0, "dist": [0.0, 0.0, 0.0, 0.0, 0.0], "columns": 2, "rows": 2,
         "tile": 200.0, "gaps": [0.2, 2.2], "touching": 0.0, "chips": 0.0, "lean": 0.5, "colours": ["grey"], "light": "overcast",
         "tilt": 2.0, "fill": 0.86, "squares": 4, "sharpen": 0.0, "sharpen_radius": 1.2}
# Stations nearer to a seam's end than this, mm, see the crossing seam.
MARGIN_MM = 6.0
INKS = (0.0, 0.1, 0.2)


def photos():
    """(name, what is set) of every photo."""
    out = [("sharpen %.1f of %.1f px" % (a, r), {"sharpen": a, "sharpen_radius": r})
           for r in (0.8, 1.2, 1.8, 2.5) for a in (0.0, 0.3, 0.6, 1.0, 1.5, 2.0) if a or r == 1.2]
    out += [("contrast %.1f, sharpen %.1f" % (c, a), {"contrast": c, "sharpen": a}) for c in (0.3, 0.6, 1.0) for a in (0.0, 0.6, 1.5)]
    out += [("exponent %.1f, sharpen %.1f" % (g, a), {"gamma": g, "sharpen": a}) for g in (0.8, 0.9, 1.1, 1.2) for a in (0.0, 0.6)]
    out += [("blur %.1f, sharpen %.1f" % (b, a), {"blur": b, "sharpen": a}) for b in (0.4, 0.8, 1.0, 1.2) for a in (0.0, 1.0)]
    out += [("ink %.1f mm, sharpen %.1f" % (i, a), {"ink_spread": i, "sharpen": a}) for i in INKS[1:] for a in (0.0, 0.6)]
    out += [("mosaic %s, sharpen %.1f" % (m, a), {"mosaic": m, "sharpen": a}) for m in ("linear", "none") for a in (0.0, 1.0)]
    out += [("exposure %.2f, sharpen 1.0" % e, {"exposure": e, "sharpen": 1.0}) for e in (0.45, 0.95)]
    out += [("JPEG %d, sharpen 1.0" % q, {"jpeg": q, "sharpen": 1.0}) for q in (70, 98)]
    out += [("softened %.1f px, sharpen %.1f" % (s, a), {"soften": s, "sharpen": a})
            for s in (0.5, 0.8, 1.0, 1.5, 2.0) for a in (0.0, 0.6)]
    return out


def linear_pictures(out, opt):
    """Light on the sensor, one picture for each ink; and the truth and the sensor's options."""
    path = {ink: os.path.join(out, "light-%.1f.npy" % ink) for ink in INKS}
    notes = os.path.join(out, "scene.json")
    if not os.path.exists(notes):
        tiles = table.build_tiles(opt)
        truth = table.make_truth(opt, tiles)
        picture, develop = table.look(opt, tiles, truth, lambda text: print(text, file=sys.stderr, flush=True))
        for ink in INKS:
            picture.cards = table.make_cards({**opt, "ink_spread": ink}, tiles)
            np.save(path[ink], compose.expose(picture))
        develop["balance"] = list(map(float, develop["balance"]))
        table.write_json(notes + ".part", {"truth": truth, "gain_of_exposure": develop["gain"] / opt["exposure"],
                                           "balance": develop["balance"]})
        os.replace(notes + ".part", notes)
    with open(notes) as file:
        return path, json.load(file)


def make_photo(out, name, opt, path, scene):
    file = os.path.join(out, name.replace(" ", "_").replace(",", "") + ".jpg")
    if not os.path.exists(file):
        develop = {**opt, "gain": scene["gain_of_exposure"] * opt["exposure"], "balance": scene["balance"]}
        light = np.load(path[opt["ink_spread"]])
        image = sensor.develop(np.random.default_rng([opt["seed"], 7]), light, develop)
        sensor.save(image, file + ".part.jpg", opt["jpeg"], opt["camera"], opt["f"], sensor.day(opt["seed"]))
        os.replace(file + ".part.jpg", file)
    return file


def gap_errors(inspection, truth):
    """Errors and whether the truth was within the stated bound, over all stations away from the seams' ends."""
    errors, held = [], []
    for seam in inspection["seams"]:
        t, stations = truth["seams"][seam["name"]], seam["stations"]
        for at, gap, u95, state in zip(*(stations[k] for k in ("at_mm", "gap_mm", "u95_mm", "state"))):
            if state == "ok" and MARGIN_MM <= at <= t["length"] - MARGIN_MM:
                errors.append(gap - float(np.interp(at, t["at"], t["gap"])))
                held.append(abs(errors[-1]) <= u95)
    return np.array(errors), np.array(held)


def inspect(program, photo, truth, kind):
    """One row of figures: bias, RMS, held, edge spread, note; or what the program said."""
    folder = "%s.%s" % (photo[:-4], kind)
    done = subprocess.run([program, "inspect", photo, "--tile", str(truth["tile"]), "--no-pictures", "-o", folder],
                          capture_output=True, text=True, check=False)
    if done.returncode > 1:
        return None, done.stderr.strip().split(": ", 1)[-1]
    with open(os.path.join(folder, "inspection.json")) as file:
        inspection = json.load(file)
    errors, held = gap_errors(inspection, truth)
    warned = [w for w in inspection["warnings"] if w.startswith("This photo")]
    return {"bias": errors.mean(), "rms": float(np.sqrt((errors ** 2).mean())), "held": held.mean(),
            "spread": inspection["scale"]["edge_spread_px"], "warned": warned[0] if warned else ""}, ""


def row(name, without, with_it, said):
    def figures(r):
        return "%+7.3f %6.3f" % (r["bias"], r["rms"]) if r else "      -      -"
    more = "%4.0f %%   %+7.3f   %s" % (100 * with_it["held"], with_it["spread"], "warns" if with_it["warned"] else "") if with_it else said
    print("%-34s %s   %s   %s" % (name, figures(without), figures(with_it), more), flush=True)


def main(program, uncorrected, out):
    os.makedirs(out, exist_ok=True)
    scene_opt = recipe.complete(SCENE)
    path, scene = linear_pictures(out, scene_opt)
    print("%-34s %14s   %22s   %s" % ("", "not corrected", "corrected", "spread"))
    print("%-34s %7s %6s   %7s %6s   %6s   %7s" % ("photo", "bias", "RMS", "bias", "RMS", "held", "px"))
    for name, changes in photos():
        photo = make_photo(out, name, {**scene_opt, **changes}, path, scene)
        without, _ = inspect(uncorrected, photo, scene["truth"], "without")
        with_it, said = inspect(program, photo, scene["truth"], "with")
        row(name, without, with_it, said)
    print("Gap bias and RMS in mm over all stations; held: truth within the stated bound of the corrected figure; spread: "
          "edge_spread_px.")


if __name__ == "__main__":
    if len(sys.argv) != 4:
        raise SystemExit(__doc__)
    main(*sys.argv[1:])
