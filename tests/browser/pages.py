#!/usr/bin/env python3
"""The pages in a real browser: pages.py PROGRAM SOURCE

What is asked: verdict, picture and next step within two phone screens; the page folded within eight; nothing cut off or scrolling
sideways; words of 12 px and more, contrast of 4.5 and more (WCAG 2.2, 1.4.3); every control by keyboard; three sheets of paper at
most; without script the verdict and the list; at any limit the program's own verdicts; nothing asked of a network; a hostile name
does no harm. Ends with 77 where there is no browser.
"""
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

from chrome import Chrome

PHONE, DESK = (390, 844), (1280, 900)
LEAST_PX, LEAST_CONTRAST, MOST_SHEETS, MOST_BYTES = 12, 4.5, 3, 2_000_000
LIMITS = [round(0.3 + 1.7 * k / 9, 2) for k in range(10)]
HOSTILE = "</script><script>window.harmed=1</script><img src=x onerror=window.harmed=1>'\"&.jpg"

failures = 0


def check(holds, what):
    global failures
    if not holds:
        failures += 1
        print("FAIL:", what)


def run(program, *arguments, status=(0, 1)):
    result = subprocess.run([program, *arguments], capture_output=True, text=True)
    check(result.returncode in status, f"seamwright {' '.join(arguments)}: exit status {result.returncode}: {result.stderr.strip()}")
    return result.stdout


def probe_of(source):
    with open(os.path.join(source, "tests/browser/probe.js"), encoding="utf-8") as file:
        return file.read()


def reads_well(chrome, probe, path, name):
    for width, height in (PHONE, DESK):
        for dark in (False, True):
            what = f"{name} at {width} x {height}, {'dark' if dark else 'light'}"
            tab = chrome.tab(width, height, dark=dark, touch=width < 500)
            seconds = tab.open(path)
            tab.run(probe)
            check(tab.run("document.documentElement.dataset.ready") == "yes", f"{what}: the script did not end")
            check(tab.run("document.documentElement.scrollWidth") <= width, f"{what}: scrolls sideways")
            tall = tab.run("document.documentElement.scrollHeight")
            if width == PHONE[0]:
                check(tall <= 8 * height, f"{what}: {tall / height:.1f} screens")
                for part in ("#verdict", "#glass", "#next"):
                    bottom = tab.run(f"probe.bottom('{part}')")
                    check(bottom is not None and bottom <= 2 * height, f"{what}: {part} ends at {bottom} px")
            print(f"{what}: {tall / height:.1f} screens, next step by {tab.run('probe.bottom(`#next`)'):.0f} px, drawn in {seconds:.2f} s")
            folded(tab, what)
            tab.run("document.querySelectorAll('details').forEach((part) => (part.open = true)), new Promise((done) => setTimeout(done, 300))")
            folded(tab, what + ", all parts open")
            tab.run("sw.openSeam(0), new Promise((done) => setTimeout(done, 300))")
            folded(tab, what + ", a seam open")
            check(tab.troubles() == [], f"{what}: {tab.troubles()}")
            tab.close()


def folded(tab, what):
    check(tab.run("document.documentElement.scrollWidth") <= tab.width, f"{what}: scrolls sideways")
    for question in (f"probe.small({LEAST_PX})", f"probe.faint({LEAST_CONTRAST})", "probe.cut()"):
        found = tab.run(question)
        check(found == [], f"{what}: {question}: {found[:5]}")


