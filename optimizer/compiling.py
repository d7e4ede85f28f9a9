"""How functions are compiled: once for a machine, kept on disk.

On the road: under every *kernel*. It pulls in numba, so kernels are imported when they are first needed.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])


def compiled(function: F) -> F:
    """Compile with numba, kept on disk where that is possible; a read-only home is no fault."""
    try:
        return cast(F, numba.njit(cache=True, error_model="numpy")(function))
    except RuntimeError:  # numba's word for: no folder to keep the compiled code in
        return cast(F, numba.njit(error_model="numpy")(function))
