from __future__ import annotations

from pullbook.web.attempts import Attempts


class Clock:
    """Seconds as the test says them."""

    def __init__(self) -> None:
        self.now = 1_000.0

    def __call__(self) -> float:
        return self.now


def attempts_of(clock: Clock, **bounds: int) -> Attempts:
    return Attempts(clock=clock, **bounds)


def test_an_address_waits_until_its_first_attempt_is_a_minute_old() -> None:
    clock = Clock()
    attempts = attempts_of(clock, of_one=3)
    for _ in range(3):
        assert attempts.wait("192.0.2.1") == 0
        attempts.count("192.0.2.1")
        clock.now += 10.0
    assert attempts.wait("192.0.2.1") == 30
    clock.now += 29.9
    assert attempts.wait("192.0.2.1") == 1
    clock.now += 0.2
    assert attempts.wait("192.0.2.1") == 0


def test_addresses_of_one_net_of_the_new_kind_are_one_and_of_the_old_kind_are_not() -> None:
    attempts = attempts_of(Clock(), of_one=1)
    attempts.count("2001:db8:1:2::1")
    attempts.count("192.0.2.1")
    assert attempts.wait("2001:db8:1:2:ffff::9") == 60
    assert attempts.wait("2001:db8:1:3::1") == 0
    assert attempts.wait("::ffff:192.0.2.1") == 60
    assert attempts.wait("192.0.2.2") == 0


def test_all_addresses_together_have_a_bound_that_a_known_one_does_not_share() -> None:
    attempts = attempts_of(Clock(), of_all=3)
    attempts.count("192.0.2.1")
    attempts.let_in("192.0.2.1")
    for number in range(3):
        attempts.count(f"198.51.100.{number}")
    assert attempts.wait("203.0.113.1") == 60
    assert attempts.wait("192.0.2.1") == 0


def test_who_knew_the_password_has_made_no_attempt() -> None:
    attempts = attempts_of(Clock(), of_one=2, of_all=2)
    attempts.count("192.0.2.1")
    attempts.let_in("192.0.2.1")
    attempts.count("192.0.2.1")
    assert attempts.wait("192.0.2.1") == 0
    assert attempts.wait("203.0.113.1") == 0


def test_a_million_addresses_take_no_more_memory_than_a_few_thousand() -> None:
    attempts = attempts_of(Clock())
    for number in range(20_000):
        attempts.count(f"10.{number // 65536}.{number // 256 % 256}.{number % 256}")
        attempts.let_in(f"11.{number // 65536}.{number // 256 % 256}.{number % 256}")
    assert len(attempts._by_site) <= 4_096
    assert len(attempts._let_in) <= 4_096
    assert len(attempts._all) <= 30