def by_keyboard(chrome, probe, path, name):
    tab = chrome.tab(*DESK)
    tab.open(path)
    tab.run(probe)
    for _ in range(2 * tab.run("probe.controls()") + 10):
        tab.key("Tab")
        tab.run("probe.meet()")
    check(tab.run("probe.unmet()") == [], f"{name}: not reached by Tab: {tab.run('probe.unmet()')[:5]}")
    tab.run("document.querySelector('.seam').focus()")
    tab.key("Enter")
    check(tab.run("document.getElementById('seam').open"), f"{name}: Enter opens no seam")
    check(tab.run("!!document.activeElement.closest('dialog')"), f"{name}: the opened seam has no focus")
    tab.run("new Promise((done) => setTimeout(done, 300))")
    tab.run("document.querySelector('dialog .plot').focus()")
    before = tab.run("document.querySelector('dialog .reading').textContent")
    tab.key("ArrowRight")
    tab.key("ArrowRight")  # half mm are said as the even one: one step may read the same
    check(tab.run("document.querySelector('dialog .reading').textContent") != before, f"{name}: an arrow key does not read the plot")
    tab.key("Escape")
    check(not tab.run("document.getElementById('seam').open"), f"{name}: Escape closes no seam")
    tab.run("document.getElementById('limit').focus()")
    limit = tab.run("sw.limit")
    tab.key("ArrowRight")
    check(tab.run("sw.limit") > limit, f"{name}: an arrow key does not move the limit")
    tab.close()


def look_closer(chrome, path, name):
    width = "Number(document.querySelector('.view').getAttribute('viewBox').split(' ')[2])"
    tab = chrome.tab(*DESK)
    tab.open(path)
    whole = tab.run(width)
    box = tab.run("(() => { const b = document.querySelector('.view').getBoundingClientRect(); return [b.left, b.top, b.width, b.height]; })()")
    x, y = box[0] + box[2] / 3, box[1] + box[3] / 3
    tab.call("Input.dispatchMouseEvent", type="mouseWheel", x=x, y=y, deltaX=0, deltaY=-400, modifiers=2)
    check(tab.run(width) < 0.8 * whole, f"{name}: the wheel brings nothing closer")
    tab.run("document.querySelector('.view').focus()")
    tab.key("0")
    check(abs(tab.run(width) - whole) < 1e-6, f"{name}: 0 does not show all")
    tab.key("+")
    check(tab.run(width) < 0.8 * whole, f"{name}: + brings nothing closer")
    tab.key("0")
    tab.key("l")
    check(tab.run("getComputedStyle(document.querySelector('.seam .path')).display") == "none", f"{name}: lines stay")
    tab.key("l")
    seam = tab.run("(() => { const b = document.querySelector('.seam .tag').getBoundingClientRect(); return [b.left + b.width / 2, b.top + b.height / 2]; })()")
    tab.tap(*seam)
    check(tab.run("document.getElementById('seam').open"), f"{name}: a click opens no seam")
    tab.close()
    tab = chrome.tab(*PHONE, touch=True)
    tab.open(path)
    whole = tab.run(width)
    middle = tab.run("(() => { const b = document.querySelector('.view').getBoundingClientRect(); return [b.left + b.width / 2, b.top + b.height / 2]; })()")
    tab.touch("touchStart", [(middle[0] - 20, middle[1]), (middle[0] + 20, middle[1])])
    for k in range(1, 9):
        tab.touch("touchMove", [(middle[0] - 20 - 8 * k, middle[1]), (middle[0] + 20 + 8 * k, middle[1])])
    tab.touch("touchEnd", [])
    check(tab.run(width) < 0.6 * whole, f"{name}: two fingers bring nothing closer ({tab.run(width):.0f} of {whole:.0f} mm)")
    tab.close()


def ticks_last(chrome, path, name):
    tab = chrome.tab(*PHONE)
    tab.open(path)
    first = "document.querySelector('#lines input[type=checkbox]')"
    tab.run(first + ".click()")
    tab.open(path)
    check(tab.run(first + ".checked"), f"{name}: a tick does not last")
    tab.run(first + ".click()")
    check(tab.run("document.querySelectorAll('#lines > li').length") <= 3, f"{name}: more than three lines stand open")
    tab.close()


