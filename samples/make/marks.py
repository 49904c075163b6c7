"""What is true of the pencil near the middle of the edges: where it meets them.

Places along an edge count from its north or west corner (where the edges cross, chips left out), in mm along the straight
line from corner to corner.
"""
import math

import numpy as np

NEAR = 0.12   # share of the edge to either side of the half within which a line that crosses counts
# corners at an edge's north or west end, and at the other
ENDS = {"N": ("NW", "NE"), "S": ("SW", "SE"), "E": ("NE", "SE"), "W": ("NW", "SW")}


def entry(tile, side, rim, inner, kind):
    """rim: where the stroke meets the edge, inner: a place on it farther inside; both on the table."""
    a, b = (np.array(tile.world(*tile.corner_u()[c])) for c in ENDS[side])
    length = math.dist(a, b)
    u = (b - a) / length
    at, into = float(np.dot(rim - a, u)), np.array(inner) - rim
    slant = math.degrees(math.atan2(np.dot(into, u), abs(into[0] * u[1] - into[1] * u[0])))
    return {"tile": tile.name, "side": side, "kind": kind, "at": round(at, 4), "from_half": round(at - length / 2, 4),
            "slant_deg": round(float(slant), 2), "mm": [round(float(v), 4) for v in rim]}


def crossings(tile, side, starts, ends):
    """Where the pieces of a line on the tile's own level cross the edge: (place, the piece's end inside)."""
    rim = tile.rim(side, False)
    for p, q in zip(starts, ends):
        for a, b in zip(rim[:-1], rim[1:]):
            d, e = q - p, b - a
            det = d[0] * e[1] - d[1] * e[0]
            if det == 0:
                continue
            s = ((a[0] - p[0]) * e[1] - (a[1] - p[1]) * e[0]) / det
            t = ((a[0] - p[0]) * d[1] - (a[1] - p[1]) * d[0]) / det
            if 0 <= s < 1 and 0 <= t < 1:
                middle = np.array(tile.pose[:2])
                yield p + s * d, (p if np.sum((p - middle) ** 2) < np.sum((q - middle) ** 2) else q)


def truth(tiles, drawn):
    """Every half-way mark, and every pencil line that crosses an edge near its middle."""
    out = []
    for what in drawn:
        if what[0] == "tick":
            tile, side = tiles[what[1]], what[2]
            out.append(entry(tile, side, *what[3:], "tick"))
            continue
        starts, ends = (points + what[2] for points in (what[1][:-1], what[1][1:]))
        for tile in tiles.values():
            for side in "NESW":
                for rim, inner in crossings(tile, side, starts, ends):
                    one = entry(tile, side, rim, inner, "line")
                    if abs(one["from_half"]) < NEAR * tile.side_mm:
                        out.append(one)
    return out
