"""Ends a search at the first kit that passes, where any kit will do.

On the road: judges of the bench, before and after all others.
"""

from __future__ import annotations

import threading
from collections.abc import Callable

from optimizer.choosing.walls import NOTHING_KNOWN, Outlook, Wall
from optimizer.problem.records import Kit


class PassedError(Exception):
    """A kit passed where any would do."""

    def __init__(self, kit: Kit) -> None:
        super().__init__()
        self.kit = kit


class Enough:
    """The last judge where any kit that is ``wanted`` will do: the first that comes before it ends the search.

    Kits met during a solve come in the solver's own thread, which nothing may be raised into: they end the
    search when the next kit is shown to ``first``, the judge before all others.
    """

    def __init__(self, wanted: Callable[[Kit], bool]) -> None:
        self.kit: Kit | None = None
        self._wanted = wanted
        self._thread = threading.get_ident()
        self.first = Doorkeeper(self)

    def passes(self, kit: Kit) -> bool:
        """All other judges have passed it; what is not wanted ends nothing."""
        if self._wanted(kit):
            self.kit = self.kit or kit
        self.end()
        return True

    def end(self) -> None:
        """End the search where a kit has passed, as soon as that may be."""
        if self.kit is not None and threading.get_ident() == self._thread:
            raise PassedError(self.kit)

    def walls(self, kit: Kit, outlook: Outlook = NOTHING_KNOWN) -> list[Wall]:
        """None: no kit is turned away here."""
        return []


class Doorkeeper:
    """Lets everything through until a kit has passed."""

    def __init__(self, enough: Enough) -> None:
        self.enough = enough

    def passes(self, kit: Kit) -> bool:
        """Yes, if the search goes on at all."""
        self.enough.end()
        return True

    def walls(self, kit: Kit, outlook: Outlook = NOTHING_KNOWN) -> list[Wall]:
        """None: no kit is turned away here."""
        return []
