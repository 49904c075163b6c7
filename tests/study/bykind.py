"""Figures by kind, out of what judge.py gives, and their tables.

A row: count of figures and photos, bias, RMS, "held" (how often the truth lies within the stated u95, in %), "error over u" (RMS
of error over standard uncertainty u = u95 / 2: 1 when the ± is as wide as the errors), median u95.  mm, or degrees for angles.
"low" and "high" stand where held is outside what is asked: for stations in kinds of more than 2000, for seams where their number
leaves no room for chance.  "worst seam" is the mean error of the seam (of more than WORST_FROM stations in that kind) where it
is greatest.

A verdict is right or wrong too seldom near the limit to count by kind.  Its guard band says more: "within" is said up to
y = T - g, g = 1.645 u, so that at its edge the widest gap exceeds the limit in at most 5 % (ISO 14253-1:2017, JCGM 106:2012).
Any limit may be asked for, so each seam is held against the two limits at whose edge it stands: "within holds" is how often
the true widest gap is at most y + g, "over holds" how often at least y - g.  Both should be 95 %.  Beside them stand the
calls at the study's own limit, and those of them that were near it: |y - T| <= u95.
"""
import math

import numpy as np

from judge import TOLERANCE_MM, VERDICTS

FINE = 3.0               # px/mm from which the study's aims hold
CLOSED_MM = 0.05
WIDTHS_PX = ((1, "under 1 px"), (3, "1 to 3 px"), (6, "3 to 6 px"), (math.inf, "wider"))
CLOSED = "closed, under %g mm" % CLOSED_MM
GUARD = 1.6448 / 2       # of u95, one-sided 95 % (src/maths/guard.h)
HELD = (93.0, 97.0)      # asked, %
RMS_MM, BIAS_MM = 0.025, 0.01  # asked of stations
WORST_FROM = 20          # stations
MANY = 2000              # stations from which a kind's share is asked to keep to that
FIGURES = ("station", "seam mean", "widest gap", "angle", "straightness", "length")  # what the tops' heights do: tops.py
WAYS = {"profile": "with profile", "estimated": "lens estimated"}
USUAL_KINDS = ("photos", "resolution", "width", "light", "colour", "noise", "JPEG", "tone curve")
KINDS = USUAL_KINDS + ("photo", "tops", "views")
ORDER = ("all", "and finer", "of these", "coarser", "one card", "closed", "under", "1 to", "2 to", "3 to", "4 to", "5 and", "8000",
         "80 to", "90", "wider", "more", "window", "lamp", "two", "overcast", "level", "steps to 3", "steps to 20", "one photo", "two photos", "three photos")  # how the names of classes begin (or end)
BY_KIND = {"station", "seam mean", "widest gap"}


# ---- which kinds --------------------------------------------------------------------------------------------------

def photo_kinds(judged, fine_px):
    """(kind, of) that the whole photo belongs to.  All but photos and resolution hold the photos of fine_px and finer only.  Tables
    that are not level belong to the last three only: tops.py says more of them."""
    fine, kinds = judged.px_per_mm >= fine_px, judged.kinds
    own = [("photo", judged.photo), ("tops", kinds["tops"]), ("views", kinds["views"])]
    if kinds["tops"] != "level":
        return own
    member = {"all": True, "%g px/mm and finer" % fine_px: fine and fine_px > 0, "coarser": not fine,
              "one card": kinds.get("cards") == "one card"}
    if fine and "tone curve" in kinds:
        member["of these, tone curve " + kinds["tone curve"]] = True
    out = [("photos", name) for name, yes in member.items() if yes]
    out += [("resolution", kinds["resolution"]), *own]
    return out + [(k, kinds[k]) for k in USUAL_KINDS if fine and k != "resolution" and k in kinds]


def widths(true_mm, px_per_mm):
    """Class of each true gap."""
    edges = [w for w, _ in WIDTHS_PX[:-1]]
    names = np.array([n for _, n in WIDTHS_PX])
    return np.where(true_mm < CLOSED_MM, CLOSED, names[np.searchsorted(edges, true_mm * px_per_mm, "right")])


def shares(judged, true_mm, fine_px):
    """((kind, of), which rows) for rows with these true gaps; NaN has no width."""
    everything = np.ones(len(true_mm), bool)
    out = [(k, everything) for k in photo_kinds(judged, fine_px)]
    if judged.kinds["tops"] == "level" and judged.px_per_mm >= fine_px and len(true_mm) and np.isfinite(true_mm).all():
        classes = widths(true_mm, judged.px_per_mm)
        out += [(("width", str(name)), classes == name) for name in np.unique(classes)]
    return out


