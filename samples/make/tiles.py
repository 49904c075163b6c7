"""Tiles with a known shape: edges, chips, lean, how they lie on the table, and what is true of them.

Frame: mm on the plane of the tile tops, x east, y north, middle of tile A1 near (0, 0), tile (column c, row r) near
(c * tile, -r * tile).  In a tile's own frame every edge is a graph over the tile's axis: north and south over x, east
and west over y.  `dev(u)` is how far the edge lies outside the nominal square at u.
"""
import math

import numpy as np

SIDES = "NESW"
KNOT_MM = 1.0        # spacing of an edge's corner points; far below the shortest wave (8 mm)
CHIP_KNOT_MM = 0.25  # the same inside a chip, whose ends are steep
OVERRUN_MM = 12.0    # edges are defined this far beyond the nominal corner, so that crooked neighbours still cross


def smooth_noise(rng, at, length_mm):
    """Gaussian process of unit variance with correlation length length_mm, sampled at `at`."""
    step = length_mm / 4.0
    knots = np.arange(at[0] - 4 * length_mm, at[-1] + 4 * length_mm, step)
    weight = np.exp(-0.5 * ((at[:, None] - knots[None, :]) / length_mm) ** 2)
    values = weight @ rng.standard_normal(knots.size)
    return values / np.sqrt((weight ** 2).sum(axis=1))


def hull(points):
    """Convex outline, counter-clockwise."""
    pts = sorted(map(tuple, points))

    def half(seq):
        out = []
        for p in seq:
            while len(out) > 1 and ((out[-1][0] - out[-2][0]) * (p[1] - out[-2][1])
                                    - (out[-1][1] - out[-2][1]) * (p[0] - out[-2][0])) <= 0:
                out.pop()
            out.append(p)
        return out[:-1]
    return np.array(half(pts) + half(pts[::-1]))


def hull_width(points):
    """Width of the convex hull: the distance of the two closest parallel lines that hold all points (minimum zone)."""
    outline = hull(points)
    best = float("inf")
    for a, b in zip(outline, np.roll(outline, -1, axis=0)):
        normal = np.array([a[1] - b[1], b[0] - a[0]]) / np.hypot(*(b - a))
        best = min(best, float(np.max((outline - a) @ normal) - np.min((outline - a) @ normal)))
    return best


class Edge:
    """One edge: dev(u) without chips, and its chips as (at, half length, depth, height) in mm."""

    def __init__(self, side_mm, slope, offset, bow, wave_mm, fine_mm, rng, chips=()):
        half = side_mm / 2 + OVERRUN_MM
        self.u = np.arange(-half, half + KNOT_MM / 2, KNOT_MM)
        unit = 2 * self.u / side_mm
        self.dev = (slope * self.u + offset + bow * (1 - unit ** 2)
                    + wave_mm * smooth_noise(rng, self.u, rng.uniform(25, 60))
                    + fine_mm * smooth_noise(rng, self.u, rng.uniform(5, 10)))
        self.chips = list(chips)

    def clean(self, u):
        return np.interp(u, self.u, self.dev)

    def bite(self, u, below_mm=0.0):
        """How much the chips take away at u, below_mm under the top: a rounded bowl, deepest at the rim."""
        out = np.zeros_like(np.asarray(u, float))
        for at, half, depth, height in self.chips:
            r2 = ((u - at) / half) ** 2 + (below_mm / height) ** 2
            # the exponent 0.7 makes the ends of the bite steep, as a piece that broke off leaves them
            out = np.maximum(out, depth * np.clip(1 - r2, 0, None) ** 0.7)
        return out

    def knots(self, lo, hi, step=KNOT_MM):
        extra = [np.arange(at - half, at + half, CHIP_KNOT_MM) for at, half, _, _ in self.chips]
        u = np.concatenate([np.linspace(lo, hi, max(2, int(round((hi - lo) / step)) + 1))] + extra)
        return np.unique(u[(u >= lo) & (u <= hi)])


