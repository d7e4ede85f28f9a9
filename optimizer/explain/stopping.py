"""Ctrl-C while many questions are asked: what was found by then is told, and what is open is said to be.

On the road: beside the bench, under *explain*. Choosing takes Ctrl-C as the end of one question; here it must be the
end of all of them.
"""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType


class Stop:
    """Whether it was asked to stop; the benches of one run share it."""

    def __init__(self) -> None:
        self.asked = False
        self._asking = False

    @contextmanager
    def question(self) -> Iterator[None]:
        """While a question is asked: Ctrl-C ends it at once. Between questions it only ends those to come."""
        before, self._asking = self._asking, True
        try:
            yield
        except KeyboardInterrupt:
            if not self.asked:  # nobody listens for it here
                raise
        finally:
            self._asking = before

    @contextmanager
    def at_ctrl_c(self) -> Iterator[None]:
        """The first Ctrl-C from here on ends the questions, a second one the run."""

        def heard(number: int, frame: FrameType | None) -> None:
            signal.signal(signal.SIGINT, before)
            self.asked = True
            if self._asking:
                raise KeyboardInterrupt

        before = signal.signal(signal.SIGINT, heard)
        try:
            yield
        finally:
            signal.signal(signal.SIGINT, before)
