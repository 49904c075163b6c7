"""Sums of what was scored, the table that is printed, and what is asked of each kind."""
import json
import os

import kinds
from picture import HERE

CLEAN = "clean"

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
        unheld = max(0, (r.get("visible ok", 0) * HELD - r.get("held", 0)))
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
RED = os.path.join(HERE, "red.json")
SLACK = 0.02  # a red kind may scatter so much around the figure that is listed


def faults(name, f, listed):
    """What a row fails, in words.  listed: what is known of the kind, {"held": 0.71, ...}, or {}."""
    out = []
    if f["failures"]:
        out.append("%d ended as no run may" % f["failures"])
    if f["wrong"] > listed.get("wrong", 0):
        out.append("%d confident wrong verdicts" % f["wrong"])
    if (f["hidden ok"] or 0) > max(HIDDEN_OK, listed.get("hidden ok", 0) + SLACK):
        out.append("%.1f %% of the hidden stations called ok" % (100 * f["hidden ok"]))
    if f["held"] is not None and f["held"] < min(HELD, listed.get("held", 1) - SLACK):
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


def red():
    with open(RED) as file:
        return json.load(file)


def list_red(rows):
    """Writes what fails as the red list."""
    with open(RED, "w") as file:
        json.dump({name: red_of(f) for name, f in rows if name in kinds.KINDS and red_of(f)}, file, indent=1)
        file.write("\n")


def judge_rows(rows, listed):
    """Prints what is red and what is not asked for, and gives the number of faults that no list excuses."""
    found = []
    for name, f in rows:
        if name in kinds.KINDS or name == CLEAN:
            found += faults(name, f, listed.get(name, {}))
    known = {name: f for name, f in rows if listed.get(name)}
    for name, f in known.items():
        print("red  %s: %s" % (name, ", ".join("%s %s" % item for item in (red_of(f) or {"better than listed": "strike it off"}).items())))
    for fault in found:
        print("FAIL " + fault)
    print("%d kinds are red, %d faults" % (len(known), len(found)))
    return len(found)
