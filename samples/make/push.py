"""The ordinary push: hands move all tiles inward from outside until the seams' mean gaps add up to the least that is possible.

No tops and no bases overlap; the first tile stays.  A linear programme in three motions a tile, made again with the exact
outlines at the poses found until it has settled.  A chip holds tiles apart as if it were whole, as the face below it is.
"""
import math

import numpy as np

import programme
import tiles as shapes

APART_MM = 0.01     # tiles that touch are left so far apart
ARM_MM = 150.0      # turns are reckoned by how far they move a place so far from a tile's middle
# How far tiles may move in each round: at first to where they meet, then so little that outlines change no more.
REACH_MM = (20.0, 5.0, 1.0, 0.3, 0.1, 0.05, 0.02, 0.01)
# What a mm of motion costs beside a mm of gap.  Sliding a tile along seams that taper like its neighbours closes next to nothing
# (slopes are 0.002) and is not done; closing a seam gains 1.
EASE = 0.01
STATION_MM = 0.5    # along a seam
GAIN_MM = 0.05      # of a total of some mm; which of two ways comes about that close less than that apart is chance
CORNER_MM = 0.002   # tiles that meet at a corner only are kept apart from this overlap on


class Column:
    """Which three columns of the programme move a tile; none for the first tile."""

    def __init__(self, tiles):
        names = sorted(tiles, key=lambda n: (tiles[n].row, tiles[n].column))
        self.first = {n: 3 * k for k, n in enumerate(names[1:])}
        self.motions, self.movable = 3 * len(names[1:]), names[1:]

    def row(self, pairs, place, way):
        """Row of the programme for the distance along `way` at `place`: pairs of a tile and whether that tile lies ahead (1) or
        behind (-1).  Columns of the ease stand behind the motions."""
        out = np.zeros(self.motions + 2 * len(self.movable))
        for tile, sign in pairs:
            if tile.name in self.first:
                turn = (way[1] * (place[0] - tile.pose[0]) - way[0] * (place[1] - tile.pose[1])) / ARM_MM
                out[self.first[tile.name]:self.first[tile.name] + 3] = sign * np.array([way[0], way[1], turn])
        return out


def seams_of(tiles):
    """(first, second, upright) of every seam."""
    at = {(t.column, t.row): t for t in tiles.values()}
    return [(tile, at[c + dc, r + dr], bool(dc)) for (c, r), tile in at.items()
            for dc, dr in ((1, 0), (0, 1)) if (c + dc, r + dr) in at]


def openings(first, second, upright):
    """Places along a seam (y or x), the gap there along the axis, the slope of the seam's middle line and where that is at 0."""
    a, b = ("E", "W") if upright else ("S", "N")
    ra, rb = first.rim(a, False), second.rim(b, False)
    axis = 1 if upright else 0
    lo, hi = max(ra[0, axis], rb[0, axis]), min(ra[-1, axis], rb[-1, axis])
    grid = np.linspace(lo, hi, int((hi - lo) / STATION_MM) + 2)
    near, far = np.interp(grid, ra[:, axis], ra[:, 1 - axis]), np.interp(grid, rb[:, axis], rb[:, 1 - axis])
    slope, middle = np.polyfit(grid, 0.5 * (near + far), 1)
    return grid, (far - near if upright else near - far), slope, middle


def standoffs(first, second, upright, height_mm):
    a, b = ("E", "W") if upright else ("S", "N")
    return first.standoff(a, height_mm + first.rise_mm) + second.standoff(b, height_mm + second.rise_mm)


def lower_hull(x, y):
    """Indices of the corners of the lower convex hull: as motions change a gap linearly along its seam, no other place can be
    the first to touch."""
    out = []
    for i in range(len(x)):
        while len(out) > 1 and ((x[out[-1]] - x[out[-2]]) * (y[i] - y[out[-2]])
                                <= (y[out[-1]] - y[out[-2]]) * (x[i] - x[out[-2]])):
            out.pop()
        out.append(i)
    return out


def seam_rows(column, seam, height_mm):
    """(rows that keep the tiles apart, their right sides, what the motions do to the seam's mean gap)."""
    first, second, upright = seam
    grid, gap, slope, middle = openings(*seam)
    way = (1.0, -slope) if upright else (slope, -1.0)  # the gap is taken along the axis, over a seam that slants

    def row(at):
        across = middle + slope * at
        return column.row(((second, 1), (first, -1)), (across, at) if upright else (at, across), way)
    touching = lower_hull(grid, gap)
    free = gap - standoffs(*seam, height_mm) - APART_MM
    return [-row(grid[i]) for i in touching], [free[i] for i in touching], row(grid.mean())


