"""The search finds what an exhaustive search finds, the same each time, and stops when it is told to."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise, product
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_cases import COSTS, factorial, order_of, plain_builds, score_of, target

from pullbook.plan.front import Found, Front
from pullbook.plan.moves import MOST_PULLS, changed_order, filled, joined, with_every_build
from pullbook.plan.search import OrderSearch, SearchLimits
from pullbook.plan.starts import shortest_round
from pullbook.records.build import Build

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
    front = OrderSearch(score, SearchLimits(seconds=hours * 3600.0, steps=2400), silent).run()
    assert front.found[-1].worst <= min(every.values()) * (1.0 + 1e-9)


def one_change_at_a_time() -> tuple[Build, ...]:
    """Five builds of runners, header and camshaft, each one change from the next."""
    cells = {"A": "000", "B": "010", "C": "011", "D": "001", "E": "101"}
    names = ("cam", "runners", "header")
    return tuple(
        Build(name=name, baseline=name == "A", levels=dict(zip(names, cell, strict=True)))
        for name, cell in cells.items()
    )


@pytest.mark.parametrize("seed", [5, 6, 7])
def test_a_build_is_fitted_again_where_that_costs_the_pulls_of_others(seed: int) -> None:
    # Found by hand: A D E D C B A beats any order of six fittings with more pulls. A search whose steps have to fit
    # into the time one by one stays with those, at a score of 1.23 to 1.40.
    costs = replace(COSTS, warm_up=0.0, cool_down=0.0, change={"cam": 3600.0, "runners": 3000.0, "header": 4500.0})
    targets = [target("B", "A", 2.0, (6300.0, 6500.0)), target("D", "A", 2.0, (5800.0, 6500.0)),
               target("E", "D", 2.0, (2500.0, 3500.0))]  # fmt: skip
    score = score_of(one_change_at_a_time(), targets, costs)
    by_hand = ((0, 1), (3, 1), (4, 3), (3, 2), (2, 1), (1, 5), (0, 5))
    day = 8 * 3600.0
    assert score.times.seconds(by_hand) <= day
    best = OrderSearch(score, SearchLimits(seconds=day, steps=10_000, seed=seed), silent).run().found[-1]
    assert best.worst <= score.worst(by_hand)
    assert len(best.order) == len(by_hand)


def test_what_six_times_as_many_steps_find_for_eight_builds_is_found_but_for_a_twentieth() -> None:
    builds = factorial(2, 2, 2)
    score = score_of(builds, [target(one.name, "B0", 2.5) for one in builds[1:]])
    # The best of four searches of 60,000 steps each; A C D B A E F H G C A by the letters of the builds.
    long = ((0, 1), (2, 1), (3, 1), (1, 1), (0, 3), (4, 2), (5, 3), (7, 4), (6, 3), (2, 1), (0, 3))
    assert score.times.seconds(long) <= 16 * 3600.0
    best = OrderSearch(score, SearchLimits(seconds=16 * 3600.0, steps=10_000), silent).run().found[-1]
    assert best.worst <= 1.05 * score.worst(long)


def test_an_order_is_judged_the_same_alone_and_among_longer_and_shorter_ones() -> None:
    score = score_of(plain_builds(3), [target("B", "A", 1.0), target("C", "A", 1.0, (2500.0, 3500.0))])
    orders = [order_of(text) for text in ("AABC", "ABCABC", "AAABBBCCCAAA", "ABC", "ACACBCACB")]
    together = score.detectable_of(orders)
    assert together[3].tolist() == [np.inf, np.inf]
    for order, sizes in zip(orders, together, strict=True):
        assert score.detectable(order) == pytest.approx(sizes, rel=1e-12)
    assert score.worst_of(orders) == pytest.approx([score.worst(order) for order in orders], rel=1e-12)


@settings(max_examples=60)
@given(st.lists(st.tuples(st.integers(0, 3), st.integers(1, 8)), min_size=1, max_size=9), st.floats(0.3, 20.0))
def test_a_filled_order_keeps_its_fittings_and_leaves_no_room_for_a_pull(
    order: list[tuple[int, int]], hours: float
) -> None:
    times = score_of(plain_builds(4), [target("B", "A", 1.0)]).times
    full = filled(tuple(order), times, hours * 3600.0, np.random.default_rng(1))
    if full is None:
        assert times.seconds(tuple((build, 1) for build, _ in order)) > hours * 3600.0
        return
    assert [build for build, _ in full] == [build for build, _ in order]
    assert all(1 <= pulls <= MOST_PULLS for _, pulls in full)
    left = hours * 3600.0 - times.seconds(full)
    assert left >= -1e-6
    assert left < times.pull + 1e-6 or all(pulls == MOST_PULLS for _, pulls in full)


def test_the_shortest_that_is_enough_is_found_between_the_lengths_that_were_looked_at() -> None:
    builds = plain_builds(2)
    score = score_of(builds, [target("B", "A", 1.0)])
    aim = 1.6
    search = OrderSearch(score, SearchLimits(seconds=40 * 3600.0, steps=6000), silent)
    before = next(one for one in search.run().found if one.worst <= aim)
    found = search.shortest_enough(lambda order: score.worst(order) <= aim)
    assert found is not None
    assert found.worst <= aim
    assert found.seconds < before.seconds
    closely = OrderSearch(score, SearchLimits(seconds=1.02 * found.seconds, steps=20_000), silent).run()
    least = next(one.seconds for one in closely.found if one.worst <= aim)
    assert found.seconds <= 1.1 * least
    assert search.shortest_enough(lambda order: score.worst(order) <= 0.01) is None


def test_the_same_seed_finds_the_same_orders() -> None:
    builds = factorial(2, 2)
    score = score_of(builds, [target(one.name, "B0", 2.0) for one in builds[1:]])
    limits = SearchLimits(seconds=12 * 3600.0, steps=400)
    once, again = (OrderSearch(score, limits, silent).run().found for _ in range(2))
    assert once == again


def test_hard_changes_are_made_seldom() -> None:
    builds = factorial(2, 2)  # the camshaft takes 150 min, the runners 50
    score = score_of(builds, [target(one.name, "B0", 2.0) for one in builds[1:]])
    best = OrderSearch(score, SearchLimits(seconds=10 * 3600.0, steps=600), silent).run().found[-1].order
    cam = [builds[build].levels["cam"] for build, _ in best]
    runners = [builds[build].levels["runners"] for build, _ in best]
    changes = [sum(one != other for one, other in pairwise(each)) for each in (cam, runners)]
    assert changes[0] <= 2 <= changes[1]


def test_a_time_in_which_not_even_every_build_can_be_run_gives_nothing() -> None:
    score = score_of(plain_builds(3), [target("B", "A", 1.0)])
    assert OrderSearch(score, SearchLimits(seconds=3600.0, steps=100), silent).run().found == []


def test_the_search_ends_when_whoever_watches_ends_it() -> None:
    def stop(done: int, total: int) -> None:
        if done <= total:
            raise KeyboardInterrupt

    score = score_of(plain_builds(2), [target("B", "A", 1.0)])
    with pytest.raises(KeyboardInterrupt):
        OrderSearch(score, SearchLimits(seconds=8 * 3600.0, steps=100), stop).run()


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
