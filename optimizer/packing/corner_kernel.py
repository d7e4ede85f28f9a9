"""The search for a layout of one floor, corner by corner, compiled. Imported lazily by ``packing.corners``.

On the road: under *corners*, which says why it misses nothing. A state is how many of each kind are still to lie, and
the corners left: x rises from one to the next, y falls. Millions of states are looked at in a second, for all
of them are rows of one table: numba counts references to each table that a function is handed.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimizer.compiling import compiled

Ints = NDArray[np.int64]
Small = NDArray[np.int32]
FOUND, NOTHING, STOPPED = 1, 0, 2

KIND, ALONG, ACROSS = 0, 1, 2
"""Columns of floors."""
FIRST, AREA, COUNT, RADIX = 0, 1, 2, 3
"""Columns of kinds: the first of its floors, the least area of one, how many there are, and what one of it counts in
the number of a remainder (0 where one row of sums does for all).
"""
TURN, SLOT, MANY, LEFT = 0, 1, 2, 3
"""Columns of states: which corner and floor is next, where it is kept once it failed, how many corners there are; from
``LEFT`` on how many of each kind are still to lie, and then x and y of each corner.
"""

KEPT = 1 << 15
"""Failed states kept at once; of two that fall on one place the later stays."""
MOST_SUMS = 4096
"""Remainders of which sums of lengths are kept; with more, those of all things are taken, which says a little less."""


class Sums(NamedTuple):
    """The most that lengths of what is left come to within each extent; a row for each remainder."""

    along: Small
    """Shape (R, length + 1); -1 first where a row is not filled yet."""
    across: Small
    """Shape (R, width + 1)."""


@compiled
def fill(left: Ints, floors: Ints, kinds: Ints, side: int, table: Small) -> None:
    """The most that a side of each of some things comes to within each extent, no thing taken twice."""
    reached = np.zeros(table.size, dtype=np.bool_)
    reached[0] = True
    for kind in range(left.size):
        for _ in range(left[kind]):
            for extent in range(table.size - 1, 0, -1):  # from above: what is reached with this one is not used again
                for floor in range(kinds[kind, FIRST], kinds[kind + 1, FIRST]):
                    size = floors[floor, side]
                    if size <= extent and reached[extent - size]:
                        reached[extent] = True
                        break
    last = 0
    for extent in range(table.size):
        if reached[extent]:
            last = extent
        table[extent] = last


@compiled
def new_sums(kinds: Ints, length: int, width: int) -> Sums:
    """Tables for every remainder there may be, none filled; numbers the remainders in ``kinds``."""
    many, last = 1, kinds.shape[0] - 1
    for kind in range(last):
        kinds[kind, RADIX] = many
        many *= kinds[kind, COUNT] + 1
        if many > MOST_SUMS:
            kinds[:, RADIX] = 0
            many = 1
            break
    sums = Sums(np.zeros((many, length + 1), dtype=np.int32), np.zeros((many, width + 1), dtype=np.int32))
    sums.along[:, 0] = -1
    return sums


@compiled
def remainder(board: Ints, at: int, floors: Ints, kinds: Ints, along: Small, across: Small) -> int:
    """The number of what is left in a state, its sums known."""
    number, last = 0, kinds.shape[0] - 1
    for kind in range(last):
        number += board[at, LEFT + kind] * kinds[kind, RADIX]
    if along[number, 0] < 0:
        every = board[at, LEFT : LEFT + last] if kinds[0, RADIX] else kinds[:last, COUNT].copy()
        fill(every, floors, kinds, ALONG, along[number])
        fill(every, floors, kinds, ACROSS, across[number])
    return number


@compiled
def drop_useless(board: Ints, at: int, floors: Ints, corners: int, length: int, width: int) -> None:
    """Leave out the corners of a state at which nothing that is left can lie; ``corners``: where they begin."""
    kept = corners
    for corner in range(corners, corners + 2 * board[at, MANY], 2):
        x, y = board[at, corner], board[at, corner + 1]
        for floor in range(floors.shape[0]):
            fits = floors[floor, ALONG] <= length - x and floors[floor, ACROSS] <= width - y
            if fits and board[at, LEFT + floors[floor, KIND]] > 0:
                board[at, kept], board[at, kept + 1] = x, y
                kept += 2
                break
    board[at, MANY] = (kept - corners) // 2


@compiled
def has_room(
    board: Ints, at: int, floors: Ints, kinds: Ints, along: Small, across: Small, length: int, width: int
) -> bool:
    """Whether what is left may still lie beyond the corners: all by the floor they take, each at one of them."""
    last = kinds.shape[0] - 1
    corners, number, asked = LEFT + last, remainder(board, at, floors, kinds, along, across), 0
    for kind in range(last):
        asked += board[at, LEFT + kind] * kinds[kind, AREA]
    strips, rows, far, end = 0, 0, width, corners + 2 * board[at, MANY]
    for corner in range(corners, end, 2):
        x, y = board[at, corner], board[at, corner + 1]
        right = board[at, corner + 2] if corner + 2 < end else length
        strips += (right - x) * across[number, width - y]
        rows += (far - y) * along[number, length - x]
        far = y
    if asked > min(strips, rows):
        return False
    for kind in range(last):
        lies = board[at, LEFT + kind] == 0
        for floor in range(kinds[kind, FIRST], kinds[kind + 1, FIRST]):
            for corner in range(corners, end, 2):
                x, y = board[at, corner], board[at, corner + 1]
                if floors[floor, ALONG] <= length - x and floors[floor, ACROSS] <= width - y:
                    lies = True
                    break
        if not lies:
            return False
    return True


@compiled
def has_failed(board: Ints, at: int, failed: Small, corners: int) -> bool:
    """Whether this very state failed before; where it is kept is noted in any case."""
    end = corners + 2 * board[at, MANY]
    key = np.uint64(14695981039346656037)
    for place in range(MANY, end):
        key = (key ^ np.uint64(board[at, place])) * np.uint64(1099511628211)
    key ^= key >> np.uint64(32)
    slot = int(key % np.uint64(KEPT))
    board[at, SLOT] = slot
    place = MANY
    while place < end and failed[slot, place] == board[at, place]:
        place += 1
    return bool(place == end)


@compiled
def next_turn(board: Ints, at: int, floors: Ints, corners: int, lead: int, length: int, width: int) -> int:
    """The next corner and floor that can be tried, as one number; beyond all corners where there is none."""
    many = floors.shape[0]
    corner, floor = board[at, TURN] // many, board[at, TURN] % many
    while corner < board[at, MANY]:
        x, y = board[at, corners + 2 * corner], board[at, corners + 2 * corner + 1]
        while floor < many:
            kind, along, across = floors[floor, KIND], floors[floor, ALONG], floors[floor, ACROSS]
            inside = x + along <= length and y + across <= width
            quarter = kind != lead or (2 * x + along <= length and 2 * y + across <= width)
            if inside and quarter and board[at, LEFT + kind] > 0:
                return int(corner * many + floor)
            floor += 1
        floor = 0
        corner += 1
    return int(corner * many)


@compiled
def put(board: Ints, at: int, corners: int, corner: int, kind: int, right: int, far: int) -> None:
    """The state after next: one of a kind lies at a corner and reaches to (right, far).

    The corners left of it that it does not pass across stay, and so do those beyond its right end; at both its ends is
    a new one.
    """
    for place in range(LEFT, corners):
        board[at + 1, place] = board[at, place]
    board[at + 1, LEFT + kind] -= 1
    new, end = corners, corners + 2 * board[at, MANY]
    while board[at, new + 1] >= far:
        board[at + 1, new], board[at + 1, new + 1] = board[at, new], board[at, new + 1]
        new += 2
    if new == corners or board[at, new - 1] > far:
        board[at + 1, new], board[at + 1, new + 1] = board[at, new], far
        new += 2
    last = corners + 2 * corner
    while last + 2 < end and board[at, last + 2] < right:
        last += 2
    if last + 2 == end or board[at, last + 2] > right:
        board[at + 1, new], board[at + 1, new + 1] = right, board[at, last + 1]
        new += 2
    for place in range(last + 2, end):
        board[at + 1, new] = board[at, place]
        new += 1
    board[at + 1, MANY] = (new - corners) // 2


@compiled
def lay(
    floors: Ints, kinds: Ints, lead: int, length: int, width: int, most: int, placed: Ints
) -> tuple[int, int]:
    """Look for places for all things on a floor of this length and width.

    Parameters
    ----------
    floors : kind, length and width of each floor that a thing may take, kind after kind, shape (F, 3)
    kinds : see ``FIRST``; one row more than there are, for where the floors end, shape (K + 1, 4)
    lead : a kind of which there is one, and whose middle is kept in one quarter; -1 = none
    most : states looked at, at most
    placed : filled with floor, x and y of each thing, shape (things, 3)

    Returns
    -------
    FOUND, NOTHING or STOPPED, and how many states were looked at
    """
    last, total = kinds.shape[0] - 1, placed.shape[0]
    corners = LEFT + last
    along, across = new_sums(kinds, length, width)
    board = np.zeros((total + 1, corners + 2 * (total + 2)), dtype=np.int64)
    board[0, MANY] = 1
    board[0, LEFT:corners] = kinds[:last, COUNT]
    failed = np.zeros((KEPT, board.shape[1]), dtype=np.int32)
    at, entering, looked = 0, True, 0
    while at >= 0:
        if entering:
            entering = False
            looked += 1
            if at == total:
                return FOUND, looked
            if looked > most:
                return STOPPED, looked
            drop_useless(board, at, floors, corners, length, width)
            hopeless = not has_room(board, at, floors, kinds, along, across, length, width)
            if hopeless or has_failed(board, at, failed, corners):
                at -= 1
            else:
                board[at, TURN] = 0
            continue
        turn = next_turn(board, at, floors, corners, lead, length, width)
        board[at, TURN] = turn + 1
        corner, floor = turn // floors.shape[0], turn % floors.shape[0]
        if corner >= board[at, MANY]:
            for place in range(MANY, corners + 2 * board[at, MANY]):
                failed[board[at, SLOT], place] = board[at, place]
            at -= 1
            continue
        x, y = board[at, corners + 2 * corner], board[at, corners + 2 * corner + 1]
        placed[at, 0], placed[at, 1], placed[at, 2] = floor, x, y
        put(board, at, corners, corner, floors[floor, KIND], x + floors[floor, ALONG], y + floors[floor, ACROSS])
        at += 1
        entering = True
    return NOTHING, looked
