"""The dose fields of a plan's ready welds, where they are asked for: after the plan, with its accepted shields."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import replace

from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.shielding.field_of_weld import ERROR, MOST_BATCHES, VOXELS, WeldField, field_of_weld
from halflayer.transport.gpu import Backend

Progress = Callable[[str, float], None]


def with_fields(
    plan: Plan,
    *,
    seed: int,
    error: float = ERROR,
    shape: tuple[int, int, int] = VOXELS,
    most_batches: int = MOST_BATCHES,
    backend: Backend = "auto",
    progress: Progress | None = None,
) -> tuple[Plan, dict[str, WeldField]]:
    """The plan with the level at 1 m of every ready weld, and the whole fields by weld.

    backend: as in `transport.run.Run`; the level says which it was. The plan's hash changes with what was asked, and
    with a GPU, whose random histories are others than the CPU's. `progress(text, done)` as in `plan_order`.
    """
    order = Order.from_json(plan.order)
    ready = [w.weld for w in plan.welds if w.status == "ready" and w.chosen and w.exposure and w.shielding]
    fields: dict[str, WeldField] = {}
    welds = []
    for w in plan.welds:
        if w.weld in ready:
            assert w.chosen is not None and w.exposure is not None and w.shielding is not None

            def tell(text: str, done: float, name: str = w.weld) -> None:
                if progress is not None:
                    progress(f"{name}: {text}", (len(fields) + done) / len(ready))

            found = field_of_weld(
                order,
                order.weld(w.weld),
                w.chosen,
                w.exposure,
                w.shielding,
                seed=seed,
                error=error,
                shape=shape,
                most_batches=most_batches,
                backend=backend,
                progress=tell,
            )
            fields[w.weld] = found
            w = replace(w, dose_field=found.level)
        welds.append(w)
    asked = f"{plan.content} dose field {seed} {error!r} {shape} {most_batches}"
    if any(f.level.backend == "cuda" for f in fields.values()):
        asked += " cuda"
    content = hashlib.sha256(asked.encode()).hexdigest()
    return replace(plan, welds=tuple(welds), content=content), fields
