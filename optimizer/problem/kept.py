"""Results kept for when the very same objects come again.

On the road: under the rules, beside *problem*. Questions about one problem change its limits and leave its groups
and places alone; what hangs on those alone need not be worked out again for each question.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

Result = TypeVar("Result")


class Kept(Generic[Result]):
    """Results by the very objects they were made from, and by values beside; the newest few.

    Objects are told apart by identity, not by what they are worth: comparing a catalog costs more than most of
    what would be saved. The objects are held, so that no identity is given twice.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._entries: list[tuple[tuple[object, ...], Hashable, Result]] = []

    def of(self, objects: tuple[object, ...], values: Hashable, make: Callable[[], Result]) -> Result:
        """The result for these objects and values, made when it is not there."""
        for entry in self._entries:
            if entry[1] == values and all(a is b for a, b in zip(entry[0], objects, strict=True)):
                return entry[2]
        made = make()
        self._entries = [*self._entries, (objects, values, made)][-self._most:]
        return made
