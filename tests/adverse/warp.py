"""Pictures taken again through another map: bicubic, from where a pixel of the new picture looks in the old one."""
import math

import numpy as np
from PIL import Image

CELL_PX = 32  # a map is followed exactly at the corners of such cells, and linearly between them


def sample(linear, px):
    """Catmull and Rom's cubic at places px (..., 2) of a picture (h, w, 3); the rim is repeated."""
    h, w = linear.shape[:2]
    x, y = px[..., 0], px[..., 1]
    x0, y0 = np.floor(x).astype(int), np.floor(y).astype(int)
    wx, wy = cubic(x - x0), cubic(y - y0)
    out = np.zeros((*x.shape, linear.shape[2]), np.float32)
    for j in range(4):
        rows = np.clip(y0 + j - 1, 0, h - 1)
        for i in range(4):
            out += (wx[i] * wy[j])[..., None].astype(np.float32) * linear[rows, np.clip(x0 + i - 1, 0, w - 1)]
    return out


def cubic(t):
    """Weights of the four samples around a place t (0 to 1) between the middle two."""
    return (((2 - t) * t - 1) * t / 2, ((3 * t - 5) * t * t + 2) / 2, ((4 - 3 * t) * t + 1) * t / 2, (t - 1) * t * t / 2)


def cells(size):
    w, h = size
    xs, ys = np.unique(np.append(np.arange(0, w, CELL_PX), w)), np.unique(np.append(np.arange(0, h, CELL_PX), h))
    return xs, ys


def beyond(length, pad, first, last):
    """Indices of a row of pixels that goes on beyond both ends: to and fro over what is free before `first` and after `last`."""
    inside = np.arange(length)
    out = []
    for way, free in ((np.arange(pad, 0, -1), first), (np.arange(1, pad + 1), length - 1 - last)):
        there = np.abs((way + free) % (2 * free) - free) if free > 1 else np.zeros(pad, int)
        out.append(there)
    return np.concatenate([out[0], inside, length - 1 - out[1]])


def picture(image, size, back, free):
    """A picture of that size whose pixel p shows the old one's back(p) (both (n, 2), pixel centres at whole numbers).  free: (x0, y0, x1, y1)
    beyond which there is nothing but floor, which goes on outside."""
    xs, ys = cells(size)
    gx, gy = np.meshgrid(xs, ys)
    source = back(np.column_stack([gx.ravel(), gy.ravel()]) - 0.5).reshape(len(ys), len(xs), 2) + 0.5
    h, w = image.shape[:2]
    mesh = []
    for j in range(len(ys) - 1):
        for i in range(len(xs) - 1):
            quad = (*source[j, i], *source[j + 1, i], *source[j + 1, i + 1], *source[j, i + 1])
            mesh.append(((int(xs[i]), int(ys[j]), int(xs[i + 1]), int(ys[j + 1])), quad))
    pad = int(min(h, w) * 0.5)
    wide = image[beyond(h, pad, free[1], free[3])][:, beyond(w, pad, free[0], free[2])]
    mesh = [(box, tuple(v + pad for v in quad)) for box, quad in mesh]
    return np.asarray(Image.fromarray(wide).transform(size, Image.MESH, mesh, Image.BICUBIC)).copy()


def forward(back, rounds=25):
    """Where a place of the old picture comes to lie: the inverse of a map that moves little."""
    def there(p):
        q = np.array(p, float)
        for _ in range(rounds):
            q = q - (back(q) - p)
        return q
    return there


def scene(s, back, size=None, there=None):
    """Takes a scene's picture again."""
    size = size or s.size()
    rows, columns = (np.flatnonzero(s.inside_table().max(axis=k)) for k in (1, 0))
    free = [max(1, v - 6) for v in (columns[0], rows[0])] + [v + 6 for v in (columns[-1], rows[-1])]
    s.image = picture(s.image, size, back, free)
    if s.hidden is not None:
        s.hidden = picture(np.repeat(s.hidden[..., None], 3, axis=2), size, back, free)[..., 0]
    s.moved = there or forward(back)


def turned_camera(camera, across_deg, down_deg, roll_deg=0.0):
    """(back, there) of the same camera, turned where it stands: the table goes left and up by the first two."""
    def about(axis, deg, v):
        c, s = math.cos(math.radians(deg)), math.sin(math.radians(deg))
        return v * c + np.cross(axis, v) * s + axis * np.dot(axis, v) * (1 - c)
    z, r, d = camera.z, camera.r, camera.d
    z, r = about(d, across_deg, z), about(d, across_deg, r)
    z, d = about(r, -down_deg, z), about(r, -down_deg, d)
    r, d = about(z, roll_deg, r), about(z, roll_deg, d)
    other = type(camera)(camera.width, camera.height, camera.f, camera.dist, camera.at, camera.look, camera.roll_deg)
    other.z, other.r, other.d = z, r, d

    def seen(source, target):
        return lambda p: target.project(source.at + source.rays(np.asarray(p)[:, 0], np.asarray(p)[:, 1]))
    return seen(other, camera), seen(camera, other)
