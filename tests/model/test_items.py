"""Exchanges are told from items that stayed, by serial number where there is one."""

from __future__ import annotations

from datetime import date

from vibcal_nb.model.items import Item, exchanges


def item(serial, *, part="sensor", **more):
    return Item(part=part, serial=serial, **more)


def test_another_serial_number_is_an_exchange_named_with_both():
    (found,) = exchanges((item("S-1041"),), (item("S-2207", since=date(2025, 4, 29)),))
    assert (found.part, found.before.name, found.after.name) == ("sensor", "S-1041", "S-2207")


def test_the_same_serial_number_is_no_exchange_whatever_else_is_stated():
    assert exchanges((item("S-1", until=date(2024, 1, 1)),), (item("S-1", since=date(2024, 2, 1)),)) == ()


def test_an_item_of_which_nothing_was_known_before_is_an_exchange():
    (found,) = exchanges((), (item("S-2", since=date(2025, 1, 1)),))
    assert found.before is None
    assert exchanges((), ()) == ()


def test_items_without_a_serial_number_are_told_apart_by_what_is_stated():
    old, new = item(None, type="charge"), item(None, type="charge", since=date(2025, 1, 1))
    (found,) = exchanges((old,), (new,))
    assert found.after.name == "charge, since 2025-01-01, no serial number stated"


def test_exchanges_stand_in_the_order_of_the_signal():
    before = (item("C-1", part="converter"), item("S-1"))
    after = (item("C-2", part="converter"), item("S-2"))
    assert [found.part for found in exchanges(before, after)] == ["sensor", "converter"]
