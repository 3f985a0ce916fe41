"""The image's rays on a GPU: they compile as they are, and give what the CPU gives.

Tests marked gpu need a CUDA device; run with -m gpu. Compiling needs none (numba-cuda translates to PTX for a stated
compute capability, 7.5 and 9.0 here), and is marked slow. Tolerance between the machines: 1e-9 of the kerma, rounding
of fused multiply-add through exponentials; float32 of the image 1e-6.
"""

from __future__ import annotations

import re
from types import SimpleNamespace

import numba
import numpy as np
import pytest

from exposure_cases import order
from halflayer.radiograph.predict import marked_points
from halflayer.radiograph.project import at_places, frame, packed_scene, primary
from radiograph_cases import set_up


@pytest.mark.slow
@pytest.mark.parametrize("capability", [(7, 5), (9, 0)])
@pytest.mark.parametrize("what", ["places", "cells", "between"])
def test_the_rays_of_an_image_compile_for_a_gpu(
    monkeypatch: pytest.MonkeyPatch, what: str, capability: tuple[int, int]
) -> None:
    from numba.cuda import compiler, dispatcher

    from halflayer.radiograph import run_cuda

    device = SimpleNamespace(compute_capability=capability)
    for module in (dispatcher, compiler):
        monkeypatch.setattr(module, "get_current_device", lambda: device)
    made = set_up(spots=4)
    packed = packed_scene(made.optics.scene)
    image = np.zeros((2, 2), dtype=np.float32)
    scene = (packed, made.optics.view)
    function, arguments = {
        "places": (run_cuda.functions(64)[0], (*scene, np.zeros((2, 2)), np.zeros(2))),
        "cells": (run_cuda.functions(64)[1], (*scene, np.zeros(3), 4, np.zeros((2, 2), np.int32), image)),
        "between": (run_cuda.between, (4, np.zeros((2, 2)), image)),
    }[what]
    signature = numba.void(*(numba.typeof(a) for a in arguments))
    text, _ = run_cuda.cuda.compile_ptx(function, signature, cc=capability)
    assert f".target sm_{capability[0]}{capability[1]}" in text
    # nothing is left to be found elsewhere: no allocation, no call back into the interpreter
    assert not re.findall(r"^\.extern .*$", text, flags=re.MULTILINE)


def test_a_launch_is_no_larger_than_its_places() -> None:
    from halflayer.radiograph import run_cuda

    assert run_cuda.blocks_for(1) == 1
    assert run_cuda.blocks_for(129) == 2
    assert run_cuda.blocks_for(4_000_000) * run_cuda.BLOCK == run_cuda.MOST_THREADS


@pytest.mark.gpu
@pytest.mark.parametrize("arrangement", ["over", "lean-out", "strap"])
def test_places_on_the_gpu_are_those_of_the_cpu(arrangement: str) -> None:
    from halflayer.radiograph import run_cuda

    facts = {"aperture": "a40", "standoff_m": 0.03} if arrangement == "strap" else {}
    offset = 0.09 if arrangement == "lean-out" else 0.0
    made = set_up(
        order(od_m=0.1683 if arrangement == "strap" else 0.0603),
        arrangement,
        offset_m=offset,
        spots=10,
        **facts,
    )
    rng = np.random.default_rng(3)
    film = made.built.film
    at = (rng.random((5000, 2)) - 0.5) * (film.width_m, film.length_m)
    np.testing.assert_allclose(
        run_cuda.at_places(made.optics, at), at_places(made.optics, at), rtol=1e-9, atol=1e-40
    )


@pytest.mark.gpu
def test_an_image_on_the_gpu_is_that_of_the_cpu() -> None:
    from halflayer.radiograph import run_cuda

    made = set_up(spots=10)
    pixels = frame(made.built.film, pixel_m=2e-4, width_m=0.03, length_m=0.09)
    marked = marked_points(made)
    there = run_cuda.primary(made.optics, pixels, marked=marked)
    here = primary(made.optics, pixels, marked=marked)
    every = np.array([(u, v) for u in pixels.u_m for v in pixels.v_m])
    exact = at_places(made.optics, every).reshape(there.shape)
    lit = exact > 1e-6 * exact.max()
    # A bend that rounding puts on the other side of what is straight enough may read a pixel the other way.
    same = np.abs(there[lit] / here[lit] - 1.0)
    assert float(np.quantile(same, 0.999)) < 1e-5
    assert float(same.max()) < 0.006
    # Both read between nodes: three pixels of 67,500 at a wire's end are off by up to 2.4 % (measured).
    off = np.abs(there[lit] / exact[lit] - 1.0)
    assert float(np.quantile(off, 0.9999)) < 0.006
    assert float(off.max()) < 0.03
