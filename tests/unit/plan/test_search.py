"""The search finds what an exhaustive search finds, the same each time, and stops when it is told to."""

from __future__ import annotations

from itertools import pairwise, product
from typing import TYPE_CHECKING

import numpy as np
import pytest
from plan_cases import COSTS, factorial, plain_builds, score_of, target

from pullbook.plan.moves import changed_order, joined, with_every_build
from pullbook.plan.search import Found, Front, SearchLimits, search_orders, shortest_round

if TYPE_CHECKING:
    from pullbook.plan.costs import Order
    from pullbook.plan.score import Score


def silent(done: int, total: int) -> None:
    assert 0 <= done <= total


def every_order(score: Score, seconds: float, builds: int, fittings: int, pulls: int) -> dict[Order, float]:
    """Score of every order of at most so many fittings and pulls each that fits into the time."""
    found: dict[Order, float] = {}
    for count in range(builds, fittings + 1):
        for cells in product(range(builds), repeat=count):
            if any(one == other for one, other in pairwise(cells)) or len(set(cells)) < builds:
                continue
            for made in product(range(1, pulls + 1), repeat=count):
                order = tuple(zip(cells, made, strict=True))
                if score.times.seconds(order) <= seconds:
                    found[order] = score.worst(order)
    return found


@pytest.mark.parametrize(
    ("builds", "hours", "fittings", "pulls"),
    # Time in minutes: 10 for warm-up, 65 for each change with what is around it, 6 for each pull.
    [(2, 3.5, 3, 6), (2, 5.0, 5, 3), (3, 3.7, 4, 4)],
)
def test_no_order_of_an_exhaustive_search_beats_the_search(
    builds: int, hours: float, fittings: int, pulls: int
) -> None:
    names = plain_builds(builds)
    score = score_of(names, [target(one.name, "A", 1.5) for one in names[1:]])
    every = every_order(score, hours * 3600.0, builds, fittings, pulls)
    assert len(every) > 300
    front = search_orders(score, SearchLimits(seconds=hours * 3600.0, steps=2400), silent)
    assert front.found[-1].worst <= min(every.values()) * (1.0 + 1e-9)


def test_the_same_seed_finds_the_same_orders() -> None:
    builds = factorial(2, 2)
    score = score_of(builds, [target(one.name, "B0", 2.0) for one in builds[1:]])
    limits = SearchLimits(seconds=12 * 3600.0, steps=400)
    once, again = (search_orders(score, limits, silent).found for _ in range(2))
    assert once == again


def test_hard_changes_are_made_seldom() -> None:
    builds = factorial(2, 2)  # the camshaft takes 150 min, the runners 50
    score = score_of(builds, [target(one.name, "B0", 2.0) for one in builds[1:]])
    best = search_orders(score, SearchLimits(seconds=10 * 3600.0, steps=600), silent).found[-1].order
    cam = [builds[build].levels["cam"] for build, _ in best]
    runners = [builds[build].levels["runners"] for build, _ in best]
    changes = [sum(one != other for one, other in pairwise(each)) for each in (cam, runners)]
    assert changes[0] <= 2 <= changes[1]


def test_a_time_in_which_not_even_every_build_can_be_run_gives_nothing() -> None:
    score = score_of(plain_builds(3), [target("B", "A", 1.0)])
    assert search_orders(score, SearchLimits(seconds=3600.0, steps=100), silent).found == []


def test_the_search_ends_when_whoever_watches_ends_it() -> None:
    def stop(done: int, total: int) -> None:
        if done <= total:
            raise KeyboardInterrupt

    score = score_of(plain_builds(2), [target("B", "A", 1.0)])
    with pytest.raises(KeyboardInterrupt):
        search_orders(score, SearchLimits(seconds=8 * 3600.0, steps=100), stop)


def test_a_front_keeps_only_what_pays() -> None:
    front = Front()
    for seconds, worst in ((10.0, 3.0), (20.0, 2.0), (15.0, 4.0), (12.0, 2.5), (20.0, 1.0)):
        front.add(Found(order=((0, int(seconds)),), seconds=seconds, worst=worst))
    assert [(one.seconds, one.worst) for one in front.found] == [(10.0, 3.0), (12.0, 2.5), (20.0, 1.0)]
    within = front.within(15.0)
    assert within is not None
    assert within.seconds == 12.0
    assert front.within(9.0) is None


def test_the_shortest_round_changes_the_hardest_factor_once() -> None:
    builds = factorial(2, 2, 2)
    path = shortest_round(score_of(builds, [target("B1", "B0", 1.0)]).times)
    cams = [builds[build].levels["cam"] for build, _ in path]
    assert len(path) == 8
    assert sum(one != other for one, other in pairwise(cams)) == 1


def test_moves_keep_orders_sound() -> None:
    generator = np.random.default_rng(3)
    order: Order = ((0, 2), (1, 2), (2, 1))
    for _ in range(500):
        moved = changed_order(order, 3, generator)
        assert joined(moved) == moved
        assert all(pulls > 0 for _, pulls in moved)
        order = moved if with_every_build(moved, 3) and len(moved) < 9 else order


def test_an_order_without_a_repeat_answers_nothing() -> None:
    score = score_of(plain_builds(2), [target("B", "A", 1.0)], COSTS)
    assert np.isinf(score.detectable(((0, 1), (1, 1)))).all()