class Tile:
    """A tile: four edges (dict by N E S W), lean of its side faces in degrees, and its pose (x, y, turn in radians)."""

    def __init__(self, name, column, row, side_mm, edges, lean_deg, rise_mm=0.0):
        self.name, self.column, self.row, self.side_mm = name, column, row, side_mm
        self.edges, self.lean_deg, self.rise_mm = edges, lean_deg, rise_mm
        self.slope = (0.0, 0.0)  # of the top: mm up per mm east and north; rise_mm is meant at the tile's middle
        self.rounds_mm = dict.fromkeys(SIDES, 0.0)  # radius of each rim; dev is where the side faces begin, just below
        self.pose = [column * side_mm, -row * side_mm, 0.0]
        self.corner_cache = {}

    def shape_changed(self):
        self.corner_cache = {}

    def local(self, side, u, dev):
        """Point of an edge in the tile's frame."""
        h = self.side_mm / 2 + dev
        return {"N": (u, h), "S": (u, -h), "E": (h, u), "W": (-h, u)}[side]

    def world(self, x, y):
        c, s = math.cos(self.pose[2]), math.sin(self.pose[2])
        return self.pose[0] + c * x - s * y, self.pose[1] + s * x + c * y

    def rise_at(self, x, y):
        """How far the top stands above the plane of the tops at a place on the table."""
        return self.rise_mm + self.slope[0] * (x - self.pose[0]) + self.slope[1] * (y - self.pose[1])

    def rim_rises(self, side):
        """The top's heights over the plane of the tops at both ends of an edge."""
        lo, hi = self.span(side, self.corner_u())
        return self.rise_at(*self.world(*self.local(side, np.array([lo, hi]), 0.0)))

    def corner_u(self, out_mm=None):
        """Corners in the tile's frame, where neighbouring edges cross; out_mm[side] widens a side (lean)."""
        key = tuple(sorted(out_mm.items())) if out_mm else None
        if key in self.corner_cache:
            return self.corner_cache[key]
        corners = {}
        for name, level, upright in (("NW", "N", "W"), ("NE", "N", "E"), ("SE", "S", "E"), ("SW", "S", "W")):
            sx, sy = (1 if upright == "E" else -1), (1 if level == "N" else -1)
            ex = out_mm[upright] if out_mm else 0.0
            ey = out_mm[level] if out_mm else 0.0
            x, y = sx * self.side_mm / 2, sy * self.side_mm / 2
            for _ in range(20):  # contraction by the product of two slopes, about 1e-4 a round
                y = sy * (self.side_mm / 2 + ey + float(self.edges[level].clean(x)))
                x = sx * (self.side_mm / 2 + ex + float(self.edges[upright].clean(y)))
            corners[name] = (x, y)
        self.corner_cache[key] = corners
        return corners

    def span(self, side, corners):
        """The stretch of an edge between its corners, in its own coordinate, low end first."""
        a, b = {"N": ("NW", "NE"), "S": ("SW", "SE"), "E": ("SE", "NE"), "W": ("SW", "NW")}[side]
        axis = 0 if side in "NS" else 1
        return corners[a][axis], corners[b][axis]

    def standoff(self, side, tile_height_mm):
        return tile_height_mm * math.tan(math.radians(self.lean_deg[side]))

    def rim(self, side, chips=True):
        """The edge as points on the table, low end first (chips left out when chips is false)."""
        lo, hi = self.span(side, self.corner_u())
        u = self.edges[side].knots(lo, hi)
        dev = self.edges[side].clean(u) - (self.edges[side].bite(u) if chips else 0)
        return np.column_stack(self.world(*self.local(side, u, dev)))


def random_chips(rng, side_mm, share):
    """Zero or one chip for an edge, with probability `share`; away from the corners, where it would not be a chip."""
    if rng.random() >= share:
        return []
    return [(rng.uniform(-0.42, 0.42) * side_mm, rng.uniform(2.0, 9.0), rng.uniform(0.9, 3.2), rng.uniform(4.0, 12.0))]


