"""Set-up compiles every image kernel, and an exposure needs no other signatures."""

from __future__ import annotations

from numba.core.dispatcher import Dispatcher

from exposure_cases import built, candidate, order
from halflayer.radiograph import kernels
from halflayer.radiograph.predict import predict
from halflayer.radiograph.warm import compile_kernels


def test_no_image_kernel_is_left_to_compile() -> None:
    kept = {
        name: value
        for name, value in vars(kernels).items()
        if isinstance(value, Dispatcher)
        and value.__module__ == kernels.__name__
        and type(value._cache).__name__ != "NullCache"
    }
    assert len(kept) >= 7
    compile_kernels()
    before = {name: len(kernel.signatures) for name, kernel in kept.items()}
    assert [name for name, count in before.items() if count == 0] == []
    made = order()
    c = candidate(made)
    predict(made, made.welds[0], c, built(made, c)[0], activity_Bq=1e12, seconds=60.0, pixel_m=5e-4)
    assert {name: len(kernel.signatures) for name, kernel in kept.items()} == before
