"""Tiny invented worlds in which places matter, and plain exhaustive placing to hold the judge against.

Lengths are a few millimetres and masses a few grams, so that every way to put everything can be tried.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from itertools import permutations, product

from optimizer.packing.bays import Bay
from optimizer.packing.shapes import Placed, Region
from optimizer.problem.living import FUELS
from optimizer.problem.records import Goal, Group, Kit, Option, Problem
from optimizer.problem.space import At, Ballast, BayPlace, RoofPlace, Space, Thing

TAGS = ("warm", "vented", "outside")
RULES = (
    "payload", "front_axle", "rear_axle", "side_balance", "roof_area", "roof_plan", "roof_load", "overall_height",
    "parking_length", "bay_space", "bay_load",
)  # fmt: skip
Spot = tuple[int, int, int, int]


def tiny_problem(seed: int) -> Problem:
    """A problem with a roof, a few bays and tight axles; most have a kit that fits, none is easy."""
    rng = random.Random(seed)
    space = _space(rng)
    groups = [_roof_group(rng, space, "panels_1", "")]
    if rng.random() < 0.4:
        first = groups[0]
        groups.append(Group("panels_2", first.kind, first.options, needed=False, twin="panels_1"))
    if rng.random() < 0.5:
        groups.append(_roof_group(rng, space, "roof_fan", "fan"))
    groups += [_box_group(rng, f"box {number}") for number in range(rng.randint(2, 3))]
    nights = (1, 2, 3) if rng.random() < 0.3 else (2,)
    goal = Goal("longest", "nights", 1) if len(nights) > 1 else Goal("cheapest", "USD", 100)
    needs = {
        "payload_g": 1000, "carried_g": 0, "food_g_night": rng.choice((0, 1, 2)), "roof_cm2": 10**6,
        "roof_load_g": 1000, "rack_g": 0, "van_height_mm": 0, "height_mm": 1000, "length_mm": 20, "parking_mm": 23,
        "front_axle_g": rng.randint(8, 22), "rear_axle_g": rng.randint(8, 22), "side_g": rng.randint(3, 12),
        "dc_wh_day": 0, "ac_wh_day": 0, **{f"own_{fuel}_ml": 0 for fuel in FUELS},
    }  # fmt: skip
    return Problem(
        groups=tuple(groups), owned=(), voltages=(12,), nights=nights, months=(), needs=needs, goal=goal,
        tie_break=Goal("lightest", "kg", 1000), rules=RULES, space=space,
    )  # fmt: skip


def _space(rng: random.Random) -> Space:
    obstacles = tuple(
        Placed(f"thing {n}", rng.randint(-1, 5), rng.randint(0, 3), rng.randint(1, 2), 1)
        for n in range(rng.randint(0, 2))
    )
    fan = (rng.randint(-1, 4), rng.randint(0, 3)) if rng.random() < 0.5 else None
    roof = RoofPlace(
        Region(rng.randint(4, 6), rng.randint(3, 5), obstacles), rng.choice((0, 0, 1)), (1, 1), (8, 7),
        rng.choice((At(), At(4, 5), At(-2, -2))), fan, 1,
    )  # fmt: skip
    bays = tuple(
        BayPlace(
            Bay(
                f"bay {n}", rng.randint(2, 4), rng.randint(2, 3), rng.randint(2, 4), rng.randint(5, 14),
                tuple(sorted(rng.sample(TAGS, rng.randint(1, 2)))),
                *rng.choice(((None, None), (None, None), (2, 3))),
            ),
            At(x, x, y, y), 0, hangs,
        )
        for n, x, y, hangs in (
            (0, rng.randint(0, 10), rng.randint(-4, 4), 0),
            (1, rng.randint(-2, 13), rng.randint(-4, 4), 0),
            (2, 14, 0, rng.choice((2, 3, 4))),
        )[: rng.choice((2, 2, 3))]
    )  # fmt: skip
    ballast = (
        Ballast("driver", 2, rng.choice((At(1, 1, -2, -2), At(None, None, -2, 2))), (0, 1, 2)),
        Ballast("gear", rng.randint(0, 2), At(), (0, 2)),
    )
    lean = rng.randint(-2, 2)
    return Space(
        roof, bays, (10, 10), 6, (rng.randint(2, 5), rng.randint(2, 5)), (lean, -lean), ballast,
        rng.choice((At(), At(12, 12))), may_split=rng.random() < 0.5,
    )  # fmt: skip


def _roof_group(rng: random.Random, space: Space, name: str, fan: str) -> Group:
    options = []
    for number in range(1 if fan else rng.randint(2, 4)):
        length, width = rng.randint(1, 4), rng.randint(1, 3)
        if fan:
            length = width = rng.randint(1, 2)
        count = 1 if fan else rng.randint(1, 3)
        mass = rng.randint(1, 2)
        thing = Thing(f"flat{number}", count, length, width, 1, mass, tags=("roof",), on_roof=True)
        amounts = {"roof_g": mass * count, "one": 1}
        options.append(Option(f"{name}-{number}", ((thing.part, count),), rng.randint(0, 5) * 100, mass * count,
                              amounts, things=(thing,)))  # fmt: skip
    needed = rng.random() < 0.7 and name != "panels_1"
    return Group(name, "roof_fan" if fan else "solar_panel", _sorted(options), needed or name == "panels_1")


def _box_group(rng: random.Random, name: str) -> Group:
    options = []
    for number in range(rng.randint(2, 4)):
        things = tuple(_thing(rng, f"{name} {number} {n}") for n in range(rng.choice((1, 1, 1, 2))))
        loose = rng.choice((0, 0, 1))
        empty = sum(thing.count * thing.mass for thing in things)
        full = {"supply": "full_g", "waste": "grey_g"}
        amounts: dict[str, int] = {"one": 1, "used_g_night": rng.choice((0, 0, 0, 1))}
        for thing in things:
            if thing.filling:
                key = full[thing.filling]
                amounts[key] = amounts.get(key, 0) + thing.count * thing.contents
        options.append(Option(f"{name}-{number}", tuple((t.part, t.count) for t in things), rng.randint(0, 5) * 100,
                              empty + loose, amounts, things=things))  # fmt: skip
    return Group(name, "any", _sorted(options), rng.random() < 0.7)


def _thing(rng: random.Random, part: str) -> Thing:
    filling = rng.choice(("", "", "supply", "waste"))
    return Thing(
        part, rng.choice((1, 1, 2)), rng.randint(1, 3), rng.randint(1, 2), rng.randint(1, 3), rng.randint(0, 3),
        contents=rng.randint(1, 2) if filling else 0, filling=filling,
        tags=tuple(sorted(rng.sample(TAGS, rng.randint(1, 3)))), upright=rng.random() < 0.5,
        clearance=rng.choice((0, 0, 0, 1)),
    )  # fmt: skip


def _sorted(options: list[Option]) -> tuple[Option, ...]:
    return tuple(sorted(options, key=lambda option: option.key))


def kits(problem: Problem) -> Iterator[Kit]:
    """Every kit, twins in either order."""
    offers = [[*(o.key for o in g.options), *([] if g.needed else [""])] for g in problem.groups]
    for keys in product(*offers):
        chosen = {g.name: key for g, key in zip(problem.groups, keys, strict=True) if key}
        for nights in problem.nights:
            yield Kit(chosen, 12, nights)


# -- every way there is -----------------------------------------------------------------------------


def fits(problem: Problem, kit: Kit) -> bool:
    """Whether a kit fits, by trying every place for everything."""
    return roof_fits(problem, kit) and bays_fit(problem, kit)


def roof_fits(problem: Problem, kit: Kit) -> bool:
    assert problem.space is not None
    roof = problem.space.roof
    blocked = [(o.x, o.y, o.length, o.width) for o in roof.region.obstacles]
    sizes = []
    for group, option in kit.options(problem):
        for thing in option.things:
            if not thing.on_roof:
                continue
            if group.kind == "roof_fan" and roof.fan is not None:
                x, y = roof.fan
                if x < -1 or y < -1 or x + thing.length > 7 or y + thing.width > 6:
                    return False
                if any(_near((x, y, thing.length, thing.width), other, 0) for other in blocked):
                    return False
                blocked = [*blocked, (x, y, thing.length, thing.width)]
            else:
                sizes += [(thing.length, thing.width)] * thing.count
    return _lay(roof.region.length, roof.region.width, sizes, blocked, roof.gap)


def _lay(length: int, width: int, sizes: Sequence[tuple[int, int]], there: list[Spot], gap: int) -> bool:
    if not sizes:
        return True
    for across, along in sorted(set(permutations(sizes[0]))):
        for x, y in product(range(length - across + 1), range(width - along + 1)):
            spot = (x, y, across, along)
            if not any(_near(spot, other, gap) for other in there) and _lay(
                length, width, sizes[1:], [*there, spot], gap
            ):
                return True
    return False


def _near(a: Spot, b: Spot, gap: int) -> bool:
    along = a[0] < b[0] + b[2] + gap and b[0] < a[0] + a[2] + gap
    return along and a[1] < b[1] + b[3] + gap and b[1] < a[1] + a[3] + gap


def bays_fit(problem: Problem, kit: Kit) -> bool:
    assert problem.space is not None
    space = problem.space
    room = problem.need("parking_mm") - problem.need("length_mm")
    places = [place for place in space.bays if place.hangs_out <= room]
    boxes = [
        (group.name, thing)
        for group, option in kit.options(problem)
        for thing in option.things if not thing.on_roof
        for _ in range(thing.count)
    ]  # fmt: skip
    for homes in product(range(len(places)), repeat=len(boxes)):
        if not space.may_split and any(
            a[0] == b[0] and homes[i] != homes[j]
            for i, a in enumerate(boxes) for j, b in enumerate(boxes[:i])
        ):  # fmt: skip
            continue
        if not balanced(problem, kit, boxes, [places[home] for home in homes]):
            continue
        if all(
            _stand(place.bay, [thing for (_, thing), home in zip(boxes, homes, strict=True) if home == number])
            for number, place in enumerate(places)
        ):
            return True
    return False


def _stand(bay: Bay, things: list[Thing]) -> bool:
    if sum(thing.mass + thing.contents for thing in things) > bay.load:
        return False
    if any(not set(thing.tags) & set(bay.tags) for thing in things):
        return False
    return _stand_next(bay, things, [])


def _stand_next(bay: Bay, things: list[Thing], there: list[tuple[Spot, int]]) -> bool:
    if not things:
        return True
    thing = things[0]
    for l, w, h in sorted(set(permutations((thing.length, thing.width, thing.height)))):  # noqa: E741
        if (thing.upright and h != thing.height) or h + thing.clearance > bay.height:
            continue
        if bay.door_width is not None and bay.door_height is not None and (
            min(l, w) > bay.door_width or h > bay.door_height
        ):
            continue
        air = thing.clearance
        for x, y in product(range(air, bay.length - l - air + 1), range(air, bay.width - w - air + 1)):
            spot = (x, y, l, w)
            if not any(_near(spot, other, air + more) for other, more in there) and _stand_next(
                bay, things[1:], [*there, (spot, air)]
            ):
                return True
    return False


def balanced(problem: Problem, kit: Kit, boxes: list[tuple[str, Thing]], homes: list[BayPlace]) -> bool:
    """Axles and sides in the three loading states, told once more with fractions of a wheelbase."""
    space = problem.space
    assert space is not None
    base, track = space.wheelbase[0], space.track
    for state in range(3):
        front, rear = (float(weighed) for weighed in space.weighed)
        right = left = 0.0
        right, left = right + space.weighed_sides[0], left + space.weighed_sides[1]
        resting: list[tuple[int, At, bool]] = [(b.mass, b.at, False) for b in space.ballast if state in b.states]
        if state == 0:
            resting.append((problem.need("food_g_night") * kit.nights, space.food, True))
        for _, option in kit.options(problem):
            known = sum(t.count * t.mass for t in option.things)
            used = option.get("used_g_night") * kit.nights if state != 1 else 0
            resting.append((option.mass_g - known + used, At(), False))
            resting += [(t.count * t.mass, space.roof.at, False) for t in option.things if t.on_roof]
        for (_, thing), place in zip(boxes, homes, strict=True):
            full = (thing.filling, state) in (("supply", 0), ("waste", 2))
            resting.append((thing.mass + thing.contents * full, place.at, False))
        for mass, at, eaten in resting:
            on_rear = mass if at.x_high is None else mass * at.x_high / base
            on_front = mass if at.x_low is None else mass * (1 - at.x_low / base)
            to_right, to_left = 2 * mass * at.y_high / track, -2 * mass * at.y_low / track
            adds = [on_front, on_rear, to_right, to_left]
            adds = [max(0.0, add) for add in adds] if eaten else adds
            front, rear, right, left = front + adds[0], rear + adds[1], right + adds[2], left + adds[3]
        tiny = 1e-9
        if front > problem.need("front_axle_g") + tiny or rear > problem.need("rear_axle_g") + tiny:
            return False
        if max(right, left) > problem.need("side_g") + tiny:
            return False
    return True
