"""Trips: the hour-by-hour second pair of eyes. Nothing here knows of rules or of choosing."""
