"""The parts that the jobs are made of: queue, news, frames, book, forms of errors."""

from __future__ import annotations

import asyncio
import gc
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullbook.errors import InputError
from pullbook.web.error_form import error_form
from pullbook.web.jobs_book import Book, BusyError
from pullbook.web.jobs_frames import files_of, packed, read_frame, read_frame_blocking
from pullbook.web.jobs_news import News
from pullbook.web.jobs_queue import Part, Queue
from pullbook.web.jobs_records import Job, State, Task
from pullbook.web.jobs_run import Run


def _part(identity: str, session: str = "", *, urgent: bool = True) -> Part:
    return Part(id=identity, job=identity, session=session, kind="read", urgent=urgent, arguments={})


def _taken(queue: Queue, *, slow: bool = True) -> list[str]:
    return [part.id for _ in range(len(queue)) if (part := queue.take(slow=slow))]


def test_urgent_work_goes_first_and_the_rest_in_the_order_in_which_it_came() -> None:
    queue = Queue()
    for part in (_part("draw", urgent=False), _part("read 1"), _part("draw 2", urgent=False), _part("read 2")):
        queue.add(part)
    assert _taken(queue) == ["read 1", "read 2", "draw", "draw 2"]


def test_work_that_is_not_urgent_waits_where_no_worker_may_be_given_to_it() -> None:
    queue = Queue()
    queue.add(_part("draw", urgent=False))
    assert queue.take(slow=False) is None
    assert len(queue) == 1
    queue.add(_part("read"))
    assert _taken(queue, slow=False) == ["read"]


def test_no_session_waits_for_all_the_work_of_another() -> None:
    queue = Queue()
    for number in range(100):
        queue.add(_part(f"heap {number}", "heap"))
    assert [queue.take(slow=True) is not None for _ in range(10)] == [True] * 10
    queue.add(_part("other 1", "other"))
    queue.add(_part("other 2", "other"))
    assert _taken(queue)[:4] == ["other 1", "heap 10", "other 2", "heap 11"]


def test_what_a_worker_had_and_did_not_begin_is_next_again() -> None:
    queue = Queue()
    queue.add(_part("first"))
    queue.add(_part("second"))
    taken = queue.take(slow=True)
    assert taken is not None
    queue.add(taken, first=True)
    assert _taken(queue) == ["first", "second"]


def test_what_nobody_wants_any_more_is_taken_out() -> None:
    queue = Queue()
    for name in ("a", "b", "c"):
        queue.add(_part(name))
    assert [part.id for part in queue.drop(lambda part: part.id == "b")] == ["b"]
    assert _taken(queue) == ["a", "c"]


def test_a_slow_listener_holds_one_state_of_each_job_and_hears_the_latest() -> None:
    async def scene() -> None:
        news = News()
        listener = news.listener("", [Job(id="a", kind="read"), Job(id="b", kind="read")])
        for number in range(1000):
            news.tell(Job(id="a", kind="read", state=State.RUNNING, done=number))
        news.close()
        heard = [(job.id, job.done) async for job in listener]
        assert sorted(heard) == [("a", 999), ("b", 0)]

    asyncio.run(scene())


def test_a_listener_that_nobody_holds_any_more_is_forgotten() -> None:
    async def scene() -> None:
        news = News()
        listener = news.listener("", [])
        assert len(news._listeners) == 1
        del listener
        gc.collect()
        assert len(news._listeners) == 0

    asyncio.run(scene())


@given(
    st.dictionaries(st.text(max_size=8), st.one_of(st.integers(), st.text(max_size=8), st.none())),
    st.one_of(st.none(), st.dictionaries(st.text(max_size=8), st.binary(max_size=50))),
)
def test_a_frame_arrives_as_it_was_sent(head: dict[str, object], files: dict[str, bytes] | None) -> None:
    sent = {**head, "is": "any"}
    sent.pop("files", None)
    data = packed(sent, files) + packed({"is": "next"})
    source = io.BytesIO(data)
    frame = read_frame_blocking(source)
    assert frame is not None
    assert {key: value for key, value in frame[0].items() if key != "files"} == sent
    assert files_of(*frame) == (files or {})
    assert read_frame_blocking(source) == ({"is": "next"}, b"")
    assert read_frame_blocking(source) is None


