"""Time predicted radiographs: four million pixels with all line groups, and the quick version of a plan.

Run by hand from the project's folder after `make setup`, on an idle machine:

    .venv/bin/python benchmarks/radiograph.py

Each figure is printed with the target it is held against. Compilation is not in it; the Monte Carlo of the
scatter is told apart, since it is the dose engine's.
"""

from __future__ import annotations

import os
import platform
import statistics
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from halflayer.exposure.time import expose
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.order.weld import Weld
from halflayer.radiograph import warm
from halflayer.radiograph.predict import JUDGE_SPOTS, density_image, marked_points, surfaces_of
from halflayer.radiograph.project import frame
from halflayer.radiograph.quick import quick
from halflayer.radiograph.setting import by_monte_carlo, setting
from halflayer.scene.build import build_scene
from halflayer.scene.compiled import thread_count
from halflayer.scene.fitting import Fitting
from halflayer.technique.choose import choose_technique
from halflayer.transport.gpu import missing
from halflayer.transport.warm import compile_kernels

EXAMPLE = Path(__file__).resolve().parent.parent / "examples" / "tarn-mill.yaml"
PIXEL_M, SIDE_M = 5e-5, 0.1  # 2000 x 2000 pixels of 50 um
REPEATS = 3
HOLES = "step-hole"  # in place of wires, where the code has a table of them
WELDS = {"W2": "ellipse", "W3": "in plane", "W9": "contact", "W10": "panoramic"}


def best(work: Callable[[], object]) -> tuple[float, float]:
    """Median wall and processor seconds of a few runs."""
    walls, cpus = [], []
    for _ in range(REPEATS):
        wall, cpu = time.perf_counter(), time.process_time()
        work()
        walls.append(time.perf_counter() - wall)
        cpus.append(time.process_time() - cpu)
    return statistics.median(walls), statistics.median(cpus)


def gpu_rays() -> Any:
    """The rays on a GPU: numba-cuda is slow to import, and not always there."""
    from halflayer.radiograph import run_cuda

    return run_cuda


def main() -> None:
    """Print a line per figure: what, reached, target."""
    compile_kernels()
    warm.compile_kernels()
    order = read_order(EXAMPLE)
    print(
        f"{platform.processor() or platform.machine()}, {thread_count()} threads, load {os.getloadavg()[0]:.1f}"
    )
    for name, words in WELDS.items():
        weld = order.weld(name)
        way = choose_technique(order, weld).admissible[0]
        built = [build_scene(order, weld, way, shot, Fitting()) for shot in way.shots]
        exposure = expose(order, weld, way, built, moment=order.shift.starts)
        activity, seconds = float(exposure.activity.value), float(exposure.shots[0].seconds.value)  # type: ignore[arg-type]
        made = setting(
            order,
            weld,
            way,
            way.shots[0],
            built[0],
            activity_Bq=activity,
            seconds=seconds,
            spots=JUDGE_SPOTS,
        )
        pixels = frame(built[0].film, pixel_m=PIXEL_M, width_m=SIDE_M, length_m=SIDE_M)
        scatter_s, _ = best(lambda: by_monte_carlo(made, pixels, seed=1))  # noqa: B023
        field = by_monte_carlo(made, pixels, seed=1)
        wall, cpu = best(
            lambda: density_image(made, field, pixels, surfaces=surfaces_of(weld, seed=1), seed=1)  # noqa: B023
        )
        groups = len(made.optics.groups.weight)
        count = pixels.rows * pixels.columns / 1e6
        print(
            f"{words:10} {count:.1f} million pixels, {groups} line groups: {wall:.2f} s wall, {cpu:.2f} s of "
            f"processors (target 3 s on two cores); scatter {scatter_s:.2f} s more"
        )
        if missing() is None:
            lit = made.with_surfaces(surfaces_of(weld, seed=1), JUDGE_SPOTS)
            run_cuda = gpu_rays()
            run_cuda.primary(lit, pixels, marked=marked_points(made))  # compiles
            wall, _ = best(lambda: run_cuda.primary(lit, pixels, marked=marked_points(made)))  # noqa: B023
            print(
                f"{words:10} the same rays on the GPU, scene and image copied: {1e3 * wall:.1f} ms (target 100 ms)"
            )
        wall, cpu = best(
            lambda: quick(order, weld, way, built[0], exposure.shots[0], activity_Bq=activity)  # noqa: B023
        )
        print(f"{words:10} quick: {1e3 * wall:.0f} ms wall, {1e3 * cpu:.0f} ms of processors (target 150 ms)")
    print("quick versions with step-hole plates in place of wires (target 150 ms each):")
    for weld in order.welds:
        drilled_quick(order, weld.model_copy(update={"iqi": HOLES}))


def drilled_quick(order: Order, weld: Weld) -> None:
    """Print a line for one weld that asks for plates with holes."""
    work = order.model_copy(update={"welds": tuple(weld if w.id == weld.id else w for w in order.welds)})
    ways = choose_technique(work, weld).admissible
    if not ways:
        print(f"  {weld.id}: the code has no such plates")
        return
    built = [build_scene(work, weld, ways[0], shot, Fitting()) for shot in ways[0].shots]
    exposure = expose(work, weld, ways[0], built, moment=work.shift.starts)
    activity = float(exposure.activity.value)  # type: ignore[arg-type]
    wall, cpu = best(lambda: quick(work, weld, ways[0], built[0], exposure.shots[0], activity_Bq=activity))
    print(f"  {weld.id} {ways[0].technique}: {1e3 * wall:.0f} ms wall, {1e3 * cpu:.0f} ms of processors")


if __name__ == "__main__":
    main()
