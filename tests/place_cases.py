"""Tiny invented worlds in which places matter, and plain exhaustive placing to hold the judge against.

Lengths are a few millimetres and masses a few grams, so that every way to put everything can be tried.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import permutations, product

from optimizer.choosing.walls import NOTHING_KNOWN, Outlook
from optimizer.circuits.sizing import wire
from optimizer.packing.bays import Bay
from optimizer.packing.shapes import Placed
from optimizer.physics.fuel import FUELS
from optimizer.places.judge import Places
from optimizer.problem.records import Goal, Group, Kit, Option, Problem
from optimizer.problem.roof_place import Lane
from optimizer.problem.space import At, Ballast, BayPlace, Reach, RoofPlace, Space, Thing
from tests.wiring_cases import need, shelf

SIDES = ("front", "rear", "left", "right")
TAGS = ("warm", "vented", "outside")
RULES = (
    "payload", "front_axle", "rear_axle", "side_balance", "roof_area", "roof_plan", "roof_load", "overall_height",
    "parking_length", "bay_space", "bay_load", "cable_reach", "fuel_apart",
)  # fmt: skip
REACHING = 1000
"""Seeds from here on are worlds in which one thing hangs on another by a cable."""
Spot = tuple[int, int, int, int]
Cells = dict[tuple[int, int], tuple[int, bool]]


def tiny_problem(seed: int) -> Problem:
    """A problem with a roof, a few bays and tight axles; most have a kit that fits, none is easy."""
    if seed >= REACHING:
        return _reaching(tiny_problem(seed - REACHING), random.Random(seed))
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


def _reaching(problem: Problem, rng: random.Random) -> Problem:
    """The same without the roof, with more room, and with cables: lengths told by bays, or stated ones.

    A shorter one is cheaper, so that where things stand is what the choice hangs on.
    """
    space = problem.space
    assert space is not None
    stated = rng.random() < 0.5
    boxed = [
        replace(group, options=tuple(_single(option) if stated else option for option in group.options))
        for group in problem.groups if group.kind == "any"
    ]  # fmt: skip
    bays = tuple(
        replace(place, bay=replace(
            place.bay, length=place.bay.length + rng.randint(0, 1 if stated else 2),
            width=place.bay.width + rng.randint(0, 0 if stated else 1),
            height=place.bay.height + 1, load=place.bay.load + rng.randint(0, 6),
            tags=TAGS if rng.random() < 0.6 else place.bay.tags,
        ))
        for place in space.bays
    )  # fmt: skip
    names = [group.name for group in boxed]
    if rng.random() < 0.4:
        boxed = [replace(g, options=tuple(_hazardous(option, rng) for option in g.options)) for g in boxed]
    pairs = rng.sample([(a, b) for a in names for b in names if a < b], rng.randint(1, len(names) - 1))
    table = tuple((one.bay.name, other.bay.name, _farthest(one, other)) for one in bays for other in bays)
    ways = sorted({mm for *_, mm in table})
    lengths = rng.sample(range(1, 9), 2) if stated else sorted({*rng.sample(ways, min(2, len(ways))), ways[-1]})
    reaches = tuple(Reach(a, b, () if stated else table, stated) for a, b in pairs)
    groups = tuple(
        replace(group, options=_sorted([_cabled(o, mm, rng) for o in group.options for mm in lengths]))
        if group.name in {b for _, b in pairs} else group
        for group in boxed
    )  # fmt: skip
    needs = {**problem.needs, "side_g": problem.need("side_g") + rng.choice((0, 8, 30))}
    needs |= {axle: problem.need(axle) + rng.choice((0, 10, 20)) for axle in ("front_axle_g", "rear_axle_g")}
    return replace(problem, groups=groups, needs=needs, space=replace(space, bays=bays, reaches=reaches))


def _farthest(one: BayPlace, other: BayPlace) -> int:
    """Further apart than any two things in these bays can be."""
    assert one.at.x_low is not None
    assert other.at.x_low is not None
    middles = abs(one.at.x_low - other.at.x_low) + abs(one.at.y_low - other.at.y_low)
    halves = one.bay.length + other.bay.length + one.bay.width + other.bay.width
    return middles + halves // 2 + 1 + max(one.bay.height, other.bay.height)


def _hazardous(option: Option, rng: random.Random) -> Option:
    """Some of its things are fuel, some can make sparks, some give off hydrogen."""
    hazards = ("", "", "vapour", "spark", "spark", "gassing")
    things = tuple(replace(thing, hazard=rng.choice(hazards)) for thing in option.things)
    return replace(option, things=things)


def _single(option: Option) -> Option:
    """One of each thing: where middles count, every place of everything is tried."""
    things = tuple(replace(thing, count=1) for thing in option.things)
    held = {
        key: sum(thing.contents for thing in things if thing.filling == filling)
        for filling, key in (("supply", "full_g"), ("waste", "grey_g"))
    }
    return replace(option, things=things, amounts={**option.amounts, **held})


def _cabled(option: Option, mm: int, rng: random.Random) -> Option:
    wired = wire(shelf(), need(current_a=1.0, length_m=mm / 1000))
    cents = option.price_cents + 10 * mm + rng.randint(0, 30)
    return replace(option, key=f"{option.key} within {mm:02d}", price_cents=cents, circuits=wired.circuits, reach_mm=mm)


def _space(rng: random.Random) -> Space:
    obstacles = tuple(
        Placed(f"thing {n}", rng.randint(-1, 5), rng.randint(0, 3), rng.randint(1, 2), 1)
        for n in range(rng.randint(0, 2))
    )
    fan = (rng.randint(-1, 4), rng.randint(0, 3)) if rng.random() < 0.5 else None
    size = (rng.randint(4, 6) + 2, rng.randint(3, 5) + 2)
    roof = RoofPlace(
        size, 1, rng.choice((0, 0, 1)), rng.choice((At(), At(4, 5), At(-2, -2))),
        obstacles=tuple(o.moved(1, 1) for o in obstacles), fan=fan, fan_side=1,
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


def with_stepped_roof(problem: Problem, seed: int) -> Problem:
    """The same world with a roof that curves away or is stepped, with lanes, and panels on wide brackets."""
    rng = random.Random(1000 + seed)
    assert problem.space is not None
    roof = problem.space.roof
    length, width = rng.randint(6, 9), rng.randint(5, 8)
    step = rng.randint(3, length - 2)
    second = rng.randint(step, length - 1)
    parts = (
        Placed("front", 0, rng.randint(0, 2), step, rng.randint(3, width)),
        Placed("rear", second, rng.randint(0, 2), length - second, rng.randint(3, width)),
    )
    lanes = tuple(
        Lane(f"lane {n}", rng.choice(SIDES), rng.randint(0, 3), 2 * roof.gap + rng.randint(1, 2))
        for n in range(rng.choice((0, 1, 1, 2)))
    )
    fan = (rng.randint(-1, 4), rng.randint(-1, 3)) if rng.random() < 0.4 else None
    roof = replace(
        roof, size=(length, width), edge=rng.randint(0, 1), curve=rng.randint(0, 1), lanes=lanes,
        parts=parts if rng.random() < 0.7 else (), obstacles=roof.obstacles[:1], fan=fan,
    )  # fmt: skip

    def wide(thing: Thing) -> Thing:
        return replace(thing, clearance=rng.choice((0, 0, 1))) if thing.on_roof else thing

    groups = tuple(
        replace(g, options=tuple(replace(o, things=tuple(wide(t) for t in o.things)) for o in g.options))
        for g in problem.groups if g.name != "panels_2"
    )  # fmt: skip
    return replace(problem, groups=groups, space=replace(problem.space, roof=roof))


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
    cells, margin = _flat_cells(roof), roof.part_edge
    blocked = [(o.x, o.y, o.length, o.width) for o in roof.obstacles]
    sizes = []
    for group, option in kit.options(problem):
        for thing in option.things:
            if not thing.on_roof:
                continue
            air = thing.clearance
            length, width = thing.length + 2 * air, thing.width + 2 * air
            if group.kind == "roof_fan" and roof.fan is not None:
                # told from the region's corner: the margin in from the front, margin and curve in from the left
                spot = (roof.fan[0] + roof.edge, roof.fan[1] + roof.edge + roof.curve, length, width)
                if not _on_flat(cells, spot, 0) or any(_near(spot, other, 0) for other in blocked):
                    return False
                blocked = [*blocked, spot]
            else:
                sizes += [(length, width)] * thing.count
    return _lay(roof.size, cells, margin, sizes, blocked, roof.gap)


def _flat_cells(roof: RoofPlace) -> Cells:
    """Each flat square millimetre with the number of its flat part, and whether it lies in a lane."""
    length, width = roof.size
    parts = [(p.x, p.y, p.x + p.length, p.y + p.width) for p in roof.parts] or [(0, 0, length, width)]
    found = {}
    for x, y in product(range(length), range(roof.curve, width - roof.curve)):
        from_side = {"front": x, "rear": length - 1 - x, "left": y, "right": width - 1 - y}
        in_lane = any(lane.start <= from_side[lane.side] < lane.start + lane.width for lane in roof.lanes)
        for number, (low_x, low_y, far_x, far_y) in enumerate(parts):
            if low_x <= x < far_x and low_y <= y < far_y:
                found[x, y] = (number, in_lane)
    return found


def _on_flat(cells: Cells, spot: Spot, margin: int) -> bool:
    """Whether all under a thing is one flat part and no lane, and the part goes on for the margin around it."""
    x, y, length, width = spot
    under = [cells.get((x + i, y + j), (-1, True)) for i, j in product(range(length), range(width))]
    if len(set(under)) > 1 or under[0][1]:
        return False
    around = product(range(x - margin, x + length + margin), range(y - margin, y + width + margin))
    return all(cells.get(cell, (-1, True))[0] == under[0][0] for cell in around)


def _lay(
    size: tuple[int, int], cells: Cells, margin: int, sizes: Sequence[tuple[int, int]],
    there: list[Spot], gap: int,
) -> bool:  # fmt: skip
    if not sizes:
        return True
    for across, along in sorted(set(permutations(sizes[0]))):
        for x, y in product(range(size[0] - across + 1), range(size[1] - along + 1)):
            spot = (x, y, across, along)
            clear = _on_flat(cells, spot, margin) and not any(_near(spot, other, gap) for other in there)
            if clear and _lay(size, cells, margin, sizes[1:], [*there, spot], gap):
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
        if not within_bays(problem, kit, boxes, [places[home] for home in homes]):
            continue
        inside = [[n for n, home in enumerate(homes) if home == number] for number in range(len(places))]
        if any(reach.stated for reach in space.reaches):
            if within_lengths(problem, kit, boxes, inside, places):
                return True
        elif all(_stand(p.bay, [boxes[n][1] for n in there]) for p, there in zip(places, inside, strict=True)):
            return True
    return False


def _ends(problem: Problem, kit: Kit, boxes: list[tuple[str, Thing]]) -> Iterator[tuple[list[int], list[int], int]]:
    """For each cable that is bought: boxes of the main part at its source, boxes at its end, and its length."""
    assert problem.space is not None
    for reach in problem.space.reaches:
        source, end = kit.chosen(problem, reach.source), kit.chosen(problem, reach.end)
        if source is not None and end is not None:
            main = [n for n, (g, t) in enumerate(boxes) if g == reach.source and t.part == source.parts[0][0]]
            if main:
                yield main, [n for n, (group, _) in enumerate(boxes) if group == reach.end], end.reach_mm


def within_bays(problem: Problem, kit: Kit, boxes: list[tuple[str, Thing]], homes: list[BayPlace]) -> bool:
    """Whether all that a cable joins is in bays no further apart than it is long, as the table of ways tells, and no
    fuel is in a bay with a spark."""
    assert problem.space is not None
    where = [(thing.hazard, home.bay.name) for (_, thing), home in zip(boxes, homes, strict=True)]
    lit = {"vapour": ("spark", "gassing"), "gassing": ("spark",)}
    if any((other, bay) in where for hazard, bay in where for other in lit.get(hazard, ())):
        return False
    for reach in problem.space.reaches:
        option = kit.chosen(problem, reach.end)
        if reach.stated or option is None:
            continue
        table = {(one, other): mm for one, other, mm in reach.apart}
        sources = {home.bay.name for (group, _), home in zip(boxes, homes, strict=True) if group == reach.source}
        ends = {home.bay.name for (group, _), home in zip(boxes, homes, strict=True) if group == reach.end}
        if any(table[pair] > option.reach_mm for pair in product(sources, ends)):
            return False
    return True


def within_lengths(
    problem: Problem, kit: Kit, boxes: list[tuple[str, Thing]], inside: list[list[int]], places: Sequence[BayPlace]
) -> bool:
    """Whether there is a way to stand in which each end's middle is within its cable of its nearest source's."""
    ends = list(_ends(problem, kit, boxes))
    matter = {n for main, far, _ in ends for n in (*main, *far)}
    ways = [
        _middles(place, [(n, boxes[n][1]) for n in there], matter) for place, there in zip(places, inside, strict=True)
    ]
    for some in product(*ways):
        spots = {n: spot for there in some for n, spot in there}
        if all(
            min(sum(abs(a - b) for a, b in zip(spots[n], spots[m], strict=True)) for m in main) <= 2 * most
            for main, far, most in ends for n in far
        ):  # fmt: skip
            return True
    return False


Middles = frozenset[tuple[int, tuple[int, int, int]]]


def _middles(place: BayPlace, things: list[tuple[int, Thing]], matter: set[int]) -> set[Middles]:
    """Every way to stand in a bay, told by twice where the middles of the boxes that matter are."""
    found: set[Middles] = set()
    if sum(thing.mass + thing.contents for _, thing in things) > place.bay.load:
        return found
    if any(not set(thing.tags) & set(place.bay.tags) for _, thing in things):
        return found
    assert place.at.x_low is not None
    corner = (2 * place.at.x_low - place.bay.length, 2 * place.at.y_low - place.bay.width)

    def put(left: list[tuple[int, Thing]], there: list[tuple[Spot, int]], spots: Middles) -> None:
        if not left or left[0][0] not in matter:
            if spots not in found and _stand_next(place.bay, [thing for _, thing in left], there):
                found.add(spots)
            return
        number, thing = left[0]
        for spot, high in _places(place.bay, thing):
            if any(_near(spot, other, thing.clearance + more) for other, more in there):
                continue
            middle = (corner[0] + 2 * spot[0] + spot[2], corner[1] + 2 * spot[1] + spot[3], high + 2 * place.floor)
            put(left[1:], [*there, (spot, thing.clearance)], spots | {(number, middle)})

    put(sorted(things, key=lambda one: one[0] not in matter), [], frozenset())
    return found


def _places(bay: Bay, thing: Thing) -> Iterator[tuple[Spot, int]]:
    """Every place and way to stand of one thing in a bay by itself, and its height there."""
    for l, w, h in sorted(set(permutations((thing.length, thing.width, thing.height)))):  # noqa: E741
        if (thing.upright and h != thing.height) or h + thing.clearance > bay.height:
            continue
        if bay.door_width is not None and bay.door_height is not None and (
            min(l, w) > bay.door_width or h > bay.door_height
        ):
            continue
        air = thing.clearance
        for x, y in product(range(air, bay.length - l - air + 1), range(air, bay.width - w - air + 1)):
            yield (x, y, l, w), h


def _stand(bay: Bay, things: list[Thing]) -> bool:
    if sum(thing.mass + thing.contents for thing in things) > bay.load:
        return False
    if any(not set(thing.tags) & set(bay.tags) for thing in things):
        return False
    return _stand_next(bay, things, [])


def _stand_next(bay: Bay, things: list[Thing], there: list[tuple[Spot, int]]) -> bool:
    if not things:
        return True
    air = things[0].clearance
    for spot, _ in _places(bay, things[0]):
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


def no_wall_stops_what_fits(problem: Problem, every: list[Kit], step: int, outlook: Outlook = NOTHING_KNOWN) -> None:
    """Of every third kit that does not fit, each wall stops it, and none of every ``step``-th kit that fits."""
    places = Places(problem)
    right = {id(kit): fits(problem, kit) for kit in every[::step]}
    for kit in every[::3]:
        if places.passes(kit):
            continue
        walls = places.walls(kit, outlook)
        assert any(not wall.passed_by(kit) for wall in walls)
        for wall in walls:
            for other in every[::step]:
                assert wall.passed_by(other) or not right[id(other)], (kit, other, wall)
