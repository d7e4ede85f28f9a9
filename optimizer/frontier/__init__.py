"""Every trade-off between two or three goals, none missed, each proven.

On the road: problem -> choosing <-> trips, asked again and again -> *frontier* -> table, picture, words.

``zones`` is the method alone; ``asking`` answers its questions with the solver and the trips; ``goals`` names
what can be traded; ``run`` ties them to a job, ``plain`` to bare columns of integers.
"""
