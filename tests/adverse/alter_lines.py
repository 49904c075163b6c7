"""Lines that are no seams: pencil, shadows, strips, joints of a cloth.  None of them hides a rim."""
import math

import numpy as np
from PIL import Image, ImageFilter

from kinds import kind
from picture import SOFT_PX, TO_LINEAR, stored

REACH = 0.45  # of the camera's height: how far lines go on beyond a seam


def whole_line(scene, name, beside_mm, from_mm=2.0, to_mm=None, bend_mm=0.0):
    """Places of a line along a seam, beside_mm off its middle."""
    length = scene.truth["seams"][name]["length"]
    at = np.linspace(from_mm, (to_mm if to_mm is not None else length) - 2.0, 80)
    return np.array([scene.seam_line(name, a, beside_mm + bend_mm * math.sin(a / 37.0))[0] for a in at])


def half_gap(scene, name):
    return max(scene.truth["seams"][name]["gap_without_chips"]) / 2


def lines_along(scene, count, rng, width_mm, share, near=(2.0, 8.0), part=False):
    """Draws dark lines along `count` seams, near[0] to near[1] mm from a rim; part: over half of the seam only."""
    names = list(scene.truth["seams"])
    for name in rng.permutation(names)[:count]:
        off = rng.choice([-1, 1]) * (half_gap(scene, name) + rng.uniform(*near))
        length = scene.truth["seams"][name]["length"]
        begin = rng.uniform(2, length * 0.4) if part else 2.0
        line = whole_line(scene, name, off, begin, begin + length * 0.55 if part else None)
        scene.dim([scene.band(line, width_mm)], share)


