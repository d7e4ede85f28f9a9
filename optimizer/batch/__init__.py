"""Whole tables of variants of a brief: read, checked, solved over many cores, and compared.

On the road: brief + table of changes -> many jobs -> *batch* -> one table of results.
"""
