"""What phones and programs do to a picture, and what bad light, bad focus and moving hands do to it.  No station is hidden."""
import io
import math

import numpy as np
from PIL import Image, ImageFilter

from kinds import kind
from picture import TO_LINEAR, stored

LUMA = np.array([0.299, 0.587, 0.114], np.float32)  # JFIF's weights


def blurred(image, sigma):
    """A float image (h, w) or (h, w, 3), blurred widely: reduced first when the blur is wide."""
    if image.ndim == 3:
        return np.dstack([blurred(image[..., k], sigma) for k in range(3)])
    down = max(1, int(sigma / 3))
    size = (image.shape[1], image.shape[0])
    small = Image.fromarray(np.ascontiguousarray(image, np.float32))
    if down > 1:
        small = small.resize((max(1, size[0] // down), max(1, size[1] // down)), Image.BOX)
    out = gaussian(np.asarray(small), sigma / down)
    return np.asarray(Image.fromarray(out).resize(size, Image.BICUBIC)) if down > 1 else out


def gaussian(image, sigma):
    """Gaussian blur of a float image (h, w), separable, edges repeated."""
    reach = max(1, int(math.ceil(3.5 * sigma)))
    weights = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    return across(across(image, weights / weights.sum(), 0), weights / weights.sum(), 1)


def across(image, weights, axis):
    reach = len(weights) // 2
    pad = np.pad(image.astype(np.float32), [(reach, reach) if a == axis else (0, 0) for a in (0, 1)], mode="edge")
    out = np.zeros_like(image, np.float32)
    for k, w in enumerate(weights):
        out += np.float32(w) * (pad[k:k + image.shape[0]] if axis == 0 else pad[:, k:k + image.shape[1]])
    return out


def through_curve(scene, curve):
    """Every stored level through a curve over 0 to 1."""
    table = np.clip(curve(np.arange(256) / 255.0) * 255 + 0.5, 0, 255).astype(np.uint8)
    scene.image = table[scene.image]


def add_luma(scene, change):
    """Adds to all three channels, stored levels."""
    scene.image = np.clip(scene.image + change[..., None] + 0.5, 0, 255).astype(np.uint8)


def luma(scene):
    return scene.image @ LUMA


def noise_of(rng, shape, sigma):
    return rng.standard_normal(shape, dtype=np.float32) * np.float32(sigma)


# ---- tone ---------------------------------------------------------------------------------------------------------

@kind("tone-mapped", (0.3, 0.6, 0.9), "share of the local mean's contrast that local tone mapping takes away, within 12 mm")
def tone_mapped(scene, amount, rng):
    log = np.log2(np.maximum(luma(scene), 2) / 255)
    base = blurred(log, 12 * scene.px_per_mm)
    gain = np.exp2(-amount * (base - base.mean()))
    detail = np.exp2(amount * 0.6 * (log - base))
    scene.image = np.clip(scene.image * (gain * detail)[..., None] + 0.5, 0, 255).astype(np.uint8)


@kind("tone-mapped-fine", (0.3, 0.6, 0.9), "the same within 2 mm: halos along the seams")
def tone_mapped_fine(scene, amount, rng):
    log = np.log2(np.maximum(luma(scene), 2) / 255)
    base = blurred(log, 2 * scene.px_per_mm)
    scene.image = np.clip(scene.image * np.exp2(-amount * 0.5 * (base - base.mean()) + amount * 0.4 * (log - base))[..., None] + 0.5,
                          0, 255).astype(np.uint8)


@kind("lifted-shadows", (0.25, 0.5, 0.8), "how far shadows are lifted, with more contrast above")
def lifted_shadows(scene, amount, rng):
    def curve(v):
        up = v + amount * 0.5 * (1 - v) ** 4 * np.sqrt(v + 0.02)
        return up + amount * 0.35 * (up - 0.5) * (1 - (2 * up - 1) ** 2)
    through_curve(scene, curve)


@kind("s-curve", (0.4, 0.9, 1.6), "strength of an S curve over the stored levels")
def s_curve(scene, amount, rng):
    def curve(v):
        k = 2 + 4 * amount
        low, high = 1 / (1 + math.exp(k / 2)), 1 / (1 + math.exp(-k / 2))
        return (1 / (1 + np.exp(-k * (v - 0.5))) - low) / (high - low)
    through_curve(scene, curve)


@kind("blacks-crushed", (0.08, 0.16, 0.28), "stored level below which all is black")
def blacks_crushed(scene, floor, rng):
    through_curve(scene, lambda v: np.clip((v - floor) / (1 - floor), 0, 1))


@kind("gamma", (0.7, 1.6, 2.2), "exponent of the stored levels")
def gamma(scene, exponent, rng):
    through_curve(scene, lambda v: v ** exponent)


@kind("negative-clarity", (0.4, 0.8, 1.2), "share of the detail within 3 mm that a softening filter takes away or turns")
def negative_clarity(scene, amount, rng):
    y = luma(scene)
    add_luma(scene, -amount * 0.5 * (y - blurred(y, 3 * scene.px_per_mm)))


@kind("posterized", (48, 24, 12), "levels of each channel that are left")
def posterized(scene, levels, rng):
    through_curve(scene, lambda v: np.round(v * (levels - 1)) / (levels - 1))


@kind("colour-cast", (0.7, 0.45, 0.25), "share of the blue that is left, and more red")
def colour_cast(scene, share, rng):
    scene.put(scene.linear() * np.array([min(1.35, 1 + 0.5 * (1 - share)), 1.0, share], np.float32))


@kind("overexposed", (1.4, 2.0, 3.0), "times the light")
def overexposed(scene, gain, rng):
    linear = scene.linear() * np.float32(gain)
    scene.put(linear)
    if (linear.min(axis=2) >= 1).mean() > 0.001:
        scene.hide((0, 0, *scene.size()), linear.min(axis=2) >= 1)


@kind("underexposed", (0.4, 0.15, 0.05), "times the light, brightened again as a phone does: dark parts in few levels")
def underexposed(scene, gain, rng):
    dark = np.floor(stored(scene.linear() * np.float32(gain)) + rng.uniform(0, 1, scene.image.shape).astype(np.float32))
    linear = TO_LINEAR[np.clip(dark, 0, 255).astype(np.uint8)] * np.float32(min(1 / gain, 6))
    scene.put(linear)


@kind("low-light", (3, 7, 14), "stored levels of noise, half of it in patches as noise reduction leaves it")
def low_light(scene, sigma, rng):
    h, w = scene.image.shape[:2]
    fine = noise_of(rng, (h, w, 3), sigma)
    coarse = np.asarray(Image.fromarray(noise_of(rng, (h // 3 + 1, w // 3 + 1), sigma)).resize((w, h), Image.BICUBIC))
    scene.image = np.clip(scene.image + fine + coarse[..., None] + 0.5, 0, 255).astype(np.uint8)


@kind("vignette", (0.3, 0.55, 0.8), "share of the light that is lost in the picture's corners")
def vignette(scene, amount, rng):
    w, h = scene.size()
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    far = ((x - w / 2) ** 2 + (y - h / 2) ** 2) / ((w / 2) ** 2 + (h / 2) ** 2)
    scene.put(scene.linear() * (1 - np.float32(amount) * far)[..., None])


@kind("veil", (0.05, 0.15, 0.4), "stray light added, of white, more to one side")
def veil(scene, amount, rng):
    w, h = scene.size()
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    turn = rng.uniform(0, 2 * np.pi)
    slope = 0.5 + 0.5 * ((x / w - 0.5) * math.cos(turn) + (y / h - 0.5) * math.sin(turn)) * 1.4
    scene.put(scene.linear() + (np.float32(amount) * slope)[..., None])


@kind("grey", (1, 2, 3), "1: without colour; 2: red channel only; 3: blue channel only")
def grey(scene, which, rng):
    y = luma(scene) if which == 1 else scene.image[..., 0 if which == 2 else 2].astype(np.float32)
    scene.image = np.repeat(np.clip(y + 0.5, 0, 255).astype(np.uint8)[..., None], 3, axis=2)


# ---- denoising and sharpening -------------------------------------------------------------------------------------

@kind("median", (3, 5, 9), "px: width of a median filter")
def median(scene, width, rng):
    image = Image.fromarray(scene.image)
    for _ in range(1 if width < 9 else 2):
        image = image.filter(ImageFilter.MedianFilter(min(width, 5) if width < 9 else 5))
    scene.image = np.asarray(image).copy()


@kind("bilateral", (8, 16, 30), "stored levels up to which neighbours within 4 px are averaged")
def bilateral(scene, levels, rng):
    y = luma(scene)
    total, weight = np.zeros_like(y), np.zeros_like(y)
    pad = np.pad(y, 4, mode="edge")
    for dy in range(-4, 5, 2):
        for dx in range(-4, 5, 2):
            other = pad[4 + dy:4 + dy + y.shape[0], 4 + dx:4 + dx + y.shape[1]]
            w = np.exp(np.float32(-0.5 / levels ** 2) * (other - y) ** 2) * np.float32(math.exp(-(dx * dx + dy * dy) / 18))
            total += w * other
            weight += w
    add_luma(scene, total / weight - y)


@kind("sharpened", (1.0, 2.0, 4.0), "amount of an unsharp mask, radius 1.2 px")
def sharpened(scene, amount, rng):
    y = luma(scene)
    add_luma(scene, amount * (y - gaussian(y, 1.2)))


@kind("sharpened-wide", (0.5, 1.0, 2.0), "amount of an unsharp mask, radius 4 px")
def sharpened_wide(scene, amount, rng):
    y = luma(scene)
    add_luma(scene, amount * (y - gaussian(y, 4)))


# ---- focus and movement -------------------------------------------------------------------------------------------

def light_blurred(scene, sigma):
    return np.dstack([gaussian(TO_LINEAR[scene.image[..., k]], sigma) for k in range(3)])


@kind("defocus", (1.0, 2.0, 4.0), "px: blur of the whole picture")
def defocus(scene, sigma, rng):
    scene.put(light_blurred(scene, sigma))


@kind("half-defocus", (1.0, 2.0, 4.0), "px: blur at one side of the picture, none at the other")
def half_defocus(scene, sigma, rng):
    w, h = scene.size()
    soft, sharp = light_blurred(scene, sigma), scene.linear()
    halfway = light_blurred(scene, sigma / 2)
    x = np.linspace(0, 2, w, dtype=np.float32)[None, :, None] if rng.integers(2) else np.linspace(2, 0, h, dtype=np.float32)[:, None, None]
    first, second = np.clip(x, 0, 1), np.clip(x - 1, 0, 1)
    scene.put(sharp + first * (halfway - sharp) + second * (soft - halfway))


@kind("lens-soft-corners", (1.0, 2.0, 3.5), "px: blur in the corners, growing from a sharp middle")
def lens_soft_corners(scene, sigma, rng):
    w, h = scene.size()
    y, x = np.mgrid[0:h, 0:w].astype(np.float32)
    far = (((x - w / 2) ** 2 + (y - h / 2) ** 2) / ((w / 2) ** 2 + (h / 2) ** 2))[..., None]
    sharp, soft = scene.linear(), light_blurred(scene, sigma)
    scene.put(sharp + far * (soft - sharp))


@kind("motion", (3, 6, 12), "px: length of a shake in one direction")
def motion(scene, length, rng):
    turn = rng.uniform(0, np.pi)
    shake(scene, [(length * (t - 0.5) * math.cos(turn), length * (t - 0.5) * math.sin(turn)) for t in np.linspace(0, 1, max(5, int(length * 1.5)))])


@kind("motion-across", (2, 4, 8), "px: length of a shake straight across the upright seams")
def motion_across(scene, length, rng):
    turn = math.radians(scene.truth["camera"]["roll"])
    shake(scene, [(length * (t - 0.5) * math.cos(turn), length * (t - 0.5) * -math.sin(turn)) for t in np.linspace(0, 1, max(5, 2 * length))])


@kind("double", (2, 4, 8), "px: distance of two exposures that were laid over each other")
def double(scene, length, rng):
    turn = rng.uniform(0, np.pi)
    shake(scene, [(0, 0), (length * math.cos(turn), length * math.sin(turn))], (0.6, 0.4))


def shake(scene, places, weights=None):
    """Mean of the picture moved to some places, px, bilinear."""
    linear = scene.linear()
    reach = int(max(abs(v) for p in places for v in p)) + 2
    pad = np.pad(linear, ((reach, reach), (reach, reach), (0, 0)), mode="edge")
    h, w = linear.shape[:2]
    total = {}
    for (dx, dy), share in zip(places, weights or [1 / len(places)] * len(places)):
        x, y = math.floor(dx), math.floor(dy)
        for ox, wx in ((x, 1 - dx + x), (x + 1, dx - x)):
            for oy, wy in ((y, 1 - dy + y), (y + 1, dy - y)):
                total[ox, oy] = total.get((ox, oy), 0.0) + share * wx * wy
    out = np.zeros_like(linear)
    for (ox, oy), share in total.items():
        if share > 1e-6:
            out += np.float32(share) * pad[reach - oy:reach - oy + h, reach - ox:reach - ox + w]
    if weights:  # where the picture lies is where the stronger exposure is
        pass
    scene.put(out)


# ---- storing ------------------------------------------------------------------------------------------------------

@kind("jpeg", (40, 20, 10), "JPEG quality")
def jpeg(scene, quality, rng):
    scene.save = {"quality": quality}


@kind("jpeg-twice", (50, 30, 15), "JPEG quality of a first copy, shifted by 3 px and saved again")
def jpeg_twice(scene, quality, rng):
    store = io.BytesIO()
    Image.fromarray(np.roll(scene.image, (3, 3), (0, 1))).save(store, "JPEG", quality=quality)
    scene.image = np.roll(np.asarray(Image.open(store).convert("RGB")), (-3, -3), (0, 1)).copy()


@kind("resampled-down", (0.7, 0.5, 0.3), "times the size, as a messenger makes it")
def resampled_down(scene, share, rng):
    resize(scene, share, Image.LANCZOS)


@kind("resampled-up", (1.3, 1.6, 2.0), "times the size, blown up again after half of it was thrown away")
def resampled_up(scene, share, rng):
    w, h = scene.size()
    half = Image.fromarray(scene.image).resize((w // 2, h // 2), Image.BICUBIC)
    scene.image = np.asarray(half.resize((int(w * share * 0.6), int(h * share * 0.6)), Image.BICUBIC)).copy()
    moved_to_size(scene, w, h)


@kind("nearest", (0.8, 0.6, 0.45), "times the size, every pixel taken from the nearest one")
def nearest(scene, share, rng):
    resize(scene, share, Image.NEAREST)


def resize(scene, share, how):
    w, h = scene.size()
    scene.image = np.asarray(Image.fromarray(scene.image).resize((int(w * share), int(h * share)), how)).copy()
    moved_to_size(scene, w, h)


def moved_to_size(scene, w, h):
    x, y = scene.size()[0] / w, scene.size()[1] / h
    scene.moved = lambda p: (p + 0.5) * (x, y) - 0.5


# ---- on the lens --------------------------------------------------------------------------------------------------

@kind("drop", (10, 25, 60), "mm: radius of a drop of water on the lens, over a seam")
def drop(scene, radius, rng):
    for _ in range(2):
        name, at = scene.pick_seam(rng, 20)
        smear(scene, scene.px(scene.seam_line(name, at))[0], radius * scene.px_per_mm, 2.0 + radius / 12)


def smear(scene, middle, radius_px, sigma):
    box = scene.box(np.array([middle - 1.6 * radius_px, middle + 1.6 * radius_px]), 4 * sigma)
    if box is None:
        return
    x0, y0, x1, y1 = box
    y, x = np.mgrid[y0:y1, x0:x1].astype(np.float32)
    cover = np.clip(1.6 - np.hypot(x - middle[0], y - middle[1]) / np.float32(radius_px), 0, 1)[..., None]
    sharp = TO_LINEAR[scene.image[y0:y1, x0:x1]]
    soft = np.dstack([gaussian(sharp[..., k], sigma) for k in range(3)])
    scene.image[y0:y1, x0:x1] = np.clip(stored(sharp + cover * (soft - sharp)) + 0.5, 0, 255).astype(np.uint8)


@kind("fingerprint", (1.5, 3.0, 5.0), "px: reach of the glow that a smeared lens puts over everything, streaked one way")
def fingerprint(scene, reach, rng):
    linear = scene.linear()
    glow = blurred(linear, reach * 8)
    scene.put(0.8 * linear + 0.2 * glow)
    turn = rng.uniform(0, np.pi)
    ghosts = [(0, 0)] + [(t * reach * math.cos(turn), t * reach * math.sin(turn)) for t in (-2, -1, 1, 2)]
    shake(scene, ghosts, (0.72, 0.07, 0.07, 0.07, 0.07))


@kind("dust-spots", (20, 80, 300), "blurred dark spots of dust before the sensor")
def dust_spots(scene, count, rng):
    w, h = scene.size()
    for _ in range(count):
        r = rng.uniform(2, 7) * scene.px_per_mm / 2
        middle = np.array([rng.uniform(0, w), rng.uniform(0, h)])
        a = np.linspace(0, 2 * np.pi, 24, endpoint=False)
        scene.dim([middle + r * np.column_stack([np.cos(a), np.sin(a)])], rng.uniform(0.3, 0.8), r * 0.35)


@kind("colour-fringes", (0.5, 1.2, 2.5), "px: red larger and blue smaller in the picture's corners")
def colour_fringes(scene, reach, rng):
    w, h = scene.size()
    for channel, sign in ((0, 1), (2, -1)):
        scale = 1 + sign * reach / math.hypot(w / 2, h / 2)
        part = Image.fromarray(scene.image[..., channel])
        a, c, f = 1 / scale, w / 2 * (1 - 1 / scale), h / 2 * (1 - 1 / scale)
        scene.image[..., channel] = np.asarray(part.transform((w, h), Image.AFFINE, (a, 0, c, 0, a, f), Image.BICUBIC))


@kind("lamp-bands", (0.1, 0.25, 0.5), "depth of the dark bands that a flickering lamp lays over the picture")
def lamp_bands(scene, depth, rng):
    rows = np.arange(scene.size()[1], dtype=np.float32)
    wave = 1 - depth * (0.5 + 0.5 * np.sin(rows * 2 * np.pi / 90 + rng.uniform(0, 6)))
    scene.put(scene.linear() * wave[:, None, None].astype(np.float32))


@kind("date-stamp", (20, 60, 160), "px: height of bright letters that a program wrote into the picture")
def date_stamp(scene, height, rng):
    """Seven-bar figures, so that no font is needed; they hide what they cover."""
    w, h = scene.size()
    x, y = int(w * rng.uniform(0.15, 0.4)), int(h * rng.uniform(0.3, 0.6))
    bars = ((0, 0, 1, 0), (0, 0, 0, 1), (1, 0, 1, 1), (0, 1, 1, 1), (0, 1, 0, 2), (1, 1, 1, 2), (0, 2, 1, 2))
    for k in range(6):
        for i, (a, b, c, d) in enumerate(bars):
            if rng.random() < 0.7:
                p = np.array([x + k * height * 0.9, y]) + np.array([a, b]) * height / 2
                q = np.array([x + k * height * 0.9, y]) + np.array([c, d]) * height / 2
                t = height * 0.06
                box = np.array([np.minimum(p, q) - t, np.maximum(p, q) + t])
                outline = np.array([box[0], (box[1, 0], box[0, 1]), box[1], (box[0, 0], box[1, 1])])
                scene.lay([outline], (1.0, 0.75, 0.1), rng, soft_px=0.5, noise=0)
