"""A kill loses no gesture; and the count would tell if it did."""

from tests.bench.faults_kills import Count, _judge, run


def test_a_few_kills_lose_nothing():
    told = run(kills=2, jobs=1, seed=3)
    assert told["kills"] == 2
    assert told["gestures"] > 0
    assert (told["gestures_lost"], told["unreadable"], told["left_over"], told["failures"]) == (0, 0, 0, [])


def work(*chain, at=None):
    at = len(chain) if at is None else at
    return {"at": at, "chain": ["first", *chain], "document": "first" if not at else chain[at - 1]}


def judged(*lines):
    """Lines of a run that was killed, and of the next."""
    count, before = Count(), None
    for run_of in lines:
        before = _judge(run_of, before, count)
    return count


def session(*gestures):
    lines = [{"back": work()}]
    for gesture in gestures:
        lines += [{"begin": "keep"}, {"done": gesture}]
    return lines


def test_gestures_that_are_missing_are_counted():
    whole = session(work("a"), work("a", "b"), work("a", "b", "c"))
    assert judged(whole, [{"back": work("a", "b", "c")}]).gestures_lost == 0
    assert judged(whole, [{"back": work("a")}]).gestures_lost == 2
    assert judged(whole, [{"back": work()}]).gestures_lost == 3
    assert judged(whole, [{"back": work("x")}]).gestures_lost == 4
    assert judged(whole, [{"back": work("a", "b", "c", at=2)}]).gestures_lost == 4
    assert judged(whole, [], [{"back": work("a", "b")}]).gestures_lost == 1


def test_the_one_in_flight_may_be_there_or_not():
    begun = [*session(work("a"), work("a", "b")), {"begin": "undo"}]
    for back, kept in ((work("a", "b"), 0), (work("a", "b", at=1), 1), (work("a", "b", "c"), 1)):
        count = judged(begun, [{"back": back}])
        assert (count.gestures_lost, count.in_flight_kept) == (0, kept)
        assert count.kills_in_a_gesture == 1
    # One that never began cannot be.
    assert judged(session(work("a")), [{"back": work("a", "b")}]).gestures_lost == 2
