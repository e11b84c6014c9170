from __future__ import annotations

from service.kept import Kept


def counting():
    calls = []

    def make(*arguments):
        calls.append(arguments)
        return object()

    return Kept(make, most=3), calls


def test_the_same_objects_get_the_same_result_made_once():
    kept, calls = counting()
    first, second = (1, 2), (3, 4)
    assert kept(first, second) is kept(first, second)
    assert len(calls) == 1


def test_equal_objects_are_not_the_same_and_neither_are_others_in_another_order():
    kept, calls = counting()
    first = (1, 2)
    equal = (first[0], 2)
    kept(first, equal)
    kept(equal, first)
    kept(first)
    assert len(calls) == 3


def test_an_object_that_is_gone_is_never_taken_for_a_new_one():
    kept = Kept(lambda told: list(told), most=10_000)
    for number in range(5_000):  # the places of tuples that are let go are used again at once
        assert kept((number, number)) == [number, number]


def test_no_more_than_so_many_results_are_kept():
    kept, calls = counting()
    things = [(number,) for number in range(5)]
    for _ in range(2):
        for thing in things[:3]:
            kept(thing)
    assert len(calls) == 3
    for thing in things:
        kept(thing)
    assert len(kept._results) <= 3