def random_edge(rng, side_mm, quality):
    """An edge as sawn and sanded by hand; quality scales its faults (1: as the scenario's volunteers make them)."""
    return Edge(side_mm, slope=quality["slope"] * rng.standard_normal(), offset=quality["offset_mm"] * rng.standard_normal(),
                bow=quality["bow_mm"] * rng.standard_normal(), wave_mm=quality["wave_mm"] * rng.uniform(0.3, 1.6),
                fine_mm=quality["fine_mm"] * rng.uniform(0.3, 1.6), rng=rng, chips=random_chips(rng, side_mm, quality["chips"]))


def make_tiles(rng, columns, rows, side_mm, quality):
    tiles = {}
    for row in range(rows):
        for column in range(columns):
            name = chr(ord("A") + column) + str(row + 1)
            lean = {s: float(max(0.0, rng.uniform(-quality["lean_deg"], quality["lean_deg"]))) for s in SIDES}
            edges = {s: random_edge(rng, side_mm, quality) for s in SIDES}
            rise = float(quality["rise_mm"] * rng.standard_normal())
            tiles[name] = Tile(name, column, row, side_mm, edges, lean, rise)
    return tiles


def sand(rng, tiles, common_mm, rest_mm):
    """Sands every edge down to one common square of common_mm by hand: what stands out beyond it comes off, all but an
    unevenness of rest_mm; what falls short stays.  Leaning faces are bevelled.  Chips stay as they are."""
    for tile in tiles.values():
        line = (common_mm - tile.side_mm) / 2
        for side, edge in tile.edges.items():
            rest = rest_mm * (smooth_noise(rng, edge.u, 40.0) + 0.5 * rng.standard_normal())
            edge.dev = np.minimum(edge.dev, line + rest)
            tile.lean_deg[side] = min(tile.lean_deg[side], 0.2)
        tile.shape_changed()


# ---- how they lie -------------------------------------------------------------------------------------------------

def across(tile, side, grid, chips=False):
    """Position of a rim across its seam (x for E and W, y for N and S) at places `grid` along it; NaN beyond its ends."""
    rim = tile.rim(side, chips)
    along, pos = (rim[:, 1], rim[:, 0]) if side in "EW" else (rim[:, 0], rim[:, 1])
    return np.interp(grid, along, pos, left=np.nan, right=np.nan)


def least_gap(first, second, upright, tile_height_mm):
    """Smallest opening between two facing edges, at the top or at the base, whichever touches first; inf if they do not
    face each other."""
    a, b = ("E", "W") if upright else ("S", "N")
    ra, rb = first.rim(a, False), second.rim(b, False)
    axis = 1 if upright else 0
    lo, hi = max(ra[0, axis], rb[0, axis]), min(ra[-1, axis], rb[-1, axis])
    if hi - lo < 1.0:
        return float("inf")
    grid = np.linspace(lo, hi, int((hi - lo) / 0.5) + 2)
    gap = across(second, b, grid) - across(first, a, grid)
    if not upright:
        gap = -gap
    return (float(np.nanmin(gap)) - first.standoff(a, tile_height_mm + first.rise_mm)
            - second.standoff(b, tile_height_mm + second.rise_mm))


def settle_tile(tile, others, want_x, want_y, tile_height_mm):
    """Pushes a tile against the ones to its west and north until the least openings are as wanted."""
    west = others.get((tile.column - 1, tile.row))
    north = others.get((tile.column, tile.row - 1))
    for _ in range(6):
        if west:
            tile.pose[0] += want_x - least_gap(west, tile, True, tile_height_mm)
        if north:
            tile.pose[1] -= want_y - least_gap(north, tile, False, tile_height_mm)
    for dx in (-1, 1):
        clear_diagonal(tile, others.get((tile.column + dx, tile.row - 1)), dx)


def clear_diagonal(tile, other, dx, clearance_mm=0.05):
    """Moves a tile south when its upper corner would lie inside the tile diagonally above."""
    if other is None:
        return
    mine, theirs = tile.corner_u(), other.corner_u()
    my = tile.world(*mine["NW" if dx < 0 else "NE"])
    other_corner = other.world(*theirs["SE" if dx < 0 else "SW"])
    over_x = (other_corner[0] - my[0]) * -dx
    over_y = my[1] - other_corner[1]
    if over_x > -clearance_mm and over_y > -clearance_mm:
        tile.pose[1] -= over_y + clearance_mm


