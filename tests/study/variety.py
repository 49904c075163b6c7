"""The variety study: makes what is missing of the tables of tables.py, inspects them all, prints how well, by kind.

Run it through tests/study/variety, which says how.  What the figures are: judge.py and bykind.py.
"""
import argparse
import json
import os
import sys
from concurrent.futures import ProcessPoolExecutor

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path[:0] = [os.path.join(HERE, "..", "..", "samples", "make"), HERE]
import bykind  # noqa: E402
import judge  # noqa: E402
import photos  # noqa: E402
import tables  # noqa: E402
import tops  # noqa: E402


def say(text):
    print(text, file=sys.stderr, flush=True)


def make_table(job):
    """One photo of a table and its truth, unless they are there.  The truth is written last."""
    import recipe
    import table
    out, opt = job
    if not os.path.exists(out + ".truth.json"):
        known = {k: v for k, v in opt.items() if k in recipe.DEFAULT or k not in tables.MAY_GO}
        table.make(recipe.complete(known), out)
        say("made " + os.path.basename(out))


def make_boards(job):
    import boards
    out, camera = job
    if not os.path.exists(out + ".truth.json"):
        with open(out + ".recipe.json", "w") as file:
            json.dump({**camera, "blur": 0.6, "noise": 12000, "jpeg": 86, "seed": ord(out[-1])}, file)
        boards.main([out + ".recipe.json", out, str(photos.BOARDS)])
        say("made " + os.path.basename(out))


def make(out, wanted, jobs):
    """The photos of these numbers, as far as they are not there."""
    os.makedirs(out, exist_ok=True)
    chosen = {n: t for n, t in tables.numbered().items() if n in wanted}
    cameras = [(os.path.join(out, "camera-" + c), tables.CAMERAS[c]) for c in sorted({c for c, _, _ in chosen.values()})]
    work = [(os.path.join(out, name), {**opt, **view}) for n, (_, opt, views) in chosen.items()
            for name, view in zip(tables.shots(n, views), views or [{}])]
    with ProcessPoolExecutor(jobs) as pool:
        list(pool.map(make_boards, cameras))
        list(pool.map(make_table, work))


def some_of(names):
    """An option's type: some of the names."""
    def chosen(text):
        if not set(text.split(",")) <= set(names):
            raise argparse.ArgumentTypeError("they are " + ",".join(names))
        return text.split(",")
    return chosen


def program(path):
    if not os.access(path, os.X_OK) and not path.endswith(".json"):
        raise argparse.ArgumentTypeError("no program: " + path)
    return path


def options(parser):
    """Those that the study and the comparison share."""
    parser.add_argument("--only", metavar="NUMBERS",
                        help="these tables, like 1-16,65-76 (names of photos, like p11,p12, where they are no study's)")
    parser.add_argument("--lens", choices=(judge.NO_PROFILE, judge.PROFILE), help="one way only [both]")
    parser.add_argument("--kinds", type=some_of(bykind.KINDS), default=bykind.USUAL_KINDS,
                        help="some of %s [all but photo]" % ",".join(bykind.KINDS))
    parser.add_argument("--from", dest="fine", type=float, default=bykind.FINE, metavar="PX",
                        help="kinds hold the photos of so many px/mm and finer [%(default)g]")
    parser.add_argument("--jobs", type=int, default=int(os.environ.get("JOBS", "2")), help="at a time [JOBS or 2]")
    parser.add_argument("--json", metavar="FILE", help="the figures to a file too, for tests/study/compare")


def lens_ways(args):
    return (args.lens,) if args.lens else (judge.NO_PROFILE, judge.PROFILE)


def write(path, what):
    with open(path, "w") as file:
        json.dump(what, file)
        file.write("\n")


def main(argv):
    parser = argparse.ArgumentParser(prog="tests/study/variety", description=__doc__.split("\n")[0])
    parser.add_argument("program", type=program)
    parser.add_argument("out")
    parser.add_argument("count", nargs="?", type=int, default=tables.LAST, help="the tables up to this number [%(default)d]")
    parser.add_argument("--there", action="store_true", help="make nothing, judge the photos that are there")
    options(parser)
    args = parser.parse_args(argv)
    wanted = {n for n in range(1, args.count + 1) if not args.only or n in photos.chosen(args.only)[0]}
    if not args.there:
        make(args.out, wanted, args.jobs)
    found = photos.study_photos(args.program, args.out, wanted)
    judged = judge.inspect_all(args.program, found, lens_ways(args), args.jobs, args.out)
    found = {**bykind.summary(args.program, judged, args.fine), **tops.summary(judged)}
    if args.json:
        write(args.json, found)
    bykind.print_summary(found, lens_ways(args), args.kinds)
    tops.print_summary(found, lens_ways(args))


if __name__ == "__main__":
    main(sys.argv[1:])
