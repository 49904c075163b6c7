"""Two builds of the program or more over the same photos: their figures side by side.

Run it through tests/study/compare, which says how.  A program may also be a file of figures (--json of a study or comparison).
Columns hold one figure for each program.  "seams' RMS times": what a seam's RMS error is multiplied by from the first program to
the last (geometric mean, with two standard errors over the seams): seldom large errors hardly move it, as they do RMS.
"""
import argparse
import json
import math
import os
import statistics
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path[:0] = [HERE]
import bykind  # noqa: E402
import judge  # noqa: E402
import photos  # noqa: E402
import variety  # noqa: E402

LEAST_MM2 = 1e-8  # no error of a seam is told from nothing below 0.0001 mm
COLUMNS = (("bias", "bias", "%+.4f"), ("RMS", "rms", "%.4f"), ("held", "held", "%.1f"), ("error over u", "over_u", "%.2f"),
           ("median u95", "u95", "%.4f"))
SEAM_COLUMN = ("worst seam", "worst", "%+.4f")
VERDICT_COLUMNS = (("within holds", "within_holds", "%.1f"), ("over holds", "over_holds", "%.1f"),
                   ("too close to call", "open", "%d"), ("wrong within", "wrong_within", "%d"), ("wrong over", "wrong_over", "%d"))


def change(first, last):
    """Geometric mean of what the RMS of a seam (of a photo) is multiplied by, with two standard errors."""
    both = sorted(first["squares"].keys() & last["squares"].keys())
    ratio = [0.5 * math.log(max(last["squares"][k], LEAST_MM2) / max(first["squares"][k], LEAST_MM2)) for k in both]
    if len(ratio) < 3:
        return "-"
    return "%.3f ± %.3f" % (math.exp(statistics.mean(ratio)), 2 * statistics.stdev(ratio) / math.sqrt(len(ratio)))


def side_by_side(rows, columns):
    return [" / ".join(form % r[key] if r and r.get(key) is not None else "-" for r in rows) for _, key, form in columns]


def matched(summaries, part, figure, lens, kinds):
    """Rows of the same kind: [one row or None for each program]."""
    found = [{(r["kind"], r["of"]): r for r in bykind.wanted(s[part], figure, lens, kinds)} for s in summaries]
    keys = sorted(set().union(*found), key=bykind.place)
    return [(key, [f.get(key) for f in found]) for key in keys]


def print_figure(summaries, figure, lens, kinds):
    columns, lines = COLUMNS + (SEAM_COLUMN,) if figure == "station" else COLUMNS, []
    for (kind, of), rows in matched(summaries, "rows", figure, lens, kinds):
        count = " / ".join(sorted({str(r["count"]) for r in rows if r}))
        times = [change(rows[0], rows[-1]) if rows[0] and rows[-1] else "-"] if len(rows) > 1 else []
        lines.append([kind, of, count, *side_by_side(rows, columns), *times])
    if lines:
        print("%s, %s\n" % (figure.capitalize(), bykind.WAYS[lens]))
        what = "seams" if figure == "station" else "photos"
        head = ["kind", "of", "count", *(name for name, _, _ in columns), what + "' RMS times"]
        bykind.table(head[:len(lines[0])], lines)


def print_verdicts(summaries, lens, kinds):
    lines = []
    for (kind, of), rows in matched(summaries, "verdicts", "verdict", lens, kinds):
        count = " / ".join(sorted({str(r["count"]) for r in rows if r}))
        lines.append([kind, of, count, *side_by_side(rows, VERDICT_COLUMNS)])
    if lines:
        print("Verdicts, %s\n" % bykind.WAYS[lens])
        bykind.table(("kind", "of", "seams", *(name for name, _, _ in VERDICT_COLUMNS)), lines)


def of_program(program, args):
    if program.endswith(".json"):
        with open(program) as file:
            return json.load(file)
    found = [p for folder in args.photos for p in photos.photos(program, folder, args.only, args.profile)]
    if not found:
        sys.exit("compare: no photo with its truth in " + ", ".join(args.photos))
    if len({p.name for p in found}) < len(found):
        sys.exit("compare: photos of the same name in two folders; take the folders one by one, with --json")
    for lens in variety.lens_ways(args):
        if lens == judge.PROFILE and not all(p.lens for p in found):
            variety.say("compare: some photos have no lens profile (--profile FILE); they are read with the lens estimated only")
    if all(p.px_per_mm < args.fine for p in found):
        variety.say("compare: no photo of %g px/mm or finer, so no kinds are told apart; --from 0 takes all" % args.fine)
    return bykind.summary(program, judge.inspect_all(program, found, variety.lens_ways(args), args.jobs), args.fine)


def main(argv):
    parser = argparse.ArgumentParser(prog="tests/study/compare", description=__doc__.split("\n")[0])
    parser.add_argument("programs", nargs="+", type=variety.program, metavar="PROGRAM",
                        help="a build of seamwright, or figures that --json wrote")
    parser.add_argument("--photos", action="append", default=[], metavar="FOLDER",
                        help="a study's folder, or one of photos with truth; may be given again")
    parser.add_argument("--profile", metavar="FILE", help="lens profile of photos that are no study's")
    parser.add_argument("--figures", type=variety.some_of(bykind.FIGURES), default=["station", "seam mean"],
                        help="some of %s [station,seam mean]" % ",".join(bykind.FIGURES))
    variety.options(parser)
    args = parser.parse_args(argv)
    summaries = [of_program(p, args) for p in args.programs]
    if args.json:
        variety.write(args.json, summaries[-1])
    if len(summaries) > 1 and all(s["rows"] == summaries[0]["rows"] for s in summaries):
        variety.say("compare: no figure differs; a program copied out of its build folder still uses the library there")
    for i, s in enumerate(summaries, 1):
        print("%d: %s, %.2f s of a core a photo, %d photos, %d refused, %d with seams not measured" %
              (i, s["program"], s["seconds"], len(s["photos"]), len(s["refused"]), len(s.get("missing", []))))
    print()
    for lens in variety.lens_ways(args):
        for figure in args.figures:
            print_figure(summaries, figure, lens, args.kinds)
        print_verdicts(summaries, lens, args.kinds)


if __name__ == "__main__":
    main(sys.argv[1:])
