"""Rectangles on the roof and boxes in the bays: records and checks apart, models apart.

On the road: beside ``rules``; ``choosing`` adds these models, ``check`` uses the solver-free checkers.
``shapes`` and ``bays`` never import the solver; ``model`` and ``stowing`` do.
"""
