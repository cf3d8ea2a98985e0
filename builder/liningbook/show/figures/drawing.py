"""The colours and the font of what is drawn in Python.

Colours are presentation attributes that the style sheet `figures.css` replaces by class in dark and forced colours.
"""

from __future__ import annotations

INK = "#16202a"
PAPER = "#ffffff"
FAMILY = "'Source Sans Pro', sans-serif"
