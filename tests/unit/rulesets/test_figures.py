"""Figures pass on what was read to compute them; only a recorder takes note."""

from __future__ import annotations

import pytest
from gapwright.rulesets.figures import Figure, Recorder, depend_on


@pytest.fixture
def recorder():
    return Recorder()


def reading(recorder, *keys, value=1):
    """Return a figure that reads some entries."""
    return recorder.figure(lambda: recorder.read(keys) or value)


def test_a_figure_has_the_entries_that_were_read_while_it_was_computed(recorder):
    recorder.read(["before"])
    found = reading(recorder, "a", "b", "a", value=7)
    recorder.read(["after"])
    assert (found.value, found.reads) == (7, ("a", "b"))


def test_a_figure_that_uses_the_value_of_another_takes_over_its_reads(recorder):
    width, margin = reading(recorder, "width"), reading(recorder, "margin")
    unused = reading(recorder, "unused")
    total = recorder.figure(lambda: recorder.read(["own"]) or width.value + margin.value)
    assert total.reads == ("own", "width", "margin")
    assert set(unused.reads).isdisjoint(total.reads)
    assert recorder.figure(lambda: total.value).reads == total.reads


def test_a_figure_computed_inside_another_passes_its_reads_on_only_with_its_value(recorder):
    inner = []
    outer = recorder.figure(lambda: inner.append(reading(recorder, "inside")))
    assert (inner[0].reads, outer.reads) == (("inside",), ())
    used = recorder.figure(lambda: reading(recorder, "inside").value)
    assert used.reads == ("inside",)


def test_a_figure_can_depend_on_another_without_its_value(recorder):
    other = reading(recorder, "other")
    assert recorder.figure(lambda: depend_on(other)).reads == ("other",)


def test_a_computation_that_fails_leaves_the_figure_around_it_right(recorder):
    def failing():
        recorder.read(["lost"])
        raise ValueError

    def outer():
        with pytest.raises(ValueError, match=r"^$"):
            recorder.figure(failing)
        recorder.read(["own"])

    assert recorder.figure(outer).reads == ("own",)


def test_what_is_shown_is_noted_under_the_pointers_around_it(recorder):
    with recorder.under("/layout"):
        recorder.show("/pieces", ["a"])
        with recorder.under("/strips/0"):
            recorder.show("/width", ["b"])
        recorder.show("/pieces", ["c", "a"])
    recorder.show("/verdict", ["d"])
    assert {pointer: list(keys) for pointer, keys in recorder.shown.items()} == {
        "/layout/pieces": ["a", "c"],
        "/layout/strips/0/width": ["b"],
        "/verdict": ["d"],
    }


def test_a_figure_without_a_recorder_is_its_value():
    assert (Figure(5).value, Figure(5).reads) == (5, ())
