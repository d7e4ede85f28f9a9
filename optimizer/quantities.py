"""Text with a unit becomes a number: ``"17 ft 6 in"`` is 5334 mm.

On the road: at the door of ``brief`` and ``parts``, behind ``optimizer.units``, which is what the
other rooms import. Only the units listed here are read, so that nothing is guessed: a "ton" could be
three things and is refused, a gallon is the US liquid gallon unless it says "imp".

Numbers may have thousands commas (``1,200``), a fraction (``5 1/2``) or an exponent. A decimal comma
(``1,5``) is refused with the advice to use a point; a comma before exactly three digits is read as a
thousands comma.

References
----------
NIST Special Publication 811 (2008), Appendix B, for the conversion factors (through pint).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise
from typing import Any

from optimizer.errors import did_you_mean
from optimizer.spellings import FAMILIES, asked, family_of

LONGEST_TEXT = 60
LARGEST = 1e15
SMALLEST = 1e-12
SIGNIFICANT_DIGITS = 9
# Upper-case M would be mega; where that changes the number a millionfold it is not read as milli.
_CASED = frozenset({"mw", "ma", "mv", "mah"})
_HINTS = {
    "ton": "Write 'tonne' for 1000 kg or 'short ton' for 2000 lb.",
    "tons": "Write 'tonne' for 1000 kg or 'short ton' for 2000 lb.",
}
_TIDY = str.maketrans({
    "−": "-", "–": "-", "’": "'", "′": "'", "″": '"', "”": '"', "²": "2", "³": "3", "·": " ", "^": "",
    "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
    "⅓": " 1/3", "⅔": " 2/3", "º": "°",
})  # fmt: skip
_FRACTION = re.compile(r"(?:([0-9]+)(?: |-| - ))?([0-9]+) ?/ ?([0-9]+)")
_NUMBER = re.compile(r"[0-9.,]*[0-9](?:[eE][-+]?[0-9]+)?")
_PLAIN = re.compile(r"(?:[0-9]+|[1-9][0-9]{0,2}(?:,[0-9]{3})+)?(?:\.[0-9]+)?(?:[eE][-+]?[0-9]{1,2})?")
_CURRENCY = re.compile(r"(?:us\$|\$|usd) ?([-+]?)(?=[0-9.])", re.IGNORECASE)


class QuantityError(ValueError):
    """A text that is no quantity of the kind asked for; ``str()`` says what was expected.

    ``remedy`` is a sentence of its own, or empty.
    """

    def __init__(self, expected: str, remedy: str = "") -> None:
        super().__init__(expected)
        self.remedy = remedy


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint  # slow to import, and needed only where text carries a unit

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True, cache_folder=None)


@lru_cache(maxsize=1)
def _unit_pattern() -> re.Pattern[str]:
    every = {spelling for spellings in FAMILIES.values() for spelling in spellings}
    longest_first = sorted(every, key=lambda spelling: (-len(spelling), spelling))
    return re.compile("(?:" + "|".join(map(re.escape, longest_first)) + r")(?![A-Za-z%°$/^])", re.IGNORECASE)


def _number(text: str, remedy_unit: str) -> float:
    fraction = _FRACTION.fullmatch(text)
    if fraction:
        whole, top, bottom = (int(group or 0) for group in fraction.groups())
        if bottom == 0:
            raise QuantityError(asked(remedy_unit), "A fraction cannot be over 0.")
        return whole + top / bottom
    if text and _PLAIN.fullmatch(text):
        return float(text.replace(",", ""))
    if "," in text:
        raise QuantityError(asked(remedy_unit), "Write decimals with a point, such as '1.5'.")
    raise QuantityError(asked(remedy_unit), f"'{text}' is no number of ordinary size.")


def _terms(body: str, unit: str) -> Iterator[tuple[float, str]]:
    """Each number with the unit written behind it ('' for none)."""
    at = 0
    while at < len(body):
        found = _FRACTION.match(body, at) or _NUMBER.match(body, at)
        if not found:
            raise QuantityError(asked(unit), f"'{body[at : at + 20]}' is not understood." if at else "")
        number = _number(found[0], unit)
        at = found.end() + (body[found.end() : found.end() + 1] == " ")
        spelled = _unit_pattern().match(body, at)
        if spelled:
            yield number, spelled[0]
            at = spelled.end()
        elif at >= len(body):
            yield number, ""
        else:
            yield number, re.split(r"[0-9]", body[at:], maxsplit=1)[0].strip() or body[at:]
            return
        at += body[at : at + 1] == " "


def _spelling(written: str, unit: str) -> str | float:
    """The pint name (or factor) of a written unit, once it is sure to measure what ``unit`` does."""
    what = family_of(unit)
    known = FAMILIES.get(what, {})
    name = written.lower()
    if name in known and not (name in _CASED and written[0] == "M"):
        return known[name]
    others = [other for other, spellings in FAMILIES.items() if name in spellings]
    if name in _CASED and name in known:
        remedy = f"Write '{written[0].lower()}{written[1:]}' if a thousandth is meant."
    elif others and what:
        remedy = f"'{written}' is a unit of {others[0]}, not of {what}."
    else:
        unknown = f"The unit '{written[:20]}' is not known. {did_you_mean(name, sorted(known))}"
        remedy = _HINTS.get(name) or unknown.rstrip()
    raise QuantityError(asked(unit), remedy)


def _convert(number: float, name: str | float, unit: str) -> float:
    if isinstance(name, float):
        return number * name
    target = FAMILIES[family_of(unit)][unit.lower()]
    return float(_registry().Quantity(number, name).to(target).magnitude)


def _sum(terms: list[tuple[float, str]], sign: float, unit: str) -> float:
    if len(terms) == 1 and not terms[0][1]:
        return sign * terms[0][0]
    names = [_spelling(written, unit) if written else "" for _, written in terms]
    if "" in names:
        raise QuantityError(asked(unit), "Write a unit behind each number.")
    if len(terms) == 1:
        return _convert(sign * terms[0][0], names[0], unit)
    if family_of(unit) == "temperature":
        raise QuantityError(asked(unit), "Write one temperature only.")
    sizes = [_convert(1.0, name, unit) for name in names]
    if any(later >= earlier for earlier, later in pairwise(sizes)):
        raise QuantityError(asked(unit), "Write the larger unit first and each unit once.")
    return sign * sum(number * size for (number, _), size in zip(terms, sizes, strict=True))


def ordinary(value: float, unit: str) -> float:
    """``value`` to nine significant digits and never -0.0; QuantityError when absurdly large or small."""
    if not math.isfinite(value) or abs(value) > LARGEST or 0 < abs(value) < SMALLEST:
        raise QuantityError(asked(unit), "The number must be of ordinary size.")
    return float(f"{value:.{SIGNIFICANT_DIGITS}g}") + 0.0


@lru_cache(maxsize=10_000)  # a table of variants reads the same quantities of its brief a thousand times
def quantity(text: str, unit: str) -> float:
    """Read ``text`` such as ``"17 ft 6 in"`` and return it as a number in ``unit``.

    A bare number is taken to be in ``unit`` already. The result has nine significant digits.
    Raises QuantityError (a ValueError that says what was expected) when the text is no quantity, is
    longer than 60 characters, or measures something else.
    """
    body = " ".join(text[: LONGEST_TEXT + 1].translate(_TIDY).split())
    if len(text) > LONGEST_TEXT:
        raise QuantityError(asked(unit), f"Text of at most {LONGEST_TEXT} characters is read.")
    if any(mark in body for mark in "€£¥"):
        raise QuantityError(asked(unit), "Convert the amount to US dollars.")
    sign = -1.0 if body.startswith("-") else 1.0
    body = body[1:].lstrip() if body[:1] in ("-", "+") else body
    currency = _CURRENCY.match(body)
    if currency:
        sign = -sign if currency[1] == "-" else sign
        body = f"{body[currency.end() :]} usd".replace("usd usd", "usd")
    terms = list(_terms(body, unit))
    if not terms:
        raise QuantityError(asked(unit))
    return ordinary(_sum(terms, sign, unit), unit)