def lay(rng, tiles, columns, rows, gaps_mm, touching, slip_mm, turn_rad, tile_height_mm):
    """Lays the tiles row after row.  gaps_mm: (low, high) of the least opening of a seam; touching: share of seams pushed
    tight (0.01 mm)."""
    def want():
        return 0.01 if rng.random() < touching else rng.uniform(*gaps_mm)
    placed = {}
    for row in range(rows):
        for column in range(columns):
            tile = tiles[chr(ord("A") + column) + str(row + 1)]
            tile.pose[2] = float(turn_rad * rng.standard_normal())
            west, north = placed.get((column - 1, row)), placed.get((column, row - 1))
            tile.pose[0] = (north.pose[0] if north else tile.pose[0]) + slip_mm * rng.standard_normal()
            tile.pose[1] = (west.pose[1] if west else tile.pose[1]) + slip_mm * rng.standard_normal()
            settle_tile(tile, placed, want(), want(), tile_height_mm)
            placed[(column, row)] = tile


# ---- what is true of them -----------------------------------------------------------------------------------------

def edge_truth(tile, side, corners):
    lo, hi = tile.span(side, corners)
    u = np.linspace(lo, hi, int(hi - lo) + 1)
    dev = tile.edges[side].clean(u)
    slope, offset = np.polyfit(u, dev, 1)
    ends = {"N": "NW NE", "S": "SW SE", "E": "SE NE", "W": "SW NW"}[side].split()
    length = math.dist(corners[ends[0]], corners[ends[1]])
    return {"slope": float(slope), "offset": float(offset),
            "straightness": hull_width(np.column_stack([u, dev])), "length": length}


def tile_truth(tile):
    corners = tile.corner_u()
    out = {"pose": [float(v) for v in tile.pose], "lean_deg": tile.lean_deg,
           "corners": {k: [float(v) for v in tile.world(*c)] for k, c in corners.items()},
           "edges": {s: edge_truth(tile, s, corners) for s in SIDES}}
    chips = [{"side": s, "at": float(at), "half_length": float(h), "depth": float(d)}
             for s in SIDES for at, h, d, _ in tile.edges[s].chips]
    if chips:
        out["chips"] = chips
    return out


def seam_truth(first, second, upright):
    a, b = ("E", "W") if upright else ("S", "N")
    axis = 1 if upright else 0
    ra, rb = first.rim(a, False), second.rim(b, False)
    lo, hi = max(ra[0, axis], rb[0, axis]), min(ra[-1, axis], rb[-1, axis])
    at = np.arange(0.5, hi - lo, 1.0)
    grid = hi - at if upright else lo + at
    sign = 1 if upright else -1
    gaps = [sign * (across(second, b, grid, chips) - across(first, a, grid, chips)) for chips in (True, False)]
    middle = 0.5 * (across(second, b, grid) + across(first, a, grid))
    lean = np.polyfit(grid, middle, 1)[0]          # the seam is not quite parallel to the axis:
    gaps = [g / math.hypot(1.0, lean) for g in gaps]  # the gap is meant across the seam
    end = hi if upright else lo
    mid = float(middle[0] + lean * (end - grid[0]))
    return {"at": [round(float(v), 3) for v in at], "gap": [round(float(v), 4) for v in gaps[0]],
            "gap_without_chips": [round(float(v), 4) for v in gaps[1]], "length": float(hi - lo),
            "start": [mid, float(end)] if upright else [float(end), mid]}


def truth(tiles):
    by_place = {(t.column, t.row): t for t in tiles.values()}
    seams = {}
    for (column, row), tile in sorted(by_place.items(), key=lambda kv: (kv[0][1], kv[0][0])):
        for other, upright in ((by_place.get((column + 1, row)), True), (by_place.get((column, row + 1)), False)):
            if other:
                seams[tile.name + "-" + other.name] = seam_truth(tile, other, upright)
    return {"tiles": {n: tile_truth(t) for n, t in tiles.items()}, "seams": seams}
