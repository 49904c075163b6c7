"""Adverse photos: clean photos altered in many kinds, inspected, and held against their truth.  See README.md and the script `run`."""
import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor

sys.dont_write_bytecode = True
try:
    import numpy  # noqa: F401
    from PIL import Image
except ImportError as missing:
    print("adverse photos need Debian's python3-numpy and python3-pil: %s" % missing)
    sys.exit(77)
import kinds  # noqa: E402
import picture  # noqa: E402
import score  # noqa: E402
import shots  # noqa: E402
import alter_cards  # noqa: E402,F401
import alter_cover  # noqa: E402,F401
import alter_frame  # noqa: E402,F401
import alter_lens  # noqa: E402,F401
import alter_lines  # noqa: E402,F401
import alter_process  # noqa: E402,F401

TIMEOUT_S = 120
CLEAN = "clean"
ORIENTATION = 0x0112  # EXIF's tag
_scenes = {}


def scene_of(shot):
    """Each photo is decoded once a process; jobs come photo after photo."""
    if shot.name not in _scenes:
        _scenes.clear()
        _scenes[shot.name] = picture.Scene(shot.path, shot.options, shot.board_profile)
    return _scenes[shot.name]


def write(scene, path):
    exif = Image.Exif()
    if scene.exif:
        exif.load(scene.exif)
    if scene.tag:
        exif[ORIENTATION] = scene.tag
    Image.fromarray(scene.image).save(path, "JPEG", **scene.save, exif=exif)


def altered(shot, kind, strength, folder):
    scene = scene_of(shot)
    scene.folder = folder
    if kind == CLEAN:
        scene.start()
        return scene
    return kinds.alter(scene, kind, strength)


def command(program, photo, scene, out):
    told = [word for option, value in scene.options.items() for word in (option, value)]
    return [program, "inspect", photo, "--no-pictures", "-o", out, *told]


def run_one(job):
    """One altered photo, inspected and scored."""
    program, shot, kind, strength = job
    with tempfile.TemporaryDirectory(prefix="adverse-") as folder:
        photo, out = os.path.join(folder, "table.jpg"), os.path.join(folder, "out")
        scene = altered(shot, kind, strength, folder)
        if kind == CLEAN:
            shutil.copy(shot.path + ".jpg", photo)
        else:
            write(scene, photo)
        result = {"kind": kind, "strength": strength, "table": shot.name, **inspect(command(program, photo, scene, out), out)}
        if result["status"] in (0, 1) and not result["failure"]:
            with open(os.path.join(out, "inspection.json")) as file:
                inspection = json.load(file)
            free = kinds.KINDS[kind].free if kind in kinds.KINDS else ()
            result.update(score.without(score.score(inspection, score.facts(scene)), free))
            result["notes"] = sorted({note["kind"] for note in inspection.get("notes", [])})
        return result


def inspect(words, out):
    """status, said (the last line on stderr) and failure: why this is no way to end, or None."""
    try:
        done = subprocess.run(words, capture_output=True, text=True, timeout=TIMEOUT_S)
    except subprocess.TimeoutExpired:
        return {"status": None, "said": "", "failure": "still running after %d s" % TIMEOUT_S}
    lines = done.stderr.strip().split("\n")
    return {"status": done.returncode, "said": lines[-1], "failure": failure(done.returncode, done.stderr, os.path.exists(out))}


def failure(status, stderr, written):
    if status < 0:
        return "ended by signal %d" % -status
    if status not in (0, 1, 2):
        return "exit status %d" % status
    if status == 2 and len(stderr.strip().split("\n")) != 1 or status == 2 and not stderr.strip():
        return "exit status 2 without one line on stderr"
    if status == 2 and written:
        return "exit status 2, and results were written"
    if status in (0, 1) and not written:
        return "exit status %d, and nothing was written" % status
    return None


# ---- sums ---------------------------------------------------------------------------------------------------------

SUMS = ("hidden", "hidden ok", "visible", "visible ok", "squares", "held", "wrong", "far", "angles", "angles held", "lengths",
        "lengths held", "misread")


def sums(results):
    total = {key: sum(r.get(key, 0) for r in results) for key in SUMS}
    total["photos"] = len(results)
    total["refused"] = sum(r["status"] == 2 and not r["failure"] for r in results)
    total["failures"] = sum(bool(r["failure"]) for r in results)
    total["measured"] = total["photos"] - total["refused"] - total["failures"]
    return total


def share(part, whole):
    return part / whole if whole else None