def place(key):
    """Sorts kinds as KINDS has them, and classes from little to much."""
    kind, of = key
    rank = next((i for i, word in enumerate(ORDER) if of.startswith(word) or of.endswith(word)), len(ORDER))
    return KINDS.index(kind), rank, of


# ---- figures ------------------------------------------------------------------------------------------------------

def worst_seam(parts):
    """Of rows (error, u95, true gap, seam)."""
    means = [0.0]
    for rows in parts.values():
        count, total = np.bincount(rows[:, 3].astype(int)), np.bincount(rows[:, 3].astype(int), rows[:, 0])
        means += list(total[count > WORST_FROM] / count[count > WORST_FROM])
    return max(means, key=abs)


def mean_squares(parts):
    """{photo and seam (of stations) or photo: mean square of the errors}; what stands together errs together."""
    out = {}
    for name, rows in parts.items():
        seams = rows[:, 3] if rows.shape[1] > 3 else np.zeros(len(rows))
        for seam in np.unique(seams):
            out["%s %d" % (name, seam)] = round(float(np.mean(rows[seams == seam, 0] ** 2)), 9)
    return out


def figures(parts):
    """A row of {photo: (error, u95, true gap, seam where there is one)}."""
    rows = np.concatenate(list(parts.values()))
    error, u95 = rows[:, 0], rows[:, 1]
    with np.errstate(divide="ignore"):
        over_u = np.sqrt(np.mean((error / (u95 / 2)) ** 2))
    return {"photos": len(parts), "count": len(rows), "bias": error.mean(), "rms": np.sqrt(np.mean(error ** 2)),
            "held": 100 * np.mean(np.abs(error) <= u95), "over_u": over_u, "u95": np.median(u95),
            "worst": worst_seam(parts) if rows.shape[1] > 3 else None,
            "squares": mean_squares(parts)}


def verdict_figures(parts):
    rows = np.concatenate(list(parts.values()))
    read, u95, true, call = rows.T
    guard, over = GUARD * u95, true > TOLERANCE_MM
    within, said_over = call == VERDICTS.index("within"), call == VERDICTS.index("over")
    wrong = (within & over) | (said_over & (true < TOLERANCE_MM))
    near = (within | said_over) & (np.abs(read - TOLERANCE_MM) <= u95)
    return {"photos": len(parts), "count": len(rows), "within_holds": 100 * np.mean(true <= read + guard),
            "over_holds": 100 * np.mean(true >= read - guard), "said_within": int(within.sum()), "said_over": int(said_over.sum()),
            "open": int(len(rows) - within.sum() - said_over.sum()), "wrong_within": int((within & over).sum()),
            "unsafe": int((within & (true > TOLERANCE_MM + u95)).sum()), "wrong_over": int((wrong & said_over).sum()),
            "near": int(near.sum()), "wrong_near": int((wrong & near).sum())}


def collect(judged, fine_px, rows_of, make):
    """{(lens, name, kind, of): make(...)}; rows_of(one) gives {name: (rows, true gaps)}."""
    parts = {}
    for one in judged:
        for name, (rows, true_mm) in rows_of(one).items():
            for (kind, of), mine in shares(one, true_mm, fine_px):
                if mine.any():
                    parts.setdefault((one.lens, name, kind, of), {})[one.photo] = rows[mine]
    return [{"lens": key[0], "figure": key[1], "kind": key[2], "of": key[3], **clean(make(p))} for key, p in parts.items()]


def clean(row):
    return {k: round(float(v), 6) if isinstance(v, float) else v for k, v in row.items()}


def summary(program, judged, fine_px=FINE):
    """All figures of one program, as goes into a file."""
    return {
        "program": program, "fine_px_per_mm": fine_px, "photos": sorted({j.photo for j in judged}),
        "seconds": round(sum(j.seconds for j in judged) / max(1, len(judged)), 4),
        "refused": ["%s, %s: %s" % (j.photo, j.lens, j.refused) for j in judged if j.refused],
        "missing": ["%s, %s: %s" % (j.photo, j.lens, " ".join(j.missing)) for j in judged if j.missing],
        "rows": collect(judged, fine_px, lambda j: {k: (v, v[:, 2]) for k, v in j.figures.items()}, figures),
        "verdicts": collect(judged, fine_px, lambda j: {"verdict": (j.verdicts, j.verdicts[:, 2])}, verdict_figures),
    }


