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
import report  # noqa: E402
import score  # noqa: E402
import shots  # noqa: E402
from report import CLEAN  # noqa: E402
import alter_cards  # noqa: E402,F401
import alter_cover  # noqa: E402,F401
import alter_frame  # noqa: E402,F401
import alter_lens  # noqa: E402,F401
import alter_lines  # noqa: E402,F401
import alter_process  # noqa: E402,F401
import alter_shake  # noqa: E402,F401

TIMEOUT_S = 120
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
    """Every kind on every table in all strengths, or in one; the quick half has the middling one, and kinds take turns among
    the tables, but lines beside seams tell most where seams are closed: on the last one."""
    strengths = (kinds.STRENGTHS.index(strength),) if strength else (1,) if quick else (0, 1, 2)
    out = []
    for n, shot in enumerate(tables):
        out.append((program, shot, CLEAN, 0))
        scene = scene_of(shot)
        mine = [k for i, k in enumerate(which) if not quick or n == (len(tables) - 1 if k.theme == "lines" else i % len(tables))]
        out += [(program, shot, k.name, s) for k in mine if k.fits(scene) for s in strengths]
    return out


def watched(results, count):
    """The results as a list; on a terminal it says how far it is."""
    out = []
    for result in results:
        out.append(result)
        if sys.stderr.isatty():
            print("\r%d of %d" % (len(out), count), end="" if len(out) < count else "\n", file=sys.stderr, flush=True)
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
        results = watched(pool.map(run_one, work, chunksize=4), len(work))
    rows = report.rows_of(results, given.by_strength)
    report.print_rows(rows, given.markdown)
    print()
    report.print_worst(results)
    if given.json:
        with open(given.json, "w") as file:
            json.dump(results, file, indent=1)
    if given.list_red:
        report.list_red(rows)
    if given.judge and report.judge_rows(rows, report.red()):
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
