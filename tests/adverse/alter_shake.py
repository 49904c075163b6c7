"""Shakes along other ways than those of alter_process.  Imported last, as kinds take turns among the quick half's tables by their place."""
import math

import numpy as np

import alter_process
from kinds import kind


@kind("motion-diagonal", (2, 4, 8), "px: length of a shake at 45 degrees to the seams")
def motion_diagonal(scene, length, rng):
    turn = math.radians(scene.truth["camera"]["roll"] + (45 if rng.integers(2) else -45))
    ways = length * (np.linspace(0, 1, max(5, 2 * length)) - 0.5)
    alter_process.shake(scene, [(t * math.cos(turn), t * -math.sin(turn)) for t in ways])
