"""Every circuit of a kit: what it carries, how thick, how guarded, and what it is made of.

On the road: catalog + brief -> *circuits* -> problem (options that pay for their copper) -> check, buy list.
"""