class Corners:
    """Tiles that meet at a corner only.  Those that came to overlap are kept apart in the direction in which they overlap less,
    and stay so."""

    def __init__(self, tiles, height_mm):
        at = {(t.column, t.row): t for t in tiles.values()}
        self.pairs = [(tile, at[c + dx, r + 1], dx) for (c, r), tile in at.items() for dx in (1, -1) if (c + dx, r + 1) in at]
        self.height_mm, self.ways = height_mm, {}

    def meet(self, pair):
        """Corners of the two bases (or tops, where faces do not lean) and how far they overlap in x and y."""
        upper, lower, dx = pair

        def corner(tile, name):
            out = {s: tile.standoff(s, self.height_mm + tile.rise_mm) for s in "NESW"}
            return np.array(tile.world(*tile.corner_u(out)[name]))
        p, q = corner(upper, "SE" if dx > 0 else "SW"), corner(lower, "NW" if dx > 0 else "NE")
        return p, q, ((p[0] - q[0]) * dx + APART_MM, q[1] - p[1] + APART_MM)

    def choose(self):
        for i, pair in enumerate(self.pairs):
            over = self.meet(pair)[2]
            if i not in self.ways and min(over) > CORNER_MM + APART_MM:
                self.ways[i] = int(over[1] < over[0])

    def rows(self, column):
        out = []
        for i, by_y in self.ways.items():
            upper, lower, dx = self.pairs[i]
            p, q, over = self.meet(self.pairs[i])
            way = (0.0, 1.0) if by_y else (-dx, 0.0)
            out.append((-column.row(((upper, 1),), p, way) - column.row(((lower, -1),), q, way), -over[by_y]))
        return out


def bounds(column, reach_mm):
    """Motions no farther than the reach, and what they cost beside the gaps: (rows, right sides, costs)."""
    n, movable = column.motions, len(column.movable)
    width = n + 2 * movable
    rows, most = [], []
    for k in range(n):
        for sign in (1.0, -1.0):
            row = np.zeros(width)
            row[k] = sign
            rows.append(row)
            most.append(reach_mm)
            if k % 3 < 2:  # the ease is at least the motion either way
                rows.append(row.copy())
                rows[-1][n + k // 3 * 2 + k % 3] = -1.0
                most.append(0.0)
    return rows, most, np.concatenate([np.zeros(n), np.full(2 * movable, EASE)])


def step(tiles, seams, corners, column, reach_mm, height_mm):
    rows, most, cost = bounds(column, reach_mm)
    for seam in seams:
        apart, free, mean = seam_rows(column, seam, height_mm)
        rows, most, cost = rows + apart, most + free, cost + mean
    for row, free in corners.rows(column):
        rows.append(row)
        most.append(free)
    x = programme.solve(cost, np.array(rows), np.array(most))
    for name, k in column.first.items():
        pose = tiles[name].pose
        pose[0], pose[1], pose[2] = pose[0] + x[k], pose[1] + x[k + 1], pose[2] + x[k + 2] / ARM_MM


def settle(tiles, corners, reaches_mm):
    column, seams = Column(tiles), seams_of(tiles)
    for reach_mm in reaches_mm:
        corners.choose()
        step(tiles, seams, corners, column, reach_mm, corners.height_mm)


def other_way(tiles, corners, i):
    """Lets the tiles at corner i pass in the other direction; whether that closes more.  If not, all is as it was."""
    poses, ways, before = {n: list(t.pose) for n, t in tiles.items()}, dict(corners.ways), total(tiles)
    corners.ways[i] = 1 - ways[i]
    try:
        settle(tiles, corners, REACH_MM[1:])
        if total(tiles) < before - GAIN_MM and overlap(tiles, corners.height_mm) <= CORNER_MM:
            return True
    except ValueError:  # the tiles find no room that way
        pass
    for name, pose in poses.items():
        tiles[name].pose[:] = pose
    corners.ways = ways
    return False


def push(tiles, tile_height_mm):
    """Pushes tiles that lie about where they belong.  Which corner passes which was chosen on the way; where tiles hang on a
    corner that would let them close in the other direction, hands find that out."""
    corners = Corners(tiles, tile_height_mm)
    if len(tiles) < 2:
        return
    settle(tiles, corners, REACH_MM)
    while any(other_way(tiles, corners, i) for i in sorted(corners.ways)):
        pass


def overlap(tiles, tile_height_mm):
    """How deep tops or bases overlap anywhere, mm; below 0: how far all are apart."""
    deep = [float(standoffs(*s, tile_height_mm) - openings(*s)[1].min()) for s in seams_of(tiles)]
    corners = Corners(tiles, tile_height_mm)
    return max(deep + [min(corners.meet(p)[2]) - APART_MM for p in corners.pairs])


def total(tiles):
    """Sum of the seams' mean gaps, mm."""
    return sum(float(openings(*s)[1].mean()) / math.hypot(1, openings(*s)[2]) for s in seams_of(tiles))
