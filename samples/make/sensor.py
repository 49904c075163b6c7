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


def shift_sum(a, taps):
    pad = np.pad(a, 2, mode="reflect")
    out = np.zeros_like(a)
    for dy, dx, weight in taps:
        out += weight * pad[2 + dy:2 + dy + a.shape[0], 2 + dx:2 + dx + a.shape[1]]
    return out


def demosaic(raw):
    """Gradient-corrected linear interpolation (Malvar, He and Cutler, ICASSP 2004, figure 2), mosaic R G / G B."""
    cross = [(-1, 0), (1, 0), (0, -1), (0, 1)]
    far = [(-2, 0), (2, 0), (0, -2), (0, 2)]
    diagonal = [(-1, -1), (-1, 1), (1, -1), (1, 1)]
    green = shift_sum(raw, [(0, 0, 0.5)] + [(*p, 0.25) for p in cross] + [(*p, -0.125) for p in far])
    level = shift_sum(raw, [(0, 0, 0.625), (0, -1, 0.5), (0, 1, 0.5), (-2, 0, 0.0625), (2, 0, 0.0625), (0, -2, -0.125), (0, 2, -0.125)]
                      + [(*p, -0.125) for p in diagonal])
    upright = shift_sum(raw, [(0, 0, 0.625), (-1, 0, 0.5), (1, 0, 0.5), (0, -2, 0.0625), (0, 2, 0.0625), (-2, 0, -0.125), (2, 0, -0.125)]
                        + [(*p, -0.125) for p in diagonal])
    slant = shift_sum(raw, [(0, 0, 0.75)] + [(*p, 0.25) for p in diagonal] + [(*p, -0.1875) for p in far])
    out = np.empty(raw.shape + (3,), np.float32)
    r, g1, g2, b = ((slice(i, None, 2), slice(j, None, 2)) for i in (0, 1) for j in (0, 1))
    out[..., 1] = raw
    out[r + (1,)], out[b + (1,)] = green[r], green[b]
    out[r + (0,)], out[g1 + (0,)], out[g2 + (0,)], out[b + (0,)] = raw[r], level[g1], upright[g2], slant[b]
    out[b + (2,)], out[g2 + (2,)], out[g1 + (2,)], out[r + (2,)] = raw[b], level[g2], upright[g1], slant[r]
    return out


def mosaic(image):
    raw = image[..., 1].copy()
    raw[0::2, 0::2] = image[0::2, 0::2, 0]
    raw[1::2, 1::2] = image[1::2, 1::2, 2]
    return raw


def tone(linear, contrast):
    """sRGB curve (IEC 61966-2-1); contrast 0 to 1 adds an S around the middle."""
    x = np.clip(linear, 0, 1)
    v = np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.power(np.maximum(x, 1e-9), 1 / 2.4) - 0.055)
    return v + contrast * 0.5 * (v - 0.5) * (1 - (2 * v - 1) ** 2) if contrast else v


def sharpen(stored, amount, radius_px):
    """Unsharp mask on the stored luma, added to all three channels."""
    luma = stored @ LUMA
    return stored + (amount * (luma - gaussian(luma, radius_px)))[..., None]


def develop(rng, light, opt):
    """opt: blur, vignette, gain, balance, noise, read, bayer, contrast, sharpen, sharpen_radius (see recipe.py)."""
    image = pixels(light, opt["blur"])
    image = vignette(image, opt["vignette"]) * (opt["gain"] / np.array(opt["balance"], np.float32))
    if opt["bayer"]:
        image = demosaic(shot(rng, mosaic(image), opt["noise"], opt["read"]))
    else:
        image = shot(rng, image, opt["noise"], opt["read"])
    stored = tone(image * np.array(opt["balance"], np.float32), opt["contrast"]).astype(np.float32)
    if opt["sharpen"]:
        stored = sharpen(stored, opt["sharpen"], opt["sharpen_radius"])
    return Image.fromarray((np.clip(stored, 0, 1) * 255 + 0.5).astype(np.uint8))


def save(image, path, quality, camera, f_px, taken):
    exif = image.getexif()
    exif[0x010F], exif[0x0110] = "Museum", camera  # Make, Model
    more = exif.get_ifd(0x8769)
    more[0x9003] = taken.strftime("%Y:%m:%d %H:%M:%S")  # DateTimeOriginal
    equivalent = f_px * math.hypot(36, 24) / math.hypot(image.width, image.height)
    more[0x920A] = IFDRational(round(equivalent / 6.4 * 100), 100)  # FocalLength of an invented small sensor
    more[0xA405] = round(equivalent)  # FocalLengthIn35mmFilm
    image.save(path, quality=quality, exif=exif)


def day(seed):
    return datetime.datetime(2026, 3, 1, 10, 0) + datetime.timedelta(minutes=int(seed) * 37 % 100000)
