"""The keys of [table]: how a reading table that is laid out otherwise is to be understood."""

from __future__ import annotations

from vibcal_nb.model.keys.key import Key, KeyTable
from vibcal_nb.model.layout import DAY_FORMS

WIDE = KeyTable(
    heading="[table.wide]",
    says="Columns whose headings are values themselves: levels, frequencies, or channels, side by side.",
    keys=(
        Key(
            name="column",
            type="text",
            says="The column of the reading table that the headings are values of.",
            required=True,
            example='"applied"',
        ),
        Key(
            name="values",
            type="column by heading",
            says="By heading, the value that it stands for.",
            required=True,
            example='{ "2 mm/s" = "2.0", "5 mm/s" = "5.0" }',
        ),
        Key(
            name="cells",
            type="text",
            says="The column of the reading table that the cells below are.",
            default="output",
            example='"output"',
        ),
    ),
)

WORDS = KeyTable(
    heading="[table.values] COLUMN = { ... }", says="By word in the table, the word that is meant.", keys=()
)

_OF_A_PART = (
    Key(
        name="headings_row",
        type="whole number",
        says="The row of the headings.",
        least=1,
        most=200_000,
        default=1,
        example="6",
    ),
    Key(
        name="headings_above",
        type="whole number",
        says="A row above it whose headings span several columns: each is put before those below, as in 'V11 / mV'.",
        least=1,
        most=200_000,
        example="5",
    ),
    Key(
        name="units_row",
        type="whole number",
        says="The row of the units.",
        least=1,
        most=200_000,
        example="7",
    ),
    Key(
        name="first_row",
        type="whole number",
        says="The first row of readings; left out, the one below headings and units.",
        least=1,
        most=200_000,
        example="8",
    ),
    Key(
        name="last_row",
        type="whole number",
        says="The last row of readings; left out, the last of the sheet.",
        least=1,
        most=200_000,
        example="21",
    ),
    Key(
        name="columns",
        type="column by heading",
        says="By heading, or by '@' and a column's letter, the column of the reading table.",
        example='{ "Level" = "applied", "@D" = "output" }',
    ),
    Key(
        name="constants",
        type="column by heading",
        says="By column of the reading table, what holds in every row; '{sheet}' and '{file}' stand for their names.",
        example='{ test = "linearity", channel = "{sheet}", applied_unit = "mm/s pk" }',
    ),
    Key(
        name="cells",
        type="column by heading",
        says="By column of the reading table, the cell that holds what is the same in every row.",
        example='{ condition = "B3" }',
    ),
    Key(
        name="fill_down",
        type="list of texts",
        of="columns of the reading table",
        says="Columns in which an empty cell means what stands above it.",
        example='["frequency_hz"]',
    ),
    Key(
        name="values",
        type="tables by name",
        says="By column of the reading table, words and what they mean.",
        table=WORDS,
        named="COLUMN",
    ),
    Key(
        name="ignore",
        type="column by heading",
        says="By heading, why a column is left out.",
        example='{ "Remark of the foreman" = "no reading" }',
    ),
    Key(
        name="stated",
        type="column by heading",
        says="By heading, what the table has worked out already, to be compared: deviation_pct or sensitivity.",
        example='{ "Dev. %" = "deviation_pct" }',
    ),
    Key(name="wide", type="table", says="Columns whose headings are values.", table=WIDE),
)

PART = KeyTable(
    heading="[[table.part]]",
    says="One of several tables of a sheet; what it does not state holds as [table] states it.",
    keys=_OF_A_PART,
)

TABLE = KeyTable(
    heading="[table]",
    says="How a reading table that is laid out otherwise is to be understood; alone in a file, for many tables.",
    keys=(
        Key(
            name="sheets",
            type="list of texts",
            of="names of sheets",
            says="The sheets that hold readings; left out, the first; '*' for all.",
            example='["*"]',
        ),
        Key(
            name="decimal",
            type="choice",
            says="The decimal mark of numbers that stand as text; left out, as the file tells.",
            choices=(".", ","),
            example='","',
        ),
        Key(
            name="encoding",
            type="text",
            says="The encoding of a text file; left out, UTF-8 where that fits, else Windows-1252.",
            example='"windows-1252"',
        ),
        Key(
            name="separator",
            type="choice",
            says="What separates the cells of a text file; left out, the one that fits most lines.",
            choices=(";", ",", "\t"),
            example='";"',
        ),
        Key(
            name="day_cell",
            type="text",
            says="The cell that holds the day of the visit, to be held against visit.toml.",
            example='"B2"',
        ),
        Key(
            name="day_form",
            type="choice",
            says="How that day is written where it stands as text.",
            choices=DAY_FORMS,
            example='"day-month-year"',
        ),
        *_OF_A_PART,
        Key(
            name="part",
            type="list of tables",
            says="Several tables of one sheet, each with its own headings.",
            table=PART,
        ),
    ),
)

LAYOUT_FILE = KeyTable(
    heading="a layout file",
    says="The layout of many tables of one form.",
    keys=(Key(name="table", type="table", says="The layout.", required=True, table=TABLE),),
)
