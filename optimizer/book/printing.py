"""The page as PDF, on A4 or US Letter.

On the road: page -> *PDF*. Needs the extra 'pdf'. The same page gives the same bytes.
"""

from __future__ import annotations

import hashlib
import logging
from typing import Literal

from optimizer.errors import MissingExtra, UsageError

Paper = Literal["A4", "Letter"]


def pdf(html: str, paper: Paper) -> bytes:
    """The document as PDF bytes; nothing is fetched from anywhere.

    Raises MissingExtra without the library, or without the system libraries that it draws with.
    """
    try:
        import weasyprint
    except (ImportError, OSError) as error:  # OSError: its own system libraries are missing
        raise MissingExtra("weasyprint (with Pango)", "pdf", "Printing a build book as PDF") from error
    logging.getLogger("weasyprint").setLevel(logging.ERROR)  # what screens alone understand is no news
    sheet = weasyprint.CSS(string=f"@page {{ size: {paper} }}")
    document = weasyprint.HTML(string=html, url_fetcher=_nothing)
    found = document.write_pdf(
        stylesheets=[sheet], pdf_identifier=hashlib.sha256(html.encode("utf-8")).digest()[:16], pdf_tags=True
    )
    if found is None:
        raise UsageError("The book could not be printed as PDF.")
    return bytes(found)


def _nothing(url: str, *_: object, **__: object) -> dict[str, object]:
    raise ValueError(f"a book names no files of others: {url}")
