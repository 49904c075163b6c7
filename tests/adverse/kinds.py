"""The register of alterations: each kind has a name, three strengths from mild to severe, and a function that alters a scene."""
import zlib

import numpy as np

STRENGTHS = ("mild", "middling", "severe")
KINDS = {}


class Kind:
    """name; strengths: three values, handed to alter(scene, value, rng); says: what the strengths are, for --list; fits: whether it
    can be done to a scene; free: figures that the alteration makes wrong by what was told, so that nobody can hold them (see score.FIGURES)."""

    def __init__(self, name, alter, strengths, says, fits, free, theme):
        self.name, self.alter, self.strengths, self.says = name, alter, strengths, says
        self.fits, self.free, self.theme = fits, free, theme


def kind(name, strengths, says, fits=None, free=()):
    def keep(function):
        assert len(strengths) == len(STRENGTHS) and name not in KINDS
        KINDS[name] = Kind(name, function, strengths, says, fits or (lambda scene: True), frozenset(free),
                           function.__module__.replace("alter_", ""))
        return function
    return keep


def seed(*words):
    """The same for the same words, on every machine."""
    return np.random.default_rng(zlib.crc32("/".join(words).encode()))


def alter(scene, name, strength):
    """The scene altered, from its clean photo.  strength: 0 mild to 2 severe."""
    scene.start()
    KINDS[name].alter(scene, KINDS[name].strengths[strength], seed(name, STRENGTHS[strength], scene.name))
    return scene
