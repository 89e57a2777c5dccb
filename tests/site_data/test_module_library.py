"""Look-up and search in pvlib's CEC list."""

import pytest

from viewer.site_data.module_library import (
    UnknownModuleError,
    all_modules,
    module_count,
    module_named,
    search_modules,
    series_cells,
)


def test_both_spellings_find_the_module():
    listed = module_named("Canadian Solar Inc. CS6X-300M").datasheet
    assert module_named("Canadian_Solar_Inc__CS6X_300M").datasheet == listed
    assert module_named("canadian solar inc. cs6x-300m").datasheet == listed


def test_names_that_differ_in_a_mark_only_stay_apart():
    plus = module_named("Suntech Power STP185S-24/Adb+").datasheet
    assert plus.key != module_named("Suntech Power STP185S-24/Adb").datasheet.key


def test_search_takes_words_in_any_order():
    found = search_modules("300m cs6x")
    assert "Canadian Solar Inc. CS6X-300M" in found
    assert len(search_modules("solar", limit=7)) == 7
    assert search_modules("no such thing") == ()


def test_an_unknown_name_suggests_near_ones():
    with pytest.raises(UnknownModuleError, match="near it are 'Canadian Solar Inc"):
        module_named("Canadian Solr Inc. CS6X-300M")
    with pytest.raises(UnknownModuleError, match="search it by a part"):
        module_named("")


@pytest.mark.parametrize(
    ("technology", "count", "v_oc", "expected"),
    [
        ("mono-Si", 60, 38.6, (60, 1)),
        ("mono-Si", 120, 38.6, (60, 2)),  # half-cut
        ("mono-Si", 144, 47.5, (72, 2)),
        ("mono-Si", 340, 44.0, (68, 5)),  # shingled
        ("thin-film", 216, 86.0, (108, 2)),  # two halves in parallel
        ("mono-Si", 123, 53.4, (123, 1)),  # no credible division: left as listed
        ("CdTe", 264, 214.3, (264, 1)),
    ],
)
def test_cells_along_one_path(technology, count, v_oc, expected):
    assert series_cells(technology, count, v_oc) == expected


def test_all_modules_are_offered():
    modules = all_modules()
    assert len(modules) == module_count() >= 21_000
    for module in modules:
        sheet = module.datasheet
        count = sheet.cells_in_series * sheet.parallel_paths
        if sheet.parallel_paths > 1:
            assert f"The list gives {count} cells" in module.remarks[0]
