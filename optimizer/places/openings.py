"""What of a kit needs a hole in the roof, a wall or the floor, and the skill that asks for.

On the road: kit -> *places* -> terminal, JSON, book.
"""

from __future__ import annotations

from optimizer.problem.records import Kit, Problem


def openings(problem: Problem, kit: Kit) -> list[dict[str, str]]:
    """Part, opening and skill of everything that needs one, in the kit's order; none twice."""
    found = {
        (thing.part, thing.opening): {"part": thing.part, "opening": thing.opening, "skill": thing.skill}
        for _, option in kit.options(problem) for thing in option.things if thing.opening
    }  # fmt: skip
    return list(found.values())