# ---- tables -------------------------------------------------------------------------------------------------------

def wilson(share, count):
    """95 % interval of a share in % (Wilson, 1927)."""
    z, p = 1.96, share / 100
    middle, half = p + z * z / (2 * count), z * math.sqrt(p * (1 - p) / count + z * z / (4 * count * count))
    return 100 * (middle - half) / (1 + z * z / count), 100 * (middle + half) / (1 + z * z / count)


def outside(share, count, figure):
    """"low", "high" or "": against what is asked.  Few figures (seams) are held to it only as far as chance allows."""
    if figure == "station":
        low = high = share
        if count <= MANY:
            return ""
    else:
        low, high = wilson(share, count)
    return "low" if high < HELD[0] else "high" if low > HELD[1] else ""


def wanted(rows, figure, lens, kinds):
    chosen = [r for r in rows if r["figure"] == figure and r["lens"] == lens and r["kind"] in kinds]
    return sorted(chosen, key=lambda r: place((r["kind"], r["of"])))


def table(head, lines):
    print("| " + " | ".join(head) + " |\n|" + " --- |" * len(head))
    for line in lines:
        print("| " + " | ".join(line) + " |")
    print()


def figure_line(r):
    held = outside(r["held"], r["count"], r["figure"]) if r["figure"] in BY_KIND else ""
    return [r["kind"], r["of"], "%d (%d)" % (r["count"], r["photos"]), "%+.4f" % r["bias"], "%.4f" % r["rms"],
            ("%.1f %% " % r["held"] + held).strip(), "%.2f" % r["over_u"], "%.4f" % r["u95"]] + (
                ["%+.4f" % r["worst"]] if r["worst"] is not None else [])


def print_figure(s, figure, lens, kinds):
    lines = [figure_line(r) for r in wanted(s["rows"], figure, lens, kinds)]
    if lines:
        print("%s, %s\n" % (figure.capitalize(), WAYS[lens]))
        head = ("kind", "of", "count (photos)", "bias", "RMS", "held", "error over u", "median u95", "worst seam")
        table(head[:len(lines[0])], lines)


def verdict_line(r):
    edges = [("%.1f %% " % r[k] + outside(r[k], r["count"], "verdict")).strip() for k in ("within_holds", "over_holds")]
    calls = ["%d, %d" % (r[said], r[wrong]) for said, wrong in
             (("said_within", "wrong_within"), ("said_over", "wrong_over"), ("near", "wrong_near"))]
    return [r["kind"], r["of"], "%d (%d)" % (r["count"], r["photos"]), *edges, *calls, str(r["unsafe"]), str(r["open"])]


def print_verdicts(s, lens, kinds):
    lines = [verdict_line(r) for r in wanted(s["verdicts"], "verdict", lens, kinds)]
    if lines:
        print("Verdicts, %s\n" % WAYS[lens])
        table(("kind", "of", "seams (photos)", "within holds", "over holds", "within, wrong", "over, wrong",
               "near the limit, wrong", "wrong within beyond the ±", "too close to call"), lines)


def print_summary(s, lenses, kinds):
    for lens in lenses:
        for figure in FIGURES:
            print_figure(s, figure, lens, kinds if figure in BY_KIND else [k for k in kinds if k == "photos"])
        print_verdicts(s, lens, kinds)
    judge_aims(s, lenses)


def judge_aims(s, lenses):
    """What is asked of a study, and what of it is not so."""
    for lens in lenses:
        stations = [r for r in s["rows"] if r["lens"] == lens and r["figure"] == "station"]
        for r in (r for r in stations if r["of"] == "%g px/mm and finer" % s["fine_px_per_mm"]):
            print("%s, %s: RMS %.4f (asked: %g), bias %+.4f (%g)" % (lens, r["of"], r["rms"], RMS_MM, r["bias"], BIAS_MM))
        rows = [r for r in stations if r["count"] > MANY and r["kind"] in USUAL_KINDS]
        rows.sort(key=lambda r: place((r["kind"], r["of"])))
        bad = ["%s %s" % (r["kind"], r["of"]) for r in rows if outside(r["held"], r["count"], "station")]
        print("%s: held %g to %g %% in %d of %d kinds of more than %d stations%s" %
              (lens, *HELD, len(rows) - len(bad), len(rows), MANY, "; not in: " + ", ".join(bad) if bad else ""))
    print("%.2f s of a core a photo" % s["seconds"])
    for line in s["refused"]:
        print("refused: " + line)
    for line in s["missing"]:
        print("not measured: " + line)
