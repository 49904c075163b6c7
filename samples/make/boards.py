#!/usr/bin/env python3
"""Makes photos of a printed checkerboard through the camera of a recipe, for its lens profile.

usage: boards.py RECIPE.json OUT [COUNT]   writes OUT1.jpg ... and OUT.truth.json (camera, and every inner corner in px)
The board: 10 x 7 squares of 25 mm with 14 mm of white around, on a plain table.  Needs Python 3 with numpy and Pillow.
"""
import json
import math
import sys

import numpy as np

import compose
import lens
import recipe
import sensor

COLUMNS, ROWS, SQUARE_MM, MARGIN_MM = 10, 7, 25.0, 14.0
TABLE = np.array([0.20, 0.145, 0.095])
# Where the board's middle lies in the frame (shares of its half), slant and the direction it slants to (degrees), turn.
POSES = ((0.0, 0.0, 4, 0, 3), (-0.22, -0.18, 24, 30, -8), (0.23, -0.2, 27, 150, 12), (-0.2, 0.2, 25, 300, 14),
         (0.22, 0.21, 28, 210, -10), (0.0, -0.1, 33, 90, 85), (-0.1, 0.12, 32, 350, 178), (0.12, 0.0, 15, 250, 45))


class Board:
    """Middle, axes and normal of the printed board in the camera's frame (camera at the origin, looking along -z)."""

    def __init__(self, middle, slant_deg, toward_deg, turn_deg):
        s, w, t = (math.radians(v) for v in (slant_deg, toward_deg, turn_deg))
        axis = np.array([-math.sin(w), math.cos(w), 0.0])

        def turned(v):  # Rodrigues
            return v * math.cos(s) + np.cross(axis, v) * math.sin(s) + axis * (axis @ v) * (1 - math.cos(s))
        self.middle = np.array(middle, float)
        self.u, self.v = turned(np.array([math.cos(t), math.sin(t), 0.0])), turned(np.array([-math.sin(t), math.cos(t), 0.0]))
        self.normal = np.cross(self.u, self.v)

    def corners(self, columns, rows, inset):
        """Grid points of the printed squares; inset 1: inner corners only, 0: with the outer ones."""
        i, j = np.meshgrid(np.arange(inset, columns + 1 - inset), np.arange(inset, rows + 1 - inset))
        a, b = (i.ravel() - columns / 2) * SQUARE_MM, (rows / 2 - j.ravel()) * SQUARE_MM
        return self.middle + a[:, None] * self.u + b[:, None] * self.v

    def paint(self, rays, step_px):
        """Albedo along the rays, averaged over step_px (in units of the plane at distance 1)."""
        depth = (self.middle @ self.normal) / (rays @ self.normal)
        p = rays * depth[..., None] - self.middle
        x, y, step = p @ self.u, p @ self.v, depth * step_px

        def square(half_x, half_y):
            return np.clip((half_x - np.abs(x)) / step + 0.5, 0, 1) * np.clip((half_y - np.abs(y)) / step + 0.5, 0, 1)

        def sign(value, count):  # square wave, +1 on the first square; softened over one step
            k = value / SQUARE_MM + count / 2
            near = np.clip(np.round(k), 1, count - 1)  # beyond the outer squares nothing changes
            ramp = np.clip((k - near) * SQUARE_MM / step * 2, -1, 1)
            return np.where(near % 2 == 0, ramp, -ramp)
        dark = 0.5 * (1 + sign(x, COLUMNS) * sign(-y, ROWS)) * square(COLUMNS * SQUARE_MM / 2, ROWS * SQUARE_MM / 2)
        paper = square(COLUMNS * SQUARE_MM / 2 + MARGIN_MM, ROWS * SQUARE_MM / 2 + MARGIN_MM)[..., None]
        white, black = compose.Card.WHITE, compose.Card.BLACK
        return TABLE + paper * (white + (black - white) * dark[..., None] - TABLE)


def place(camera, pose):
    """A board as near as it goes with every printed square in the frame."""
    sx, sy, slant, toward, turn = pose
    lo, hi = 100.0, 3000.0
    for _ in range(50):
        far = 0.5 * (lo + hi)
        middle = (far * sx * camera.width / 2 / camera.f, -far * sy * camera.height / 2 / camera.f, -far)
        board = Board(middle, slant, toward, turn)
        off = np.abs(camera.project(board.corners(COLUMNS, ROWS, 0)) - [(camera.width - 1) / 2, (camera.height - 1) / 2])
        if (off > [camera.width / 2 - 25, camera.height / 2 - 25]).any():
            lo = far
        else:
            hi = far
    return board


def expose(camera, board, rng, band=256):
    rows, columns = camera.height * compose.SUB, camera.width * compose.SUB
    out = np.empty((rows, columns, 3), np.float32)
    toward = rng.uniform(0, 2 * math.pi)
    grid = [compose.MAP_STEP * np.arange(-(-n // compose.MAP_STEP) + 1) for n in (columns, band)]
    for r in range(0, rows, band):
        h = min(band, rows - r)
        px, py = np.meshgrid((grid[0] + 0.5) / compose.SUB - 0.5, (r + grid[1] + 0.5) / compose.SUB - 0.5)
        coarse = camera.rays(px, py)  # exact at every eighth sub-pixel, as in compose.expose
        rays = np.stack([compose.spread(coarse[..., k], h, columns) for k in range(3)], axis=-1)
        slope = 1 + 0.08 * (math.cos(toward) * rays[..., 0] + math.sin(toward) * rays[..., 1])  # a window to one side
        out[r:r + h] = board.paint(rays, 1 / (camera.f * compose.SUB)) * slope[..., None]
    return out


def main(args):
    if len(args) not in (2, 3):
        raise SystemExit(__doc__)
    with open(args[0]) as file:
        opt = recipe.complete(json.load(file))
    camera = lens.Camera(opt["width"], opt["height"], opt["f"], opt["dist"], (0, 0, 0), (0, 0, -1), 0.0)
    camera.r, camera.d = np.array([1.0, 0, 0]), np.array([0, -1.0, 0])
    truth = {"camera": camera.truth(), "board": {"columns": COLUMNS, "rows": ROWS, "square": SQUARE_MM}, "photos": {}}
    for i, pose in enumerate(POSES[:int(args[2]) if len(args) == 3 else len(POSES)]):
        rng = np.random.default_rng([opt["seed"], 20 + i])
        board = place(camera, pose)
        image = sensor.develop(rng, expose(camera, board, rng), {**opt, "gain": opt["exposure"] / 0.8, "balance": [1, 1, 1]})
        name = "%s%d.jpg" % (args[1], i + 1)
        sensor.save(image, name, opt["jpeg"], opt["camera"], opt["f"], sensor.day(opt["seed"] + i))
        corners = camera.project(board.corners(COLUMNS, ROWS, 1))
        truth["photos"][name.rsplit("/", 1)[-1]] = {"inner_corners_px": [[round(float(v), 4) for v in c] for c in corners]}
        print(name)
    with open(args[1] + ".truth.json", "w") as file:
        json.dump(truth, file)
        file.write("\n")


if __name__ == "__main__":
    main(sys.argv[1:])
