"""Boxes read back from what an output says of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from liningbook.notation.codec import ranges_from_notation
from liningbook.space.boxes import Box
from liningbook.space.cells import Axis, Space


def box_from(space: Space, case: Mapping[str, Any]) -> Box:
    """The box that a mapping in the notation of the sources stands for; its bounds must be thresholds."""
    return tuple(
        _mask(axis, case[name]) if name in case else axis.full
        for name, axis in zip(space.names, space.axes, strict=True)
    )


def _mask(axis: Axis, value: Any) -> int:
    if axis.factor.kind != "quantity":
        return axis.mask_of_values(value if isinstance(value, list) else [value])
    return axis.mask_of_numbers(ranges_from_notation(value, axis.unit, axis.limits))