def test_a_frame_that_is_cut_off_counts_as_the_end_at_every_length() -> None:
    data = packed({"is": "end"}, {"a.txt": b"0123456789"})

    async def hear(piece: bytes) -> object:
        reader = asyncio.StreamReader()
        reader.feed_data(piece)
        reader.feed_eof()
        return await read_frame(reader)

    assert [length for length in range(len(data)) if read_frame_blocking(io.BytesIO(data[:length]))] == []
    assert [length for length in range(len(data)) if asyncio.run(hear(data[:length]))] == []
    assert asyncio.run(hear(data)) == read_frame_blocking(io.BytesIO(data))


def _over(number: int, files: dict[str, bytes] | None = None) -> Run:
    run = Run.of(Task(kind="echo", key=f"{number:064x}"), str(number), "jobs_cases")
    run.files = files
    run.end(State.DONE, doing="", error=None)
    return run


def test_the_book_forgets_the_oldest_jobs_that_are_over_and_none_that_is_not() -> None:
    book = Book()
    waits = Run.of(Task(kind="echo"), "waits", "jobs_cases")
    book.add(waits)
    for number in range(1200):
        book.add(_over(number))
    book.tidy()
    assert book.get("waits") is waits
    assert book.get("0") is None
    assert book.of_key(f"{0:064x}") is None
    assert book.get("1199") is book.of_key(f"{1199:064x}") is not None
    assert len(list(book)) == 1001
    assert book.of_key("") is None


def test_the_book_takes_no_more_waiting_jobs_than_files_of_a_session_and_sessions_of_a_folder() -> None:
    def waiting(number: int, session: str) -> Run:
        return Run.of(Task(kind="echo", session=session), f"{session} {number}", "jobs_cases")

    book = Book()
    for session in ("one", "two", "three", "four"):
        for number in range(2_000):
            book.add(waiting(number, session))
        with pytest.raises(BusyError, match="too much to do"):
            book.add(waiting(2_000, session))
        kept = waiting(2_001, session)
        book.add(kept, waits=False)
        kept.end(State.DONE, doing="", error=None)
    assert book.get("one 2000") is None
    assert book.get("one 2001") is not None
    book["one 7"].end(State.DONE, doing="", error=None)
    book.add(waiting(2_002, "one"))
    with pytest.raises(BusyError):
        book.add(waiting(2_003, "one"))
    for number in range(2_000):
        book.add(waiting(number, f"other {number}"))
    with pytest.raises(BusyError):
        book.add(waiting(0, "last"))


def test_results_that_are_held_in_memory_are_bounded_and_the_newest_stay() -> None:
    book = Book()
    runs = [_over(number, {"a.bin": bytes(20_000_000)}) for number in range(5)]
    for run in runs:
        book.add(run)
    book.tidy()
    assert [run.files is not None for run in runs] == [False, False, True, True, True]
    alone = _over(9, {"a.bin": bytes(100_000_000)})
    book.add(alone)
    book.tidy()
    assert [run.files is not None for run in [*runs, alone]] == [False] * 5 + [True]


def test_errors_have_one_form_whatever_they_are(capsys: pytest.CaptureFixture[str]) -> None:
    ours = InputError("the range is empty", where="window", value="5..4", remedy="write the lower end first")
    assert error_form(ours) == {
        "what": "the range is empty", "where": "window", "value": "5..4", "remedy": "write the lower end first",
    }  # fmt: skip
    assert "memory" in error_form(MemoryError())["what"]
    defect = error_form(KeyError("x"))
    assert defect["what"] == "this is a defect of pullbook (KeyError: 'x'); nothing of yours was changed"
    assert json.loads(json.dumps(defect)) == defect
    assert capsys.readouterr().err == ""


def test_the_trace_of_a_defect_is_printed_for_whoever_asks(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("PULLBOOK_TRACEBACK", "1")
    error_form(KeyError("x"))
    assert "KeyError: 'x'" in capsys.readouterr().err