def figures(total):
    """What a row says: names and values; None where there is nothing to say."""
    rms = (total["squares"] / total["visible ok"]) ** 0.5 if total["visible ok"] else None
    return {"photos": total["photos"], "refused": total["refused"], "measured": total["measured"], "misread": total["misread"],
            "hidden ok": share(total["hidden ok"], total["hidden"]), "RMS": rms, "held": share(total["held"], total["visible ok"]),
            "coverage": share(total["visible ok"], total["visible"]), "angles": share(total["angles held"], total["angles"]),
            "lengths": share(total["lengths held"], total["lengths"]), "wrong": total["wrong"], "far": total["far"],
            "failures": total["failures"]}


def text_of(name, value):
    if value is None:
        return "-"
    if name == "RMS":
        return "%.3f" % value
    if name == "hidden ok":
        return "%.1f %%" % (100 * value)
    return "%.2f" % value if isinstance(value, float) else str(value)


def rows_of(results, by_strength):
    """(name, figures) a kind, in the order of the register, and a total."""
    out = []
    for name in [CLEAN, *kinds.KINDS]:
        mine = [r for r in results if r["kind"] == name]
        if mine:
            out.append((name, figures(sums(mine))))
        if by_strength and name != CLEAN:
            for k, word in enumerate(kinds.STRENGTHS):
                some = [r for r in mine if r["strength"] == k]
                if some:
                    out.append(("  " + word, figures(sums(some))))
    altered_ones = [r for r in results if r["kind"] != CLEAN]
    return out + [("all altered", figures(sums(altered_ones)))] if altered_ones else out


def print_rows(rows, markdown):
    names = ["kind", *rows[0][1]]
    cells = [[name, *(text_of(k, v) for k, v in f.items())] for name, f in rows]
    if markdown:
        print("| " + " | ".join(names) + " |")
        print("| --- |" + " ---: |" * (len(names) - 1))
        for row in cells:
            print("| " + " | ".join(row) + " |")
        return
    widths = [max(len(row[k]) for row in [names, *cells]) for k in range(len(names))]
    for row in [names, *cells]:
        print(row[0].ljust(widths[0]) + "  " + "  ".join(c.rjust(w) for c, w in zip(row[1:], widths[1:])))


def print_worst(results, count=25):
    """Photos that were answered wrongly, the worst first."""
    def bad(r):
        unheld = r.get("visible ok", 0) - r.get("held", 0)
        return 100 * bool(r["failure"]) + 3 * r.get("wrong", 0) + r.get("hidden ok", 0) / 20 + unheld / 50
    worst = sorted((r for r in results if bad(r) > 0.5), key=bad, reverse=True)[:count]
    for r in worst:
        if r["failure"]:
            print("%s %s %s: %s" % (r["kind"], kinds.STRENGTHS[r["strength"]], r["table"], r["failure"]))
        else:
            total = sums([r])
            print("%s %s %s: wrong %d (far %d), hidden ok %d of %d, held %d of %d, RMS %s%s" % (
                r["kind"], kinds.STRENGTHS[r["strength"]], r["table"], total["wrong"], total["far"], total["hidden ok"], total["hidden"], total["held"],
                total["visible ok"], text_of("RMS", figures(total)["RMS"]), ", misread" if total["misread"] else ""))


# ---- what is asked -------------------------------------------------------------------------------------------------

HIDDEN_OK, HELD = 0.02, 0.90  # asked of every kind: issue 13's acceptance
RED = os.path.join(picture.HERE, "red.json")
SLACK = 0.02  # a red kind may scatter so much around the figure that is listed


def faults(name, f, red):
    """What a row fails, in words.  red: what is known of the kind, {"held": 0.71, ...}, or {}."""
    out = []
    if f["failures"]:
        out.append("%d ended as no run may" % f["failures"])
    if f["wrong"] > red.get("wrong", 0):
        out.append("%d confident wrong verdicts" % f["wrong"])
    if (f["hidden ok"] or 0) > max(HIDDEN_OK, red.get("hidden ok", 0) + SLACK):
        out.append("%.1f %% of the hidden stations called ok" % (100 * f["hidden ok"]))
    if f["held"] is not None and f["held"] < min(HELD, red.get("held", 1) - SLACK):
        out.append("only %.2f of the stations held" % f["held"])
    return ["%s: %s" % (name, fault) for fault in out]