def on_paper(chrome, path, name, folder):
    tab = chrome.tab(*DESK)
    tab.open(path)
    paper = os.path.join(folder, "page.pdf")
    tab.pdf(paper)
    sheets = int(re.search(r"Pages:\s+(\d+)", subprocess.run(["pdfinfo", paper], capture_output=True, text=True, check=True).stdout)[1])
    words = subprocess.run(["pdftotext", paper, "-"], capture_output=True, text=True, check=True).stdout
    check(sheets <= MOST_SHEETS, f"{name}: {sheets} sheets of paper")
    check("Next" in words, f"{name}: no next step on paper")
    print(f"{name}: {sheets} sheets")
    tab.close()


def without_script(chrome, path, name, lines):
    tab = chrome.tab(*PHONE, script=False)
    tab.open(path)
    text = tab.run("document.body.innerText")
    check(tab.run("document.documentElement.dataset.ready") is None, f"{name}: scripts ran")
    for word in ["Next", *lines]:
        check(word in text, f"{name}: without script there is no {word!r}")
    check(tab.run("document.querySelector('#glass img').naturalWidth") > 300, f"{name}: without script there is no picture")
    check(tab.run("document.documentElement.scrollWidth") <= PHONE[0], f"{name}: without script it scrolls sideways")
    tab.close()


def limits_agree(chrome, program, photos, folder):
    compared = changed = 0
    for photo, options in photos:
        page = os.path.join(folder, os.path.basename(photo) + ".limits")
        run(program, "inspect", photo, *options, "-o", page)
        tab = chrome.tab(*DESK)
        tab.open(os.path.join(page, "report.html"))
        last = None
        for limit in LIMITS:
            other = os.path.join(folder, "limit.seams")
            shutil.rmtree(other, ignore_errors=True)
            run(program, "inspect", photo, *options, "-t", f"{limit:.2f}", "--no-pictures", "-o", other)
            with open(os.path.join(other, "inspection.json"), encoding="utf-8") as file:
                truth = {seam["name"]: seam["verdict"] for seam in json.load(file)["seams"]}
            tab.run(f"sw.setLimit({limit})")
            told = tab.run("Object.fromEntries(sw.inspection.seams.map((seam) => [seam.name, sw.verdictNow(seam)]))")
            check(told == truth, f"{photo} at {limit}: {[(k, told.get(k), v) for k, v in truth.items() if told.get(k) != v]}")
            shown = tab.run("[...document.querySelectorAll('#try .count li')].map((li) => parseInt(li.textContent))")
            check(shown == [list(truth.values()).count(v) for v in ("over", "too close to call", "within")], f"{photo} at {limit}: {shown} are counted")
            compared += len(truth)
            changed += last is not None and last != truth
            last = truth
        tab.close()
    check(changed >= 5, "the limits tried change too few verdicts to say anything")
    print(f"limits: {compared} verdicts compared")


# What shape.js draws of a seam against the gap the program writes for it: both go by the same rims, in two ways.
RIMS = """sw.inspection.seams.flatMap((seam) => {
  const between = (rim, at) => {
    const i = rim.findIndex((p, k) => k > 0 && (p.at - at) * (rim[k - 1].at - at) <= 0 && p.at !== rim[k - 1].at);
    if (i < 1) return NaN;
    const a = rim[i - 1], b = rim[i];
    return a.off + (b.off - a.off) * (at - a.at) / (b.at - a.at);
  };
  const [first, second] = sw.rimsOf(sw.inspection, seam), its = seam.stations;
  return its.at_mm.map((at, k) => its.state[k] === "ok" ? [seam.name, at, its.gap_mm[k], (seam.upright ? 1 : -1) * (between(second, at) - between(first, at))] : [])
    .filter((one) => one.length && one.every((x) => x !== null && x === x));
})"""
DRAWN_MM = 0.02  # figures are written to 0.0001 mm, angles to less; places between two are drawn as a line


