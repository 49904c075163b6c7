#!/usr/bin/env python3
"""The pictures of README.md: pictures.py PROGRAM SOURCE FOLDER

report.png: the first two screens of the sample table's report on a phone, side by side. Ends with 77 where there is no browser.
"""
import os
import subprocess
import sys
import tempfile

from PIL import Image

from chrome import Chrome

PHONE = (390, 640) # as much as a browser leaves of a small phone
BETWEEN_PX, GROUND = 16, (255, 255, 255)
SHOWN = 0.66 # so that both leave room for words on a sheet of paper
COLOURS = 96 # a page has few; the photo in it keeps its shades


def report(program, samples, folder):
    """The report as the demo makes it."""
    boards = [os.path.join(samples, "lens", name) for name in sorted(os.listdir(os.path.join(samples, "lens"))) if name.startswith("board")]
    lens, seams = os.path.join(folder, "phone.lens.json"), os.path.join(folder, "valley-north.seams")
    for arguments, statuses in ((["lens", "-o", lens, *boards], (0,)),
                                (["inspect", os.path.join(samples, "valley-north.jpg"), "--lens", lens, "-o", seams], (0, 1))):
        done = subprocess.run([program, *arguments], capture_output=True, text=True, check=False)
        if done.returncode not in statuses:
            sys.exit(f"seamwright {arguments[0]}: {done.stderr.strip()}")
    return os.path.join(seams, "report.html")


def screens(chrome, page, folder):
    tab = chrome.tab(*PHONE, touch=True)
    tab.open(page)
    shots = []
    for k in range(2):
        tab.run(f"window.scrollTo({{top: {k * PHONE[1]}, behavior: 'instant'}}); new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        path = os.path.join(folder, f"screen{k}.png")
        tab.shot(path)
        shots.append(Image.open(path).convert("RGB"))
    tab.close()
    both = Image.new("RGB", (2 * PHONE[0] + BETWEEN_PX, PHONE[1]), GROUND)
    both.paste(shots[0], (0, 0))
    both.paste(shots[1], (PHONE[0] + BETWEEN_PX, 0))
    return both.resize((round(SHOWN * both.width), round(SHOWN * both.height)), Image.Resampling.LANCZOS)


def make(program, source, target):
    """Puts the pictures into the folder target; FileNotFoundError where there is no browser."""
    with Chrome() as chrome, tempfile.TemporaryDirectory(prefix="seamwright-pictures-") as folder:
        page = report(program, os.path.join(source, "samples"), folder)
        screens(chrome, page, folder).quantize(COLOURS).save(os.path.join(target, "report.png"), optimize=True)


if __name__ == "__main__":
    try:
        make(os.path.abspath(sys.argv[1]), sys.argv[2], sys.argv[3])
    except FileNotFoundError as missing:
        print(missing, file=sys.stderr)
        sys.exit(77)
