"""Drawings of a placed kit as SVG: roof plan, bay plans, side view with axle loads.

On the road: placed kit -> *drawings* -> files, book. Only text is made here; commands write it.
"""

from optimizer.drawings.drawing import draw_bays, draw_kit

__all__ = ["draw_bays", "draw_kit"]
