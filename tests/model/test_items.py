"""Exchanges are told from items that stayed, by serial number where there is one."""

from __future__ import annotations

from datetime import date

from vibcal_nb.model.items import Item, exchanges, installed, names_of

DAY = date(2025, 4, 29)


def item(serial, *, part="sensor", **more):
    return Item(part=part, serial=serial, **more)


def exchanged(before, after):
    return [(e.part, e.before, e.after) for e in exchanges(names_of(before), names_of(after))]


def test_another_serial_number_is_an_exchange_named_with_both():
    assert exchanged([item("S-1041")], [item("S-2207", since=DAY)]) == [("sensor", "S-1041", "S-2207")]


def test_the_same_serial_number_is_no_exchange_whatever_else_is_stated():
    assert exchanged([item("S-1", until=date(2024, 1, 1))], [item("S-1", since=date(2024, 2, 1))]) == []


def test_of_a_part_that_only_one_visit_names_nothing_is_claimed():
    assert exchanged([], [item("S-2")]) == []
    assert exchanged([item("S-2")], []) == []


def test_before_the_first_item_that_is_stated_there_was_another():
    (before,) = installed([item("S-2", since=DAY)], day=date(2024, 1, 1), condition="as-left")
    (after,) = installed([item("S-2", since=DAY)], day=date(2026, 1, 1), condition="as-found")
    assert exchanged([before], [after]) == [("sensor", "not stated", "S-2")]


def test_items_without_a_serial_number_are_told_apart_by_what_is_stated():
    old, new = item(None, type="charge"), item(None, type="charge", since=date(2025, 1, 1))
    assert exchanged([old], [new]) == [
        ("sensor", "charge, no serial number stated", "charge, since 2025-01-01, no serial number stated")
    ]


def test_exchanges_stand_in_the_order_of_the_signal():
    before = [item("C-1", part="converter"), item("S-1")]
    after = [item("C-2", part="converter"), item("S-2")]
    assert [part for part, _, _ in exchanged(before, after)] == ["sensor", "converter"]
