"""Compiles every image kernel, or loads it from the cache, before any time is measured or promised."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from halflayer.physics.materials import material
from halflayer.radiograph import spot
from halflayer.radiograph.kernels import CONE, FLAT, View
from halflayer.radiograph.lines import LineGroups
from halflayer.radiograph.project import Frame, at_places, primary
from halflayer.radiograph.response import blurred, mapped
from halflayer.radiograph.view import Optics
from halflayer.scene.solids import Scene, Tube


@lru_cache(maxsize=1)
def compile_kernels() -> None:
    """Make the smallest image that calls every kernel; each has one signature, so one image is enough."""
    scene = Scene(
        (Tube("pipe", (0.0, 0.0, 0.03), (1.0, 0.0, 0.0), 0.01, 0.002, 0.1, material("steel")),),
        material("air"),
    )
    mu = np.array([[0.01], [60.0]])
    flat = np.zeros((2, 2))
    at = (0.0, 0.0, 0.2)
    view = View(
        np.array([FLAT, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0, 1, 0.0], dtype=np.float64),
        np.array([CONE, 0.03, math.tan(0.3), math.tan(0.3), *at, 0, 0, -1, 1e-4], dtype=np.float64),
        np.array([1.0, 0.0, 0.0]),
        spot.cylinder_points(centre=at, axis=(0, 0, 1), diameter_m=0.002, length_m=0.002, count=4),
        mu,
        np.ones(1),
        np.array([0.01, 0.008, 0.01]),
        flat,
        flat,
        np.ones(1),
        np.ones(1),
    )
    optics = Optics(scene, view, LineGroups(mu, np.ones(1), np.array([300.0])), np.zeros(2), at)
    image = primary(optics, Frame(-0.01, -0.01, 1e-3, 20, 20), marked=[(0.0, 0.0, 0.03)])
    at_places(optics, np.zeros((1, 2)))
    spread = blurred(image, unsharpness_m=5e-3, pixel_m=1e-3)
    mapped(spread, lambda k: k, low=1e-6, high=1.0)
