"""Whether a kit fits: its rectangles on the roof, its boxes in the bays, its mass on the axles.

On the road: kit -> *places* -> placed kit -> check. ``things``, ``loads``, ``hardness`` and ``checking`` never
import the solver; ``finding`` and ``judge`` do, through ``packing``.
"""
