"""Figures by how the tops stand and how many photos there are, out of what judge.py gives, and their tables.

Of stations: share measured, bias, RMS, held (how often the truth lies within the stated u95, in %); of seams whose verdict stands how
many are confidently wrong (judge.SURE_MM beyond the limit) and how many are left open; of heights (against the median top) and of
steps along seams: how many are said, RMS, held.  Then which kinds of notes came, on how many tables that are level and on how many
that are not; NOT_LEVEL are those by which the program says that tops are not level.
"""
import math

import numpy as np

from bykind import WAYS, table
from judge import SURE_MM, TOLERANCE_MM, VERDICTS

NOT_LEVEL = ("tops not level",)
FALSE_ALARMS = 2.0  # %: fewer than so many level tables may be said not to be level
ALL = "all"
TOPS = ("level", "steps to 3 mm", "steps to 20 mm")
VIEWS = (ALL, "one photo", "two photos", "three photos")


def errors(judged, figure):
    """(RMS, held in %, count) of one figure over several inspections."""
    parts = [j.figures[figure] for j in judged if len(j.figures.get(figure, ()))]
    if not parts:
        return math.nan, math.nan, 0
    rows = np.concatenate([p[:, :2] for p in parts])
    return float(np.sqrt(np.mean(rows[:, 0] ** 2))), 100 * float(np.mean(np.abs(rows[:, 0]) <= rows[:, 1])), len(rows)


def surely_wrong(verdicts):
    """Of rows (widest read, u95, true widest, verdict)."""
    true, call = verdicts[:, 2], verdicts[:, 3]
    within, over = call == VERDICTS.index("within"), call == VERDICTS.index("over")
    return (within & (true > TOLERANCE_MM + SURE_MM)) | (over & (true < TOLERANCE_MM - SURE_MM))


def row(judged):
    stations = [j.figures["station"] for j in judged if len(j.figures.get("station", ()))]
    error = np.concatenate([s[:, 0] for s in stations]) if stations else np.zeros(0)
    verdicts = np.concatenate([j.verdicts for j in judged])
    rms, held, count = errors(judged, "station")
    height, step = errors(judged, "height"), errors(judged, "step")
    return {"tables": len(judged), "refused": sum(j.refused is not None for j in judged),
            "measured": 100 * count / max(1, sum(j.asked for j in judged)), "bias": float(error.mean()) if count else math.nan,
            "rms": rms, "held": held, "seams": len(verdicts), "wrong": int(surely_wrong(verdicts).sum()),
            "open": int((verdicts[:, 3] == VERDICTS.index("too close to call")).sum()),
            "wrong_at": [j.photo for j in judged if surely_wrong(j.verdicts).any()],
            "heights": height[2], "height_rms": height[0], "height_held": height[1],
            "steps": step[2], "step_rms": step[0], "step_held": step[1]}


def groups(judged):
    for lens in sorted({j.lens for j in judged}):
        for tops in TOPS:
            for views in VIEWS:
                chosen = [j for j in judged if j.lens == lens and j.kinds["tops"] == tops and views in (ALL, j.kinds["views"])]
                if chosen:
                    yield {"lens": lens, "tops": tops, "views": views}, chosen


def note_counts(judged):
    """[(lens, kind of note, level tables with it, of how many, other tables with it, of how many)]."""
    out = []
    for lens in sorted({j.lens for j in judged}):
        level, other = ([j for j in judged if j.lens == lens and (j.kinds["tops"] == "level") == yes and not j.refused] for yes in (True, False))
        for kind in sorted({kind for j in [*level, *other] for kind in j.notes}):
            out.append([lens, kind, *(n for them in (level, other) for n in (sum(kind in j.notes for j in them), len(them)))])
    return out


def summary(judged):
    """What goes into a file besides bykind.summary."""
    tops = [{**key, **row(chosen)} for key, chosen in groups(judged)]
    no_nan = [{k: None if isinstance(v, float) and math.isnan(v) else v for k, v in r.items()} for r in tops]
    return {"tops": no_nan, "notes": note_counts(judged)}


def text(value, form):
    return "-" if value is None else form % value


def line(r):
    said = ["%d" % r[what + "s"] for what in ("height", "step")]
    return [r["tops"], r["views"], "%d (%d)" % (r["tables"], r["refused"]), text(r["measured"], "%.1f %%"), text(r["bias"], "%+.4f"),
            text(r["rms"], "%.4f"), text(r["held"], "%.1f %%"), "%d, %d, %d" % (r["seams"], r["wrong"], r["open"]),
            said[0], text(r["height_rms"], "%.3f"), text(r["height_held"], "%.1f %%"),
            said[1], text(r["step_rms"], "%.3f"), text(r["step_held"], "%.1f %%")]


def print_summary(found, lenses):
    for lens in lenses:
        rows = [r for r in found["tops"] if r["lens"] == lens]
        if rows:
            print("\nTops, %s\n" % WAYS[lens])
            table(("tops", "views", "tables (refused)", "stations measured", "bias", "RMS", "held", "seams, confidently wrong, open",
                   "heights", "RMS", "held", "steps", "RMS", "held"), [line(r) for r in rows])
        for r in rows:
            if r["wrong_at"] and r["views"] == ALL:
                print("confidently wrong, %s: %s" % (r["tops"], " ".join(r["wrong_at"])))
        notes = [n[1:] for n in found["notes"] if n[0] == lens]
        if notes:
            print("\nNotes, %s\n" % WAYS[lens])
            table(("kind", "on level tables", "on others"), [[kind, "%d of %d" % (a, b), "%d of %d" % (c, d)] for kind, a, b, c, d in notes])
        for kind, count, of, _, _ in notes:
            if kind in NOT_LEVEL and of and 100 * count / of >= FALSE_ALARMS:
                print("false alarms: \"%s\" on %d of %d level tables" % (kind, count, of))