def red_of(f):
    """What has to stand in the red list for a row, {} for none."""
    out = {"wrong": f["wrong"]} if f["wrong"] else {}
    if (f["hidden ok"] or 0) > HIDDEN_OK:
        out["hidden ok"] = round(f["hidden ok"], 3)
    if f["held"] is not None and f["held"] < HELD:
        out["held"] = round(f["held"], 2)
    return out


def judge_rows(rows, red):
    """Prints what is red and what is not asked for, and gives the number of faults that no list excuses."""
    found = []
    for name, f in rows:
        if name in kinds.KINDS or name == CLEAN:
            found += faults(name, f, red.get(name, {}))
    known = {name: f for name, f in rows if red.get(name)}
    for name, f in known.items():
        print("red  %s: %s" % (name, ", ".join("%s %s" % item for item in (red_of(f) or {"better than listed": "strike it off"}).items())))
    for fault in found:
        print("FAIL " + fault)
    print("%d kinds are red, %d faults" % (len(known), len(found)))
    return len(found)


# ---- the command --------------------------------------------------------------------------------------------------

def options():
    p = argparse.ArgumentParser(prog="run", description="Alters clean photos, inspects them, and says how well that went.")
    p.add_argument("build", help="the build folder, or the program in it")
    p.add_argument("--quick", action="store_true", help="the middling strength, each kind on one of two small tables")
    p.add_argument("--only", help="kinds or themes, with commas")
    p.add_argument("--tables", help="photos without their endings, or names of samples, with commas; NAME.truth.json lies beside each")
    p.add_argument("--strength", choices=kinds.STRENGTHS, help="one strength only")
    p.add_argument("--lens", help="a profile for all tables, or none [each table's own way]")
    p.add_argument("--jobs", type=int, default=2)
    p.add_argument("--json", help="a file for every photo's result")
    p.add_argument("--judge", action="store_true", help="ends with 1 where a kind fails what is asked and red.json does not list it")
    p.add_argument("--list-red", action="store_true", help="writes what fails into red.json")
    p.add_argument("--markdown", action="store_true")
    p.add_argument("--by-strength", action="store_true", help="a row for each strength too")
    p.add_argument("--cache", help="a folder for what is made once: lens profiles [BUILD/adverse]")
    p.add_argument("--list", action="store_true", help="only says what kinds there are")
    return p.parse_args()


def chosen(only):
    wanted = only.split(",") if only else None
    out = [k for k in kinds.KINDS.values() if wanted is None or k.name in wanted or k.theme in wanted]
    unknown = set(wanted or ()) - {k.name for k in out} - {k.theme for k in out} - {CLEAN}
    if unknown:
        raise SystemExit("run: there is no kind or theme " + ", ".join(sorted(unknown)))
    return out


def jobs_of(program, tables, which, quick, strength):
    """Every kind on every table in all strengths, or in one; the quick half has the middling one, and kinds take turns among the tables."""
    strengths = (kinds.STRENGTHS.index(strength),) if strength else (1,) if quick else (0, 1, 2)
    out = []
    for n, shot in enumerate(tables):
        out.append((program, shot, CLEAN, 0))
        scene = scene_of(shot)
        mine = which[n::len(tables)] if quick else which
        out += [(program, shot, k.name, s) for k in mine if k.fits(scene) for s in strengths]
    return out


def main():
    given = options()
    if given.list:
        for k in kinds.KINDS.values():
            print("%-20s %-8s %s: %s" % (k.name, k.theme, k.says, ", ".join(str(s) for s in k.strengths)))
        return 0
    program = given.build if os.path.isfile(given.build) else os.path.join(given.build, "seamwright")
    cache = given.cache or os.path.join(os.path.dirname(os.path.abspath(program)), "adverse")
    os.environ["OMP_NUM_THREADS"] = "1"
    tables = shots.choose(program, cache, given.tables, given.lens, given.quick)
    work = jobs_of(program, tables, chosen(given.only), given.quick, given.strength)
    with ProcessPoolExecutor(given.jobs) as pool:
        results = list(pool.map(run_one, work, chunksize=4))
    rows = rows_of(results, given.by_strength)
    print_rows(rows, given.markdown)
    print()
    print_worst(results)
    if given.json:
        with open(given.json, "w") as file:
            json.dump(results, file, indent=1)
    if given.list_red:
        with open(RED, "w") as file:
            json.dump({name: red_of(f) for name, f in rows if name in kinds.KINDS and red_of(f)}, file, indent=0)
            file.write("\n")
    if given.judge:
        with open(RED) as file:
            return 1 if judge_rows(rows, json.load(file)) else 0
    return 0


if __name__ == "__main__":
    sys.exit(main())
