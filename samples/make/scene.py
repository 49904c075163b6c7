"""What a ray tracer is needed for: light in the gaps, side faces, shadows on the table-top.  Writes scenes for POV-Ray.

The tops are flat, lie above everything else and are lit evenly, so they need no ray tracer (compose.py shades them from the
same lamps with the same formula).  POV-Ray renders narrow patches along rims and seams, far finer than the photo's
pixels, and one coarse picture of everything around the table.  A patch is a parallelogram on the plane of the tops, as
seen from the camera's eye: sample (column i, row j) lies at origin + i a + j b.
"""
import math
import subprocess
from pathlib import Path

import numpy as np

LIGHT_SCALE = 0.4     # keeps rendered values below 1, where the output would clip
WOOD_BASE_MM = 4.0    # thickness of the tile's wooden base
INSET_MM = 15.0       # the tops' mesh: a rim strip this wide around a plain square
DEPTHS = (0.0, 0.15, 0.35, 0.6, 0.9, 1.3, 1.9, 2.8, 4.2)  # wall bands, in gaps: fine where light changes fast
SHADOW = 4.0          # a step's shadow is traced this many times its height out: lamps down to 14 degrees
LEAST_STEP_MM = 0.5   # lower steps' shadows lie within the seams' own patches
OPPOSITE = {"N": "S", "S": "N", "E": "W", "W": "E"}
BOUNCE_DECAY = 0.7    # light passed to and fro between the walls fades within about this many gaps


class Patch:
    """tiles: (tile, whether its mesh needs the fine bands; the others only keep light and sight out)."""

    def __init__(self, origin, a, b, columns, rows, tiles, box=(1, 1)):
        self.origin, self.a, self.b = np.array(origin, float), np.array(a, float), np.array(b, float)
        self.columns, self.rows, self.tiles, self.box = int(columns), int(rows), tiles, box
        self.light = None

    def average(self):
        """Running mean over box = (columns, rows) samples: the area of one sub-pixel of the photo."""
        for axis, n in ((1, self.box[0]), (0, self.box[1])):
            if n > 1:
                total = np.cumsum(self.light, axis=axis, dtype=np.float64)
                lead = np.take(total, range(n - 1, total.shape[axis]), axis=axis)
                zero = np.zeros_like(np.take(total, [0], axis=axis))
                tail = np.concatenate([zero, np.take(total, range(0, total.shape[axis] - n), axis=axis)], axis=axis)
                self.light = ((lead - tail) / n).astype(np.float32)
        self.origin = self.origin + self.a * (self.box[0] - 1) / 2 + self.b * (self.box[1] - 1) / 2
        self.rows, self.columns = self.light.shape[:2]


# ---- lamps --------------------------------------------------------------------------------------------------------

def panel(rng, middle, u, v, nu, nv, colour):
    """A flat source as nu x nv points, each somewhere in its own cell, so that no row of them lines up with a gap."""
    out = []
    for i in range(nu):
        for j in range(nv):
            s, t = (i + rng.uniform(0.1, 0.9)) / nu - 0.5, (j + rng.uniform(0.1, 0.9)) / nv - 0.5
            out.append((np.array(middle) + s * np.array(u) + t * np.array(v), np.array(colour) / (nu * nv)))
    return out


def lamps(rng, kind, toward_deg, table_middle, top_mm):
    """Points (position, colour) whose light adds up to 1 on the middle of the table."""
    c, s = math.cos(math.radians(toward_deg)), math.sin(math.radians(toward_deg))
    mx, my = table_middle

    def spot(dist, toward, height):
        return (mx + dist * math.cos(math.radians(toward)), my + dist * math.sin(math.radians(toward)), top_mm + height)
    sky = panel(rng, (mx, my, top_mm + 1900), (4200, 0, 0), (0, 4200, 0), 5, 5, (1.0, 1.0, 1.0))
    if kind == "window":
        main = panel(rng, spot(1900, toward_deg, 1250), (-1300 * s, 1300 * c, 0), (0, 0, 1400), 5, 4, (0.92, 0.98, 1.08))
        share = 0.62
    elif kind == "lamp":
        main = panel(rng, spot(700, toward_deg, 1500), (260, 0, 0), (0, 260, 0), 3, 3, (1.12, 0.98, 0.82))
        share = 0.72
    elif kind == "two":
        main = (panel(rng, spot(1000, toward_deg, 1400), (250, 0, 0), (0, 250, 0), 3, 3, (1.05, 1.0, 0.9))
                + panel(rng, spot(1200, toward_deg + 150, 1500), (250, 0, 0), (0, 250, 0), 3, 3, (0.75, 0.72, 0.68)))
        share = 0.75
    else:  # "overcast": a large soft sky only
        main, share = sky, 1.0
    out = []
    for group, weight in ((main, share),) if main is sky else ((main, share), (sky, 1 - share)):
        level = irradiance(group, np.array([mx]), np.array([my]), top_mm).mean()
        out += [(p, col * weight / level) for p, col in group]
    return out


