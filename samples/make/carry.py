"""What was done to tiles after a plan: their edges trued up, the bases of faces that lean sanded back.

A round is a list of edges as plan.json has them: "edge" ("A1 east"), "true_up" (places "at_mm" from the edge's north or west corner
and what came off there, "remove_mm", linear between), "bevel_mm" (what comes off the base). All else is passed over, so that the
"edges" of a plan are a round.
"""
import math

import numpy as np

LETTER = {"north": "N", "east": "E", "south": "S", "west": "W"}
SHOWS_MM = 0.1       # a try square shows a lean from here on at the base: only such faces are bevelled
CHIP_GONE_MM = 0.05  # what is left of a chip no deeper than this is nothing


def removed(true_up, at):
    """What comes off at places along an edge."""
    if not true_up:
        return np.zeros_like(at)
    return np.interp(at, [p["at_mm"] for p in true_up], [p["remove_mm"] for p in true_up])


def rest_of(chip, off_mm):
    """A chip's bowl below the new face: less deep by what came off, its rim where the old bowl comes out. None: it is gone."""
    at, half, depth, height = chip
    if depth - off_mm <= CHIP_GONE_MM:
        return None
    narrow = math.sqrt(1 - (max(0.0, off_mm) / depth) ** (1 / 0.7))  # the bowl's exponent: see Edge.bite
    return at, half * narrow, depth - off_mm, height * narrow


def true_up(edge, span, side, cuts):
    lo, hi = span
    at = edge.u - lo if side in "NS" else hi - edge.u
    off = removed(cuts, at)
    left = [rest_of(chip, float(np.interp(chip[0], edge.u, off))) for chip in edge.chips]
    edge.dev, edge.chips = edge.dev - off, [chip for chip in left if chip]


def bevel(tile, side, bevel_mm, tile_height_mm):
    """The base is sanded back until the face is square, or by bevel_mm."""
    height = tile_height_mm + tile.rise_mm
    proud = tile.standoff(side, height)
    if proud > SHOWS_MM:
        tile.lean_deg[side] = math.degrees(math.atan(max(0.0, proud - bevel_mm) / height))


def carry_out(tiles, rounds, tile_height_mm):
    for edges in rounds:
        spans = {(n, s): t.span(s, t.corner_u()) for n, t in tiles.items() for s in "NESW"}  # as the plan saw them
        for planned in edges:
            name, side = planned["edge"].split()
            if name not in tiles or side not in LETTER:
                raise SystemExit("recipe: carried_out: there is no edge " + planned["edge"])
            tile, side = tiles[name], LETTER[side]
            true_up(tile.edges[side], spans[name, side], side, planned.get("true_up", []))
            bevel(tile, side, planned.get("bevel_mm", 0.0), tile_height_mm)
        for tile in tiles.values():
            tile.shape_changed()
