"""The build book: one document to buy and build from, and the files beside it.

On the road: kit + check + trips -> *book* (HTML, PDF, CSV, XLSX, SVG). Nothing is computed here that
another room already knows: the book arranges, words and draws.
"""
