"""How a picture looks to eyes that lack one kind of cone.

G. M. Machado, M. M. Oliveira and L. A. F. Fernandes, A Physiologically-based Model for Simulation of Color Vision
Deficiency, IEEE Transactions on Visualization and Computer Graphics 2009;15(6):1283-1291: the matrices for severity
1.0, to be applied to linear red, green and blue (sRGB without its transfer curve, IEC 61966-2-1).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

MATRICES: dict[str, tuple[tuple[float, float, float], ...]] = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def seen_with(name: str) -> Callable[[Any], Any]:
    """What makes of colours (0 to 255, the last axis red, green, blue) those that are seen; `grey` for a grey print."""
    if name == "grey":
        return lambda colours: np.repeat(
            (np.asarray(colours, float) @ np.array([0.299, 0.587, 0.114]))[..., None], 3, axis=-1
        )
    matrix = np.array(MATRICES[name]).T
    return lambda colours: _curved(_linear(np.asarray(colours, float) / 255) @ matrix) * 255


def _linear(values: Any) -> Any:
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def _curved(values: Any) -> Any:
    values = np.clip(values, 0, 1)
    return np.where(values <= 0.0031308, values * 12.92, 1.055 * values ** (1 / 2.4) - 0.055)