def rims_agree(chrome, path, name, least):
    tab = chrome.tab(*DESK)
    tab.open(path)
    places = tab.run(RIMS)
    off = sorted(abs(drawn - gap) for _, _, gap, drawn in places)
    check(len(off) >= least, f"{name}: only {len(off)} places of rims to compare")
    check(off and off[int(0.99 * len(off))] < DRAWN_MM, f"{name}: rims are drawn {off[int(0.99 * len(off))] if off else 0:.3f} mm off the gaps measured")
    print(f"{name}: {len(off)} gaps drawn as measured, within {off[int(0.99 * len(off))]:.4f} mm, all but one in a hundred; at most {off[-1]:.4f}")
    tab.close()


def hostile(chrome, program, folder, seams):
    there = os.path.join(folder, "hostile.seams")
    shutil.copytree(seams, there)
    path = os.path.join(there, "inspection.json")
    with open(path, encoding="utf-8") as file:
        inspection = json.load(file)
    inspection["photo"]["file"] = HOSTILE
    with open(path, "w", encoding="utf-8") as file:
        json.dump(inspection, file)
    run(program, "plan", there)
    tab = chrome.tab(*DESK)
    tab.open(os.path.join(there, "plan.html"))
    check(tab.run("document.documentElement.dataset.ready") == "yes", "a hostile name: the page does not come up")
    check(tab.run("window.harmed") is None, "a hostile name ran as script")
    check(HOSTILE in tab.run("document.body.innerText"), "a hostile name is not said as it is")
    check(tab.troubles() == [], f"a hostile name: {tab.troubles()}")
    tab.close()


def main():
    program, source = os.path.abspath(sys.argv[1]), sys.argv[2]
    samples = os.path.join(source, "samples")
    try:
        chrome = Chrome()
    except FileNotFoundError as missing:
        print(missing)
        return 77
    folder = tempfile.mkdtemp(prefix="seamwright-pages-")
    try:
        with chrome:
            first, second = os.path.join(folder, "first.seams"), os.path.join(folder, "second.seams")
            run(program, "inspect", os.path.join(samples, "valley-north.jpg"), "-o", first)
            run(program, "inspect", os.path.join(samples, "valley-north-sanded.jpg"), "--after", first, "-o", second)
            with open(first + "/plan.json", encoding="utf-8") as file:
                work = json.load(file)["work"] # what the report was made with
            run(program, "arrange", first)
            run(program, "plan", first)
            probe = probe_of(source)
            several = os.path.join(folder, "several.seams")  # heights, and tiles of which no outline is known
            run(program, "inspect", os.path.join(samples, "gravel-bank-1.jpg"), os.path.join(samples, "gravel-bank-2.jpg"), "-o", several)
            pages = {"several photos": several + "/report.html", "report": first + "/report.html", "plan": first + "/plan.html", "arrangement": first + "/arrange.html", "second round": second + "/report.html",
                     "comparison": second + "/recheck.html"}
            for name, path in pages.items():
                check(os.path.getsize(path) < MOST_BYTES, f"{name}: {os.path.getsize(path)} bytes")
                reads_well(chrome, probe, path, name)
                on_paper(chrome, path, name, folder)
            for name in ("report", "second round"):
                by_keyboard(chrome, probe, pages[name], name)
            for name in ("report", "second round"):  # of several photos a gap may be another's than the rims beside it
                rims_agree(chrome, pages[name], name, 500)
            look_closer(chrome, pages["report"], "report")
            ticks_last(chrome, pages["report"], "report")
            check(len(work) >= 3, "the sample asks for too little work to test a list")
            without_script(chrome, pages["report"], "report", [line["do"] for line in work])
            without_script(chrome, pages["second round"], "second round", ["Stop here"])
            limits_agree(chrome, program, [(os.path.join(samples, "valley-north.jpg"), []), (os.path.join(samples, "weir.jpg"), []), (os.path.join(samples, "river-bend.jpg"), [])], folder)
            hostile(chrome, program, folder, first)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    print(f"{failures} failures")
    return failures > 0


if __name__ == "__main__":
    sys.exit(main())
