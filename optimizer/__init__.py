"""kitwright: the provably cheapest kit for living in a small van away from any hook-up.

The road: brief + catalog + weather -> problem -> choosing <-> trips -> kit -> check -> book.
"""

__version__ = "0.1.0"
