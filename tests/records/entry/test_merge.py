"""Whatever a spreadsheet saves over a table, every reading of the journals is in it again, and its own rows stay."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.readings.entering import row
from vibcal_nb.records.entry.journals import Wanted
from vibcal_nb.records.entry.keys import key_of
from vibcal_nb.records.entry.merge import keys_in, merge, open_key
from vibcal_nb.records.entry.table_text import COLUMNS, new_table, read_table_text

numbers = st.integers(1, 60).map(lambda n: f"{n / 4:.2f}")
rows = st.lists(st.tuples(numbers, numbers), unique=True, max_size=12).map(
    lambda pairs: [row(level, output) for level, output in pairs]
)


def event(cells, second, *, fills=None):
    return {"do": "enter", "at": f"2026-11-30T08:00:{second:02d}", "row": cells, "fills": fills}


def wanted_of(entered):
    wanted = Wanted()
    for second, cells in enumerate(entered):
        wanted.add(event(cells, second))
    return wanted


def table_with(cells):
    table = new_table()
    for row_cells in cells:
        table = table.with_row(row_cells)
    return table


def as_saved_by_a_spreadsheet(table, separator, comma):
    """Zeros at the end gone, every cell quoted anew, another separator and decimal mark."""
    lines = []
    for number, table_row in enumerate(table.rows):
        cells = list(table_row.cells)
        if number > table.heading:
            for name in ("applied", "output", "frequency_hz"):
                place = table.names.index(name)
                text = f"{float(cells[place]):g}" if cells[place] else ""
                cells[place] = text.replace(".", ",") if comma else text
        lines.append(separator.join(f'"{cell}"' for cell in cells))
    return read_table_text("\r\n".join(lines).encode("cp1252"), columns={}, file="readings.csv")


@given(there=rows, entered=rows, kept=st.integers(0, 12), style=st.sampled_from([(",", False), (";", True)]))
@settings(deadline=None, max_examples=60)
def test_an_older_table_saved_over_a_newer_one_loses_no_reading(there, entered, kept, style):
    wanted = wanted_of(entered)
    full = merge(table_with(there), wanted, known=frozenset()).table
    old = as_saved_by_a_spreadsheet(table_with([*there, *entered][:kept]), *style)
    merged = merge(old, wanted, known=keys_in(full)).table
    assert {key_of(cells) for cells in entered} <= keys_in(merged)
    assert merged.rows[: len(old.rows)][:-1] == old.rows[:-1]
    assert [cells for _, cells in merged.below()][: len(list(old.below()))] == [cells for _, cells in old.below()]
    assert merge(merged, wanted, known=keys_in(merged)).table == merged


@given(there=rows, entered=rows, more=rows)
@settings(deadline=None, max_examples=60)
def test_rows_that_somebody_else_added_stay_where_they_are(there, entered, more):
    table = table_with([*there, *more])
    merged = merge(table, wanted_of(entered), known=keys_in(table_with(there))).table
    assert merged.rows[: len(table.rows)] == table.rows
    assert keys_in(merged) == keys_in(table) | {key_of(cells) for cells in entered}


def test_a_row_edited_in_a_spreadsheet_counts_as_it_is_there():
    cells = row("1.00", "4.00")
    wanted = wanted_of([cells])
    edited = table_with([row("1.00", "4.05")])
    merged = merge(edited, wanted, known={key_of(cells)})
    assert merged.table == edited
    assert merged.edited == ((key_of(cells), key_of(row("1.00", "4.05"))),)


def test_a_row_that_was_there_all_along_is_no_edit_of_a_lost_one():
    older, lost = row("1.00", "4.05"), row("1.00", "4.00")
    merged = merge(table_with([older]), wanted_of([lost]), known={key_of(older), key_of(lost)})
    assert keys_in(merged.table) == {key_of(older), key_of(lost)}


def test_a_planned_row_is_filled_and_filled_again_when_it_was_emptied():
    text = "channel,test,condition,frequency_hz,purpose,planned,applied,applied_unit,output,output_unit\n"
    planned = text + "STG-1-V11,linearity,as-found,50,range,2,,mm/s pk,,mV pk\n"
    table = read_table_text(planned.encode(), columns={}, file="readings.csv")
    fills = list(open_key(table.cells(2)))
    wanted = Wanted()
    wanted.add(event(row("1.99", "7.96"), 1, fills=fills))
    filled = merge(table, wanted, known=frozenset()).table
    assert len(filled.rows) == 2
    assert filled.cells(2)["output"] == "7.96"
    assert filled.cells(2)["purpose"] == "range"
    assert merge(table, wanted, known=keys_in(filled)).table == filled


def test_a_reason_that_an_older_table_lacks_is_put_in_again_and_one_of_another_program_stays():
    cells = row("1.00", "4.00")
    wanted = wanted_of([cells])
    wanted.add(
        {"do": "change", "at": "2026-11-30T09", "key": list(key_of(cells)), "column": "exclude", "was": "", "now": "x"}
    )
    old = table_with([cells])
    assert merge(old, wanted, known=keys_in(old)).table.cells(2)["exclude"] == "x"
    theirs = table_with([{**cells, "exclude": "cable touched"}])
    assert merge(theirs, wanted, known=keys_in(old)).table == theirs


def test_a_line_of_strangers_columns_is_no_reading():
    wanted = Wanted()
    for odd in ({"channel": "X", "evil": "1"}, {"channel": ""}, {"channel": 3}, ["channel"], None):
        wanted.add({"do": "enter", "at": "2026", "row": odd})
    wanted.add({"do": "change", "at": "2026", "key": ["a"], "column": "evil", "was": "", "now": "x"})
    assert not wanted.entered
    assert not wanted.changed


def test_a_new_table_has_the_contracts_columns_and_old_ones_get_those_that_they_lack():
    assert COLUMNS[:4] == ("channel", "test", "condition", "frequency_hz")
    table = read_table_text(b"channel;test;applied\nA;linearity;1,5\n", columns={}, file="readings.csv")
    longer = table.with_row({"channel": "B", "test": "linearity", "applied": "2.5", "note": "a; b"})
    assert longer.data == b'channel;test;applied;note\nA;linearity;1,5\nB;linearity;2,5;"a; b"\n'


def test_a_frequency_goes_into_the_column_that_the_table_has():
    table = read_table_text(b"channel,frequency_rpm\n", columns={}, file="readings.csv")
    longer = table.with_row({"channel": "B", "frequency_hz": "50"})
    assert longer.cells(2)["frequency_rpm"] == "3000"
    assert key_of(longer.cells(2)) == key_of({"channel": "B", "frequency_hz": "50.0"})
