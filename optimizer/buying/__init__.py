"""The whole buy list of a kit: everything that its price counts, to the cent.

On the road: kit -> *buy list* -> CSV, XLSX, terminal, build book.
"""
