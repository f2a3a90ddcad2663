"""Whatever lies among the kept texts, the rule of docs/session-file.md holds after every new one."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from pullbook.app.kept_texts import KeptText, over_of_history, over_of_kept

DAY = 86_400
MOST = 20_000_000

TEXTS = st.lists(
    st.tuples(
        st.sampled_from(["session", "engine", "engines-b"]),
        st.one_of(st.integers(0, 120 * DAY), st.integers(119 * DAY, 121 * DAY), st.sampled_from([0, DAY, 30 * DAY])),
        st.one_of(st.integers(0, 10_000), st.integers(0, 15_000_000)),
    ),
    min_size=1,
    max_size=60,
)


def texts_of(drawn: list[tuple[str, int, int]]) -> list[KeptText]:
    return [
        KeptText(name=f"{n}", of=of, written=float(when), size=size, number=n if of == "session" else 0)
        for n, (of, when, size) in enumerate(drawn)
    ]


@given(TEXTS)
def test_what_stays_is_bounded_and_no_file_loses_its_last_text(drawn: list[tuple[str, int, int]]) -> None:
    texts = texts_of(drawn)
    new = texts[-1]
    over = over_of_kept(texts, new)
    staying = [text for text in texts if text not in over]
    assert new in staying
    last: dict[str, KeptText] = {}
    for text in sorted(texts, key=lambda text: (text == new, text.written, text.number, text.name)):
        last[text.of] = text
    assert set(last.values()) <= set(staying)
    beside = [text for text in staying if text not in last.values()]
    lasting = sum(text.size for text in last.values())
    assert not beside or lasting + sum(text.size for text in beside) <= MOST
    assert all(new.written - text.written <= 90 * DAY for text in beside)
    days = [(text.of, text.written // DAY) for text in staying if new.written - text.written > DAY]
    assert len(days) == len(set(days)), "one of a file and an earlier day"
    if sum(text.size for text in texts) <= MOST:
        assert all(new.written - text.written > DAY for text in over), "all of the last 24 hours stay"
        for text in over:
            same_day = (text.of, text.written // DAY)
            assert new.written - text.written > 90 * DAY or any(
                (one.of, one.written // DAY) == same_day and one.written >= text.written for one in staying
            ), "a later one of the same day stays for it"
    assert over_of_kept(staying, new) == (), "what stays is not thinned out further by itself"


@given(TEXTS)
def test_of_former_texts_no_later_one_goes_before_an_earlier(drawn: list[tuple[str, int, int]]) -> None:
    texts = [text for text in texts_of(drawn) if text.of == "session"]
    if not texts:
        return
    over = over_of_history(texts, texts[-1])
    staying = [text for text in texts if text not in over]
    assert staying == texts[len(over) :]
    assert texts[-1] in staying
    assert len(staying) <= 100
    assert len(staying) == 1 or sum(text.size for text in staying) <= MOST
    if over and len(staying) < 100:
        assert sum(text.size for text in [over[0], *staying]) > MOST, "no more go than have to"
