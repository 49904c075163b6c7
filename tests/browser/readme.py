#!/usr/bin/env python3
"""README.md in print, and its pictures: readme.py PROGRAM SOURCE

Printed on A4 as a plain page it is two sheets at most; words of the workshop only; no option but those of the first table; every picture
is there, and is of today's page: the size and the coarse light and dark of one made now. Ends with 77 where there is no browser.
"""
import html
import os
import re
import sys
import tempfile

import numpy as np
from PIL import Image

import pictures
from chrome import Chrome

MOST_SHEETS = 2
# What only readers of the folded details need to know.
NOT_AT_A_BENCH = (r"\bRMS\b", r"\bpx\b", r"\bpixels?\b", r"\bs_r\b", r"\bISO\b", r"\bhomograph", r"\bresidual", r"\bstandard deviation", r"\bJSON\b", r"\bAPI\b")
MOST_OPTIONS = 6 # --frame, --count, --reference, --after and the like; all others stand in --help
# Fonts and browsers of another version move letters by a pixel or two; another page moves blocks.
BLOCK_PX, MOST_APART, MOST_BLOCKS = 26, 24, 0.06
# A plain page.
STYLE = ("@page { size: A4; margin: 14mm } body { font: 10.5pt/1.3 'DejaVu Sans', sans-serif; margin: 0 } h1 { font-size: 17pt; margin: 0 } h2 { font-size: 13pt; margin: 8pt 0 0 }"
         "p, ul, ol, pre { margin: 4pt 0 } ol, ul { padding-left: 16pt } code, pre { font: 9.5pt 'DejaVu Sans Mono', monospace } img { max-width: 100% }")

failures = 0


def check(holds, what):
    global failures
    if not holds:
        failures += 1
        print("FAIL:", what)


def inline(text, source):
    text = html.escape(text, quote=False)
    text = re.sub(r"!\[([^\]]*)\]\(([^)]*)\)", lambda m: f'<img alt="{m[1]}" src="file://{os.path.abspath(os.path.join(source, m[2]))}">', text)
    text = re.sub(r"\[([^\]]*)\]\(([^)]*)\)", r'<a href="\2">\1</a>', text)
    text = re.sub(r"`([^`]*)`", r"<code>\1</code>", text)
    text = re.sub(r"\*\*([^*]*)\*\*", r"<b>\1</b>", text)
    return re.sub(r"\*([^* ][^*]*)\*", r"<i>\1</i>", text)


def page_of(markdown, source):
    """What README.md uses of markdown: headings, paragraphs, lists with indented code, code, pictures, links, bold, italics."""
    out, listed = [], None
    blocks = re.split(r"\n\n+", markdown.rstrip())
    for block in blocks:
        lines = block.split("\n")
        deep = len(lines[0]) - len(lines[0].lstrip())
        item = re.match(r"(\d+\.|-) ", lines[0])
        if listed and not item and deep < 2:
            out.append(f"</{listed}>")
            listed = None
        if deep >= 4:
            out.append("<pre>" + html.escape("\n".join(line[deep:] for line in lines)) + "</pre>")
        elif lines[0].startswith("#"):
            level = len(lines[0]) - len(lines[0].lstrip("#"))
            out.append(f"<h{level}>{inline(lines[0].lstrip('# '), source)}</h{level}>")
        elif item:
            kind = "ul" if item[1] == "-" else "ol"
            if listed != kind:
                out.append(f"<{kind} start={item[1].rstrip('.')}>" if kind == "ol" else "<ul>")
                listed = kind
            for part in re.split(r"(?m)^(?:\d+\.|-) +", block)[1:]:
                out.append("<li>" + inline(" ".join(part.split()), source) + "</li>")
        else:
            out.append("<p>" + inline(" ".join(block.split()), source) + "</p>")
    if listed:
        out.append(f"</{listed}>")
    return f"<!doctype html><meta charset=utf-8><title>README</title><style>{STYLE}</style>" + "\n".join(out)


def blocks_of(path):
    """Mean light of the picture's blocks."""
    with Image.open(path) as image:
        grey = np.asarray(image.convert("L"), dtype=float)
    high, wide = (n // BLOCK_PX for n in grey.shape)
    return grey[:high * BLOCK_PX, :wide * BLOCK_PX].reshape(high, BLOCK_PX, wide, BLOCK_PX).mean(axis=(1, 3))


def is_todays(kept, made):
    with Image.open(kept) as a, Image.open(made) as b:
        sizes = a.size, b.size
    check(sizes[0] == sizes[1], f"{kept}: {sizes[0]}, one made now has {sizes[1]}: make it anew with 'sh samples/pictures'")
    if sizes[0] != sizes[1]:
        return
    apart = np.abs(blocks_of(kept) - blocks_of(made))
    share = float((apart > MOST_APART).mean())
    print(f"{os.path.basename(kept)}: {100 * share:.1f} % of the blocks differ from one made now")
    check(share <= MOST_BLOCKS, f"{kept} is not of today's page: {100 * share:.0f} % of its blocks differ; make it anew with 'sh samples/pictures'")


def main():
    program, source = os.path.abspath(sys.argv[1]), sys.argv[2]
    with open(os.path.join(source, "README.md"), encoding="utf-8") as file:
        markdown = file.read()
    for word in NOT_AT_A_BENCH:
        check(not re.search(word, markdown), f"README.md has a word that matches {word}")
    options = set(re.findall(r"--[a-z-]+", markdown)) - {"--install", "--help"}
    check(len(options) <= MOST_OPTIONS, f"README.md tells of {len(options)} options: {sorted(options)}")
    named = re.findall(r"!\[[^\]]*\]\(([^)]*)\)", markdown)
    check(named, "README.md shows no picture")
    with tempfile.TemporaryDirectory(prefix="seamwright-readme-") as folder:
        try:
            with Chrome() as chrome:
                page, paper = os.path.join(folder, "readme.html"), os.path.join(folder, "readme.pdf")
                with open(page, "w", encoding="utf-8") as file:
                    file.write(page_of(markdown, source))
                tab = chrome.tab(800, 600)
                tab.open(page)
                tab.pdf(paper)
            pictures.make(program, source, folder)
        except FileNotFoundError as missing:
            print(missing)
            return 77
        with open(paper, "rb") as file:
            sheets = len(re.findall(rb"/Type\s*/Page\b", file.read()))
        print(f"README.md prints on {sheets} sheets")
        check(1 <= sheets <= MOST_SHEETS, f"README.md prints on {sheets} sheets")
        if len(sys.argv) > 3:
            with open(paper, "rb") as file, open(sys.argv[3], "wb") as out:
                out.write(file.read())
        for name in named:
            check(os.path.isfile(os.path.join(source, name)), f"README.md shows {name}, which is not there")
            made = os.path.join(folder, os.path.basename(name))
            check(os.path.isfile(made), f"'sh samples/pictures' does not make {name}")
            if os.path.isfile(made) and os.path.isfile(os.path.join(source, name)):
                is_todays(os.path.join(source, name), made)
    print(f"{failures} failures")
    return failures > 0


if __name__ == "__main__":
    sys.exit(main())
