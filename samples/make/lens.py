"""The camera: where a pixel of the photo looks.

Axes: z = unit(look - at), right = z x (0, 1, 0), down = z x right, then turned by `roll`.  x = X / Z, y = Y / Z, distorted by
k1 k2 p1 p2 k3 (order and formula of OpenCV's documentation), px = f x + (width - 1) / 2, py = f y + (height - 1) / 2.
"""
import math

import numpy as np


class Camera:
    def __init__(self, width, height, f, dist, at, look, roll_deg):
        self.width, self.height, self.f, self.dist = width, height, f, list(dist)
        self.at, self.look, self.roll_deg = np.array(at, float), np.array(look, float), roll_deg
        z = self.look - self.at
        self.z = z / np.linalg.norm(z)
        right = np.cross(self.z, (0.0, 1.0, 0.0))
        right /= np.linalg.norm(right)
        down = np.cross(self.z, right)
        c, s = math.cos(math.radians(roll_deg)), math.sin(math.radians(roll_deg))
        self.r, self.d = c * right + s * down, -s * right + c * down

    def distort(self, x, y):
        k1, k2, p1, p2, k3 = self.dist
        q = x * x + y * y
        m = 1 + q * (k1 + q * (k2 + q * k3))
        return x * m + 2 * p1 * x * y + p2 * (q + 2 * x * x), y * m + p1 * (q + 2 * y * y) + 2 * p2 * x * y

    def undistort(self, xd, yd):
        """Fixed-point rounds; 40 of them settle below 1e-12 for the lenses used here (|k1| up to 0.15)."""
        k1, k2, p1, p2, k3 = self.dist
        x, y = xd.copy(), yd.copy()
        for _ in range(40):
            q = x * x + y * y
            m = 1 + q * (k1 + q * (k2 + q * k3))
            x, y = (xd - 2 * p1 * x * y - p2 * (q + 2 * x * x)) / m, (yd - p1 * (q + 2 * y * y) - 2 * p2 * x * y) / m
        return x, y

    def project(self, points):
        """World points (n, 3) -> pixels (n, 2)."""
        p = np.atleast_2d(points) - self.at
        depth = p @ self.z
        x, y = self.distort(p @ self.r / depth, p @ self.d / depth)
        return np.column_stack([self.f * x + (self.width - 1) / 2, self.f * y + (self.height - 1) / 2])

    def rays(self, px, py):
        """Directions (..., 3) of the sight lines through pixels."""
        x, y = self.undistort((px - (self.width - 1) / 2) / self.f, (py - (self.height - 1) / 2) / self.f)
        return x[..., None] * self.r + y[..., None] * self.d + self.z

    def plane(self, px, py, height_mm):
        """Where sight lines meet the level plane z = height_mm."""
        ray = self.rays(px, py)
        t = (height_mm - self.at[2]) / ray[..., 2]
        return self.at[0] + t * ray[..., 0], self.at[1] + t * ray[..., 1]

    def truth(self):
        return {"width": self.width, "height": self.height, "f": self.f, "dist": self.dist, "at": self.at.tolist(),
                "look": self.look.tolist(), "roll": self.roll_deg}


def above_table(width, height, f, dist, corners_mm, top_mm, tilt_deg, tilt_toward_deg, roll_deg, fill, shift):
    """A camera above the table from which the table fills the share `fill` of the frame, tilted so that it looks from
    the side tilt_toward_deg (0 east, 90 north).  shift: where the table's middle lies off the frame's, in shares of the frame."""
    corners = np.array(corners_mm, float)
    middle = corners.mean(axis=0)
    span = np.ptp(corners, axis=0).max()
    lo, hi = 0.3 * span, 6.0 * span
    back = np.array([math.cos(math.radians(tilt_toward_deg)), math.sin(math.radians(tilt_toward_deg))]) * math.tan(math.radians(tilt_deg))
    for _ in range(60):
        h = 0.5 * (lo + hi)
        # moving the point looked at moves the table the other way in the frame
        a = math.radians(roll_deg)
        off = np.array([-shift[0] * width, shift[1] * height]) / f * h
        look = middle + [off[0] * math.cos(a) + off[1] * math.sin(a), -off[0] * math.sin(a) + off[1] * math.cos(a)]
        cam = Camera(width, height, f, dist, [*(look + back * h), top_mm + h], [*look, top_mm], roll_deg)
        p = cam.project(np.column_stack([corners, np.full(len(corners), top_mm)]))
        half = np.abs(p - [(width - 1) / 2, (height - 1) / 2]) / [width / 2, height / 2]
        if half.max() > fill:
            lo = h
        else:
            hi = h
    return cam
