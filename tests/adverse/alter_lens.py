"""Lens profiles that are not this photo's, none at all, and pictures that no profile describes any more."""
import json
import math
import os

import numpy as np

import alter_cards
import warp
from kinds import kind

FAR_CAMERAS = ({"f": 0.73, "dist": (0.035, -0.04, 0.0003, 0.0002, 0.012)}, {"f": 0.85, "dist": (-0.12, 0.06, -0.0004, 0.0003, -0.015)},
               {"f": 0.55, "dist": (-0.25, 0.09, 0.0, 0.0, -0.01)})  # f in widths of the picture; k1 k2 p1 p2 k3


def true_profile(scene):
    """The scene's own camera as a profile, as sure as one from boards."""
    with open(scene.board_profile) as file:
        profile = json.load(file)
    c, (w, h) = scene.truth["camera"], scene.size()
    profile.update(width_px=w, height_px=h, fx_px=c["f"], fy_px=c["f"], cx_px=(w - 1) / 2, cy_px=(h - 1) / 2)
    profile.update(zip(("k1", "k2", "p1", "p2", "k3"), c["dist"]))
    return profile


def tell(scene, change):
    """Writes the true profile, changed, and tells the program to use it."""
    profile = true_profile(scene)
    change(profile)
    path = os.path.join(scene.folder, "changed.lens.json")
    with open(path, "w") as file:
        json.dump(profile, file)
    scene.options["--lens"] = path


@kind("lens-k1", (0.02, 0.05, 0.1), "added to the profile's k1")
def lens_k1(scene, off, rng):
    sign = rng.choice([-1, 1])
    tell(scene, lambda p: p.update(k1=p["k1"] + sign * off))


@kind("lens-focal", (1.05, 1.3, 2.0), "times the profile's focal length")
def lens_focal(scene, scale, rng):
    tell(scene, lambda p: p.update(fx_px=p["fx_px"] * scale, fy_px=p["fy_px"] * scale))


@kind("lens-aspect", (1.003, 1.01, 1.04), "times the profile's focal length across, not down")
def lens_aspect(scene, scale, rng):
    tell(scene, lambda p: p.update(fx_px=p["fx_px"] * scale))


@kind("lens-centre", (0.02, 0.08, 0.2), "of the picture's width: how far the profile's centre is off")
def lens_centre(scene, share, rng):
    w, turn = scene.size()[0], rng.uniform(0, 2 * math.pi)
    tell(scene, lambda p: p.update(cx_px=p["cx_px"] + w * share * math.cos(turn), cy_px=p["cy_px"] + w * share * math.sin(turn)))


@kind("lens-other", (0, 1, 2), "the profile of another camera, of the same picture size")
def lens_other(scene, which, rng):
    other, w = FAR_CAMERAS[which], scene.size()[0]

    def change(p):
        p.update(fx_px=other["f"] * w, fy_px=other["f"] * w)
        p.update(zip(("k1", "k2", "p1", "p2", "k3"), other["dist"]))
    tell(scene, change)


@kind("lens-tangential", (0.001, 0.004, 0.015), "added to the profile's p1 and p2")
def lens_tangential(scene, off, rng):
    tell(scene, lambda p: p.update(p1=p["p1"] + off, p2=p["p2"] - off))


@kind("lens-k3", (0.1, 0.4, 1.5), "added to the profile's k3, which tells in the corners only")
def lens_k3(scene, off, rng):
    tell(scene, lambda p: p.update(k3=p["k3"] + off))


@kind("lens-turned", (90, 180, 45), "the profile as if the picture had been turned: centre and tangential terms elsewhere, a size that may not fit")
def lens_turned(scene, turn, rng):
    def change(p):
        w, h = p["width_px"], p["height_px"]
        p.update(cx_px=w - 1 - p["cx_px"] + 0.004 * w, cy_px=h - 1 - p["cy_px"] - 0.004 * h, p1=-p["p1"], p2=-p["p2"])
        if turn == 90:
            p.update(width_px=h, height_px=w)
    tell(scene, change)


@kind("lens-sure", (3, 10, 30), "times too small the profile's own u, its figures off by 2 of the true u")
def lens_sure(scene, times, rng):
    def change(p):
        names = ("fx_px", "fy_px", "cx_px", "cy_px", "k1", "k2", "p1", "p2", "k3")
        covariance = np.array(p["covariance"])
        draw = rng.multivariate_normal(np.zeros(len(names)), covariance * 4, method="eigh")
        p.update({n: p[n] + float(d) for n, d in zip(names, draw)})
        p["fy_px"] = p["fx_px"]
        p["covariance"] = (covariance / times ** 2).tolist()
    tell(scene, change)


@kind("lens-right", (4, 2, 1), "cards that are left, with the camera's own profile")
def lens_right(scene, left, rng):
    tell(scene, lambda p: None)
    alter_cards.cards_fewer(scene, left, rng)


@kind("lens-none", (4, 2, 1), "cards that are left, without a profile")
def lens_none(scene, left, rng):
    scene.options.pop("--lens", None)
    alter_cards.cards_fewer(scene, left, rng)


@kind("lens-none-bent", (-0.08, 0.06, -0.2), "k1 of a lens that bends the picture more, without a profile")
def lens_none_bent(scene, k1, rng):
    scene.options.pop("--lens", None)
    bend(scene, k1)


@kind("lens-bent", (0.005, 0.02, 0.06), "k1 by which the picture is bent while the profile stays")
def lens_bent(scene, k1, rng):
    tell(scene, lambda p: None)
    bend(scene, k1)


def bend(scene, k1):
    """Takes the picture again through one more radial term; the table does not grow."""
    w, h = scene.size()
    middle, f = np.array([(w - 1) / 2, (h - 1) / 2]), scene.truth["camera"]["f"]
    shrink = 1 + min(k1, 0) * 0.1

    def back(p):
        q = (np.asarray(p) - middle) / f
        r = (q ** 2).sum(axis=1, keepdims=True)
        return middle + f * q * (1 - k1 * r) / (shrink if k1 < 0 else 1 + k1 * 0.12)
    warp.scene(scene, back)
