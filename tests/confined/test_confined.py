"""Every law of this folder, where memory and time are short."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.confined import MB, confined, copies, exports, tables, toml

LAWS = [
    toml.each_is_read_or_set_aside,
    toml.own_asks_too,
    toml.a_whole_folder_of_them,
    tables.patterns_are_linear,
    tables.no_cell_begins_a_formula_and_all_comes_back,
    tables.every_column_takes_any_cell,
    tables.any_table,
    tables.a_full_table_against_a_full_book,
    tables.a_heading_row_without_end,
    tables.nothing_in_the_columns_reads_a_cell_unseen,
    copies.any_bytes,
    copies.any_rows_and_any_schema,
    copies.longer_than_what_is_read_at_once,
    copies.more_photos_than_the_memory_holds,
    exports.any_part_of_any_value,
    exports.longer_than_the_memory,
]


@pytest.mark.parametrize("law", LAWS, ids=lambda law: law.__name__)
def test_a_stranger_costs_nobody_else(law: Callable[[], None]) -> None:
    confined(law, memory=700 * MB)
