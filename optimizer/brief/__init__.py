"""The brief: what the person asks for, a file a topic.

On the road: the way in, before parts and weather.

    source        file -> text                     brief, trip, place, uses, comfort, vehicle, limits,
    syntax        text -> raw data                 preferences: the records, on the ground of ``topic``
    translating   the records' complaints  \\
    consistency   keys against each other  /  -> findings -> faults, with ``positions`` for the lines
    reading       all of it: ``read_brief``, ``brief_from_dict``, ``brief_data``
    oddities      notes on what is odd but possible
    starter       a brief to begin with: ``write_starter``
"""