def irradiance(points, x, y, z):
    """Light on a level face at (x, y, z): sum of colour x cosine, as POV-Ray's plain diffuse finish has it."""
    out = np.zeros(x.shape + (3,))
    for pos, colour in points:
        dx, dy, dz = pos[0] - x, pos[1] - y, pos[2] - z
        out += (dz / np.sqrt(dx * dx + dy * dy + dz * dz))[..., None] * colour
    return out


# ---- tops off the plane -------------------------------------------------------------------------------------------

class Seen:
    """Where the eye sees things that stand above the plane of the tops (at top_mm): on that plane, farther from the point
    below the eye than they are."""

    def __init__(self, eye, top_mm):
        self.eye, self.top_mm = np.array(eye, float), top_mm

    def factor(self, rise_mm):
        above = self.eye[2] - self.top_mm
        return above / (above - rise_mm)

    def on_plane(self, points, rise_mm):
        pts = np.asarray(points, float)
        return pts if rise_mm == 0 else self.eye[:2] + (pts - self.eye[:2]) * self.factor(rise_mm)

    def on_top(self, x, y, rise_mm):
        f = self.factor(rise_mm)
        return self.eye[0] + (x - self.eye[0]) / f, self.eye[1] + (y - self.eye[1]) / f


# ---- meshes -------------------------------------------------------------------------------------------------------

def outline(tile, below_mm, height_mm, knot_mm):
    """The tile's outline below_mm under its top, side by side: dict of (n, 2) arrays, low end first."""
    out_mm = {s: tile.standoff(s, height_mm) * below_mm / height_mm for s in "NESW"}
    top, here = tile.corner_u(), tile.corner_u(out_mm)
    sides = {}
    for s in "NESW":
        lo, hi = tile.span(s, top)
        lo2, hi2 = tile.span(s, here)
        u = tile.edges[s].knots(lo, hi, knot_mm)
        u2 = lo2 + (u - lo) / (hi - lo) * (hi2 - lo2)
        dev = tile.edges[s].clean(u2) - tile.edges[s].bite(u2, below_mm) + out_mm[s]
        sides[s] = np.column_stack(tile.world(*tile.local(s, u2, dev)))
    return sides


def side_levels(gap_mm, free_mm, height_mm, chips):
    """free_mm: how much of the wall stands above the neighbour's top; the gap's own depth begins below it."""
    levels = [0.0]
    if gap_mm is not None:
        levels += [free_mm + d * gap_mm for d in DEPTHS if free_mm + d * gap_mm < height_mm - WOOD_BASE_MM - 1]
    for _, _, _, height in chips:
        levels += [height * f for f in (0.25, 0.5, 0.75, 1.0)]
    return sorted(set(levels)) + [height_mm - WOOD_BASE_MM, height_mm]


class Mesh:
    def __init__(self):
        self.points, self.faces, self.textures = [], [], []

    def add(self, xyz):
        start = len(self.points)
        self.points.extend(xyz)
        return list(range(start, start + len(xyz)))

    def strip(self, upper, lower, texture):
        for i in range(len(upper) - 1):
            self.faces.append((upper[i], upper[i + 1], lower[i + 1], texture))
            self.faces.append((upper[i], lower[i + 1], lower[i], texture))

    def text(self, textures):
        pts = ",".join("<%.5f,%.5f,%.5f>" % tuple(p) for p in self.points)
        fcs = ",".join("<%d,%d,%d>,%d" % f for f in self.faces)
        tex = "\n".join("texture{%s}" % t for t in textures)
        return ("mesh2{vertex_vectors{%d,%s}\ntexture_list{%d,%s}\nface_indices{%d,%s}}\n"
                % (len(self.points), pts, len(textures), tex, len(self.faces), fcs))


def texture(colour, glow=0.0):
    return ("pigment{rgb<%.4f,%.4f,%.4f>} finish{ambient 0 diffuse 1 emission %.5f}"
            % (*colour, glow * LIGHT_SCALE))


