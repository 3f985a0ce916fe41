"""numba-cuda, imported in one place: it is slow to import, and wants a name that newer numpy has no more."""

from __future__ import annotations

from typing import Any

import numpy as np

# numba-cuda up to 0.30.4 asks numpy for this name at its first launch; numpy 2.5 has it no more.
if not hasattr(np, "row_stack"):
    setattr(np, "row_stack", np.vstack)  # noqa: B010  (as an attribute the linter would rewrite it)

from llvmlite import ir  # noqa: E402  (numpy's name must be there first)
from numba import (  # noqa: E402
    config,  # noqa: E402
    float64,
    int32,
)
from numba import cuda as _cuda  # noqa: E402

__all__ = ["cuda", "float64", "floats", "int32", "whole"]

cuda: Any = _cuda  # what it offers in kernels has no types


def _room(kind: Any) -> Any:
    """A function for kernels that gives a thread an array of its own, of a number of entries known at compile time.

    `cuda.local.array` fills it with zeros: for the work space of a ray that is more work than the ray.
    """
    settings: Any = config
    if settings.ENABLE_CUDASIM:
        return lambda entries: np.empty(entries, kind)
    types: Any = _cuda.types
    from numba.cuda.extending import _intrinsic

    item = types.float64 if kind is np.float64 else types.int32

    @_intrinsic(target="cuda", prefer_literal=True)
    def own(_context: Any, entries: Any) -> Any:
        if not isinstance(entries, types.IntegerLiteral):
            return None
        array = types.Array(item, 1, "C")
        size = np.dtype(kind).itemsize

        def made(context: Any, builder: Any, signature: Any, _: Any) -> Any:
            place = context.get_data_type(item)
            with builder.goto_entry_block():
                data = builder.alloca(ir.ArrayType(place, entries.literal_value))
            out = context.make_array(signature.return_type)(context, builder)
            context.populate_array(
                out,
                data=builder.bitcast(data, out.data.type),
                shape=[context.get_constant(types.intp, entries.literal_value)],
                strides=[context.get_constant(types.intp, size)],
                itemsize=context.get_constant(types.intp, size),
                meminfo=None,
            )
            return out._getvalue()

        return array(entries), made

    return own


floats = _room(np.float64)
whole = _room(np.int32)