@kind("pencil-along", (0.7, 0.5, 0.3), "brightness of a pencil line, 0.5 mm wide, 2 to 8 mm from the edge, along half of the seams")
def pencil_along(scene, share, rng):
    lines_along(scene, (len(scene.truth["seams"]) + 1) // 2, rng, 0.5, share)


@kind("pencil-near", (3.0, 2.0, 1.2), "mm from the edge to a pencil line half as bright as the top, along half of the seams")
def pencil_near(scene, near, rng):
    lines_along(scene, (len(scene.truth["seams"]) + 1) // 2, rng, 0.5, 0.5, (near, near + 0.2))


@kind("pencil-part", (0.7, 0.5, 0.3), "brightness of a pencil line that runs along half of a seam only, on every seam")
def pencil_part(scene, share, rng):
    lines_along(scene, len(scene.truth["seams"]), rng, 0.5, share, part=True)


@kind("pencil-both", (0.7, 0.5, 0.3), "brightness of two pencil lines, one on each side of every seam, 3 to 6 mm away")
def pencil_both(scene, share, rng):
    for name in scene.truth["seams"]:
        for side in (-1, 1):
            scene.dim([scene.band(whole_line(scene, name, side * (half_gap(scene, name) + rng.uniform(3, 6))), 0.5)], share)


@kind("marker-along", (0.8, 1.5, 3.0), "mm: width of a felt-pen line beside half of the seams, nearly black")
def marker_along(scene, width, rng):
    lines_along(scene, (len(scene.truth["seams"]) + 1) // 2, rng, width, 0.12, (2.0 + width / 2, 8.0))


@kind("dark-strip", (4, 8, 15), "mm: width of a dark strip painted beside half of the seams, from 2 mm off the edge")
def dark_strip(scene, width, rng):
    names = list(scene.truth["seams"])
    for name in rng.permutation(names)[:(len(names) + 1) // 2]:
        off = rng.choice([-1, 1]) * (half_gap(scene, name) + 2 + width / 2)
        scene.dim([scene.band(whole_line(scene, name, off), width)], 0.3, 0.9)


@kind("scratch-along", (0.85, 1.4, 2.0), "brightness of a line 0.4 mm wide, lighter than the top when over 1, 1 to 4 mm from every seam")
def scratch_along(scene, share, rng):
    lines_along(scene, len(scene.truth["seams"]), rng, 0.4, share, (1.0, 4.0))


def shade_half(scene, line_mm, share, soft_mm):
    """Dims all on one side of a line, the left of its way, about half the camera's height far: the lens' formula is good so far out."""
    line = np.asarray(line_mm, float)
    way = (line[-1] - line[0]) / np.hypot(*(line[-1] - line[0]))
    left = np.array([-way[1], way[0]])
    reach = REACH * scene.camera.at[2]
    run = np.vstack([line[0] - way * reach, line, line[-1] + way * reach])
    scene.dim([scene.px(np.vstack([run, (run + left * reach)[::-1]]))], share, max(SOFT_PX, soft_mm * scene.px_per_mm))


@kind("shadow-along", (0.85, 0.6, 0.35), "brightness of a shadow whose edge runs along a seam, 1 to 6 mm beside it")
def shadow_along(scene, share, rng):
    names = list(scene.truth["seams"])
    for name in rng.permutation(names)[:2]:
        off = rng.choice([-1, 1]) * (half_gap(scene, name) + rng.uniform(1, 6))
        shade_half(scene, whole_line(scene, name, off), share, rng.uniform(0.2, 1.0))


@kind("shadow-on-seam", (0.85, 0.6, 0.35), "brightness of a shadow whose edge lies in the seam itself")
def shadow_on_seam(scene, share, rng):
    names = list(scene.truth["seams"])
    for name in rng.permutation(names)[:2]:
        shade_half(scene, whole_line(scene, name, rng.uniform(-0.3, 0.3)), share, rng.uniform(0.1, 0.4))


@kind("shadow-across", (0.7, 0.45, 0.25), "brightness of three slanting stripes of shadow over the table")
def shadow_across(scene, share, rng):
    for _ in range(3):
        name, at = scene.pick_seam(rng, 20)
        middle, turn = scene.seam_line(name, at)[0], rng.uniform(0, np.pi)
        way = np.array([math.cos(turn), math.sin(turn)])
        line = middle + np.outer(np.linspace(-1, 1, 10) * REACH * 1.5 * scene.camera.at[2], way)
        scene.dim([scene.band(line, rng.uniform(15, 60))], share, rng.uniform(0.3, 3) * scene.px_per_mm)


@kind("shadow-bars", (0.8, 0.6, 0.4), "brightness of the shadow of window bars, 6 mm wide every 40 mm, along the seams")
def shadow_bars(scene, share, rng):
    upright = rng.integers(2)
    name = next(n for n in scene.truth["seams"] if (n.split("-")[0][1:] == n.split("-")[1][1:]) == bool(upright) or len(scene.truth["seams"]) == 1)
    for k in range(-12, 13):
        line = whole_line(scene, name, k * 40 + rng.uniform(-2, 2))
        way = (line[-1] - line[0]) / np.hypot(*(line[-1] - line[0]))
        reach = REACH * scene.camera.at[2]
        scene.dim([scene.band(np.vstack([line[0] - way * reach, line, line[-1] + way * reach]), 6)], share, 0.5 * scene.px_per_mm)


@kind("striped-cloth", (30, 12, 5), "mm: width of the stripes of a cloth under the table, dark as gaps")
def striped_cloth(scene, width, rng):
    """Only what lies outside the table changes; the table keeps its own pixels."""
    inside = Image.fromarray(scene.inside_table()).filter(ImageFilter.MaxFilter(9)).filter(ImageFilter.GaussianBlur(1.5))
    keep = np.asarray(inside, np.float32)[..., None] / 255
    y, x = np.mgrid[0:scene.size()[1], 0:scene.size()[0]]
    turn = math.radians(scene.truth["camera"]["roll"] + rng.choice([0, 90]))
    place = (x * math.cos(turn) + y * math.sin(turn)) / (width * scene.px_per_mm)
    wave = np.clip(0.5 + 2.5 * np.sin(np.pi * place), 0, 1)[..., None].astype(np.float32)
    cloth = scene.lit((0.55, 0.5, 0.42)) * wave + scene.lit((0.05, 0.05, 0.07)) * (1 - wave)
    mixed = stored(cloth * (1 - keep) + TO_LINEAR[scene.image] * keep)
    changed = np.clip(mixed + (1 - keep) * rng.normal(0, 2, mixed.shape) + 0.5, 0, 255).astype(np.uint8)
    scene.image = np.where(keep >= 1, scene.image, changed)


@kind("striped-tops", (0.9, 0.7, 0.5), "brightness of printed stripes, 2 mm wide every 12 mm, along the seams over all tops")
def striped_tops(scene, share, rng):
    for tile in scene.truth["tiles"]:
        half = scene.truth["tile"] / 2 - 6
        for k in np.arange(-half, half, 12):
            line = scene.edge_at(tile, "W", np.linspace(-half, half, 12)) + (scene.truth["tile"] / 2 + k, 0)
            if all(scene.far_from_cards(p, 2) for p in line):
                scene.dim([scene.band(line, 2)], share)