def add_top(mesh, tile, rim, z):
    inset = tile.side_mm / 2 - INSET_MM
    for s, pts in rim.items():
        lo, hi = tile.span(s, tile.corner_u())
        u = np.clip(np.linspace(lo, hi, len(pts)), -inset, inset)
        local = {"N": (u, u * 0 + inset), "S": (u, u * 0 - inset), "E": (u * 0 + inset, u), "W": (u * 0 - inset, u)}[s]
        inner = np.column_stack(tile.world(*local))
        mesh.strip(mesh.add([(*p, z) for p in pts]), mesh.add([(*p, z) for p in inner]), 0)
    square = [(*tile.world(sx * inset, sy * inset), z) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    a, b, c, d = mesh.add(square)
    mesh.faces += [(a, b, c, 0), (a, c, d, 0)]


def tile_mesh(tile, look, gaps, fine):
    """A tile as a mesh2.  gaps: side -> (mean gap in mm, how far it stands above the other tile) for sides at a seam; fine:
    whether seams get their bands."""
    height, mesh = look["height_mm"] + tile.rise_mm, Mesh()
    textures = [texture(look["top"](tile)), texture(look["ply"])]
    knot = 2.0 if fine else 4.0
    z = height
    cache = {}

    def at(level):
        if level not in cache:
            cache[level] = outline(tile, level, height, knot)
        return cache[level]
    add_top(mesh, tile, at(0.0), z)
    foam = look["foam"](tile)
    for s in "NESW":
        gap, free = (max(gaps[s][0], 0.1), max(gaps[s][1], 0.0)) if fine and s in gaps else (None, 0.0)
        levels = side_levels(gap, free, height, tile.edges[s].chips)
        for upper, lower in zip(levels, levels[1:]):
            glow = 0.0
            if gap is not None:
                glow = look["bounce"] * float(np.mean(foam)) * math.exp(-max(0.0, 0.5 * (upper + lower) - free) / (BOUNCE_DECAY * gap))
            base = lower > height - WOOD_BASE_MM + 1e-6
            if not base:
                textures.append(texture(foam, glow))
            mesh.strip(mesh.add([(*p, z - upper) for p in at(upper)[s]]),
                       mesh.add([(*p, z - lower) for p in at(lower)[s]]), 1 if base else len(textures) - 1)
    return mesh.text(textures)


# ---- patches ------------------------------------------------------------------------------------------------------

def edge_patch(rims, upright, pixel_mm, across_share, tiles, margin_px=2.5):
    """A patch along one or two rims.  Samples lie across_share of a pixel apart across them, half a pixel along."""
    axis = 1 if upright else 0
    pts = np.vstack(rims)
    along, pos = pts[:, axis], pts[:, 1 - axis]
    slope, cut = np.polyfit(along, pos, 1)
    off = pos - slope * along - cut
    q, p = pixel_mm * across_share, pixel_mm * 0.5
    lo, hi = off.min() - margin_px * pixel_mm, off.max() + margin_px * pixel_mm
    start, end = along.min() - 2, along.max() + 2
    first = (cut + slope * start + lo, start) if upright else (start, cut + slope * start + lo)
    a = (q, 0.0) if upright else (0.0, q)
    b = (slope * p, p) if upright else (p, slope * p)
    return Patch(first, a, b, (hi - lo) / q + 1, (end - start) / p + 1, tiles, box=(max(1, round(0.5 / across_share)), 1))


def square_patch(points, pixel_mm, share, tiles, margin_px):
    pts = np.array(points)
    lo, hi = pts.min(axis=0) - margin_px * pixel_mm, pts.max(axis=0) + margin_px * pixel_mm
    q = pixel_mm * share
    n = (hi - lo) / q + 1
    return Patch(lo, (q, 0), (0, q), n[0], n[1], tiles, box=(max(1, round(0.5 / share)),) * 2)


def neighbours(by_place, column, row, fine):
    """The tiles around a place; those named in `fine` get the fine mesh."""
    return [(t, t in fine) for (c, r), t in by_place.items() if abs(c - column) <= 1 and abs(r - row) <= 1]


def shadow_patch(high, low, side, other_side, seen, pixel_mm, tiles):
    """The lower top beside a higher tile, as far as the higher tile's shadow may reach."""
    step = high.rise_mm - low.rise_mm
    lo, hi = low.span(other_side, low.corner_u())
    band = [low.world(*low.local(other_side, u, -d)) for u in (lo, hi) for d in (0.0, SHADOW * step)]
    pts = [*seen.on_plane(band, low.rise_mm), *seen.on_plane(high.rim(side, False)[[0, -1]], high.rise_mm)]
    return square_patch(pts, pixel_mm, 1 / 2, tiles, 3)


def patches(tiles, pixel_mm, seen, samples):
    """Shadows first, then rims, seams, chips and junctions; where patches overlap the later one counts.  samples: a pixel,
    across a seam."""
    by_place = {(t.column, t.row): t for t in tiles.values()}
    shadows, rims, seams, chips, junctions = [], [], [], [], {}

    def rim(tile, side):
        return seen.on_plane(tile.rim(side, False), tile.rise_mm)
    for (c, r), t in by_place.items():
        for s, dc, dr, upright in (("E", 1, 0, True), ("S", 0, 1, False), ("W", -1, 0, True), ("N", 0, -1, False)):
            other = by_place.get((c + dc, r + dr))
            if other is None:
                rims.append(edge_patch([rim(t, s)], upright, pixel_mm, 1 / 8, neighbours(by_place, c, r, [t])))
            elif s in "ES":
                seams.append(edge_patch([rim(t, s), rim(other, "W" if s == "E" else "N")], upright, pixel_mm, 1 / samples,
                                        neighbours(by_place, c, r, [t, other])))
            if other is not None and t.rise_mm - other.rise_mm > LEAST_STEP_MM:
                shadows.append(shadow_patch(t, other, s, OPPOSITE[s], seen, pixel_mm, neighbours(by_place, c, r, [t, other])))
            for at, half, depth, _ in t.edges[s].chips:
                dev = float(t.edges[s].clean(at))
                box = [t.world(*t.local(s, at + e * half, dev - f * depth)) for e in (-1, 1) for f in (0, 1)]
                chips.append(square_patch(seen.on_plane(box, t.rise_mm), pixel_mm, 1 / 4, neighbours(by_place, c, r, [t]), 3))
        for name, (x, y) in t.corner_u().items():
            key = (c + ("E" in name), r + ("S" in name))
            junctions.setdefault(key, []).append(tuple(seen.on_plane(t.world(x, y), t.rise_mm)))
    cross = [square_patch(pts, pixel_mm, 1 / 6, [(t, True) for (c, r), t in by_place.items()
                                                 if k[0] - 1 <= c <= k[0] and k[1] - 1 <= r <= k[1]], 5)
             for k, pts in junctions.items()]
    return shadows + rims + seams + chips + cross


# ---- POV-Ray ------------------------------------------------------------------------------------------------------

def vector(v):
    return "<%.7f,%.7f,%.7f>" % tuple(v)


def camera_text(patch, eye, top_mm):
    middle = patch.origin + patch.a * (patch.columns - 1) / 2 + patch.b * (patch.rows - 1) / 2
    direction = np.array([*middle, top_mm]) - eye
    return ("camera{perspective location %s direction %s right %s up %s}\n"
            % (vector(eye), vector(direction), vector([*(patch.a * patch.columns), 0]), vector([*(-patch.b * patch.rows), 0])))


def cached_mesh(tile, look, gaps, fine, cache={}):
    """A tile's mesh does not depend on the patch; most patches share it."""
    key = (id(tile), fine)
    if key not in cache:
        cache[key] = tile_mesh(tile, look, gaps, fine), tile  # holding the tile keeps its id taken
    return cache[key][0]


def scene_text(patch, eye, look, points, gaps):
    body = ["#version 3.7;\nglobal_settings{assumed_gamma 1.0 max_trace_level 3}\n", camera_text(patch, eye, look["height_mm"])]
    for pos, colour in points:
        body.append("light_source{%s rgb %s}\n" % (vector(pos), vector(colour * LIGHT_SCALE)))
    body.append("plane{<0,0,1>,0 %s}\n" % look["table_top"])
    body += [cached_mesh(t, look, gaps[t.name], fine) for t, fine in patch.tiles]
    return "".join(body)


def read_ppm16(path):
    data = Path(path).read_bytes()
    head, at = [], 0
    while len(head) < 4:
        end = at
        while data[end:end + 1] not in (b" ", b"\n", b"\t"):
            end += 1
        if data[at:at + 1] == b"#":
            end = data.index(b"\n", at)
        elif end > at:
            head.append(data[at:end])
        at = end + 1
    width, height, top = (int(v) for v in head[1:])
    values = np.frombuffer(data, ">u2" if top > 255 else "u1", offset=at, count=width * height * 3)
    return values.reshape(height, width, 3).astype(np.float32) / top


def render(patch, folder, eye, look, points, gaps, extra=("-A",)):
    """Runs POV-Ray for one patch; its samples are then in patch.light (linear, 1 = a white top at the table's middle)."""
    scene, picture = Path(folder) / "patch.pov", Path(folder) / "patch.ppm"
    scene.write_text(scene_text(patch, eye, look, points, gaps))
    command = ["povray", "+I" + str(scene), "+O" + str(picture), "+W%d" % patch.columns, "+H%d" % patch.rows, "-D", "-V",
               "+FP16", "File_Gamma=1.0", "+WT1", "-GA", *extra]
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode:
        raise RuntimeError("povray failed: " + done.stderr[-2000:])
    patch.light = read_ppm16(picture) / LIGHT_SCALE
    patch.average()
