"""From light to a JPEG: blur, pixel area, vignetting, noise, colour mosaic, tone curve, sharpening, compression."""
import datetime
import math

import numpy as np
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from compose import SUB, gaussian

LUMA = np.array([0.299, 0.587, 0.114], np.float32)  # JFIF's weights


def pixels(light, blur_px):
    """Lens blur (Gaussian), then each pixel's whole area."""
    out = np.empty((light.shape[0] // SUB, light.shape[1] // SUB, 3), np.float32)
    for k in range(3):
        soft = gaussian(light[..., k], blur_px * SUB)
        out[..., k] = soft.reshape(out.shape[0], SUB, out.shape[1], SUB).mean(axis=(1, 3))
    return out


def vignette(image, amount):
    h, w = image.shape[:2]
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    q = ((x - (w - 1) / 2) ** 2 + (y - (h - 1) / 2) ** 2) / ((w / 2) ** 2 + (h / 2) ** 2)
    return image * (1 - amount * q)[..., None]


def shot(rng, image, full_well, read_electrons):
    """Photon noise (normal, good above some ten electrons) and read noise."""
    electrons = np.clip(image, 0, None) * full_well
    noise = rng.standard_normal(image.shape, dtype=np.float32)
    return (electrons + noise * np.sqrt(electrons + read_electrons ** 2)) / full_well


def moved(a, dy, dx):
    """a, looked at dy rows and dx columns further on; mirrored at the border, which keeps the mosaic's colours."""
    pad = np.pad(a, 2, mode="reflect")
    return pad[2 + dy:2 + dy + a.shape[0], 2 + dx:2 + dx + a.shape[1]]


def fill(sparse):
    """Bilinear in between samples that sit on every second row and column (zeros elsewhere)."""
    wide = sparse + 0.5 * (moved(sparse, 0, -1) + moved(sparse, 0, 1))
    return wide + 0.5 * (moved(wide, -1, 0) + moved(wide, 1, 0))


def green_along(raw, dy, dx):
    """Green guessed along one direction at red and blue pixels, and how unsteady the picture is that way."""
    near, far = (moved(raw, -dy, -dx), moved(raw, dy, dx)), (moved(raw, -2 * dy, -2 * dx), moved(raw, 2 * dy, 2 * dx))
    bend = 2 * raw - far[0] - far[1]
    return 0.5 * (near[0] + near[1]) + 0.25 * bend, np.abs(near[0] - near[1]) + np.abs(bend)


def demosaic(raw, kind):
    """Mosaic R G / G B -> three channels.  "directional": green along the steadier of row and column, then colour
    differences (Hamilton and Adams's way); "linear": every channel for itself."""
    red, blue = np.zeros_like(raw), np.zeros_like(raw)
    red[0::2, 0::2], blue[1::2, 1::2] = 1, 1
    coloured = (red + blue) > 0
    if kind == "linear":
        around = 0.25 * (moved(raw, -1, 0) + moved(raw, 1, 0) + moved(raw, 0, -1) + moved(raw, 0, 1))
        green = np.where(coloured, around, raw)
        return np.stack([fill(raw * red), green, fill(raw * blue)], axis=-1)
    (across, rough_x), (down, rough_y) = green_along(raw, 0, 1), green_along(raw, 1, 0)
    guess = np.where(rough_x < rough_y, across, np.where(rough_y < rough_x, down, 0.5 * (across + down)))
    green = np.where(coloured, guess, raw)
    return np.stack([green + fill((raw - green) * red), green, green + fill((raw - green) * blue)], axis=-1)


def mosaic(image):
    raw = image[..., 1].copy()
    raw[0::2, 0::2] = image[0::2, 0::2, 0]
    raw[1::2, 1::2] = image[1::2, 1::2, 2]
    return raw


def tone(linear, contrast, gamma):
    """sRGB curve (IEC 61966-2-1); contrast 0 to 1 adds an S around the middle; gamma over 1 darkens all but black and white."""
    x = np.clip(linear, 0, 1)
    v = np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.power(np.maximum(x, 1e-9), 1 / 2.4) - 0.055)
    v = v + contrast * 0.5 * (v - 0.5) * (1 - (2 * v - 1) ** 2) if contrast else v
    return v ** gamma if gamma != 1 else v


def sharpen(stored, amount, radius_px):
    """Unsharp mask on the stored luma, added to all three channels."""
    luma = stored @ LUMA
    return stored + (amount * (luma - gaussian(luma, radius_px)))[..., None]


def develop(rng, light, opt):
    """opt: blur, vignette, gain, balance, noise, read, mosaic, contrast, gamma, sharpen, sharpen_radius, soften (see recipe.py)."""
    image = pixels(light, opt["blur"])
    image = vignette(image, opt["vignette"]) * (opt["gain"] / np.array(opt["balance"], np.float32))
    if opt["mosaic"] != "none":
        image = demosaic(shot(rng, mosaic(image), opt["noise"], opt["read"]), opt["mosaic"])
    else:
        image = shot(rng, image, opt["noise"], opt["read"])
    stored = tone(image * np.array(opt["balance"], np.float32), opt["contrast"], opt["gamma"]).astype(np.float32)
    if opt["sharpen"]:
        stored = sharpen(stored, opt["sharpen"], opt["sharpen_radius"])
    if opt["soften"]:
        stored = np.stack([gaussian(stored[..., k], opt["soften"]) for k in range(3)], axis=-1)
    return Image.fromarray((np.clip(stored, 0, 1) * 255 + 0.5).astype(np.uint8))


def labels(size, camera, f_px, taken):
    """EXIF: maker, model, time, and the focal length of an invented small sensor (1 / 6.4 of full frame)."""
    equivalent = f_px * math.hypot(36, 24) / math.hypot(*size)
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Museum", camera  # Make, Model
    exif[0x8769] = {0x9003: taken.strftime("%Y:%m:%d %H:%M:%S"),  # DateTimeOriginal
                    0x920A: IFDRational(round(equivalent / 6.4 * 100), 100),  # FocalLength
                    0xA405: round(equivalent)}  # FocalLengthIn35mmFilm
    return exif


def save(image, path, quality, camera, f_px, taken):
    image.save(path, quality=quality, exif=labels(image.size, camera, f_px, taken))


def day(seed, days=0):
    return datetime.datetime(2026, 3, 1, 10, 0) + datetime.timedelta(days=days, minutes=int(seed) * 37 % 100000)
