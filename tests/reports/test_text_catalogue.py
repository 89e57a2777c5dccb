"""Every text that a document asks for is in the catalogue, in every language alike."""

import ast
import string
from pathlib import Path

import pytest

import viewer
from viewer.site_data.resource_folder import resource_folder
from viewer.site_data.text_catalogue import texts

FOLDER = resource_folder() / "texts"
LANGUAGES = sorted(path.stem for path in FOLDER.glob("*.toml"))


def keys(table: dict, before: tuple[str, ...] = ()) -> dict[tuple[str, ...], object]:
    found: dict[tuple[str, ...], object] = {}
    for key, value in table.items():
        place = (*before, key)
        found |= keys(value, place) if isinstance(value, dict) else {place: value}
    return found


@pytest.mark.parametrize("path", sorted(Path(viewer.__file__).parent.glob("reports/document/*.py")))
def test_every_key_that_a_document_asks_for_is_there(path):
    known = {part for place in keys(texts("en")) for part in place}
    tree = ast.parse(path.read_text(encoding="utf-8"))
    used = {
        node.slice.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Subscript)
        and isinstance(node.slice, ast.Constant)
        and isinstance(node.slice.value, str)
        and isinstance(node.value, ast.Name | ast.Subscript | ast.Call)
        and ast.unparse(node.value).startswith(("words", "said", "texts("))
    }
    assert used <= known


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_translation_has_the_same_keys_and_the_same_places_for_numbers(language):
    english, other = keys(texts("en")), keys(texts(language))
    assert set(other) == set(english)
    for place, said in english.items():
        assert isinstance(other[place], type(said))
        if isinstance(said, str):
            assert fields(other[place]) == fields(said)


def fields(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


def test_no_text_is_empty_and_none_promises_too_much():
    for place, said in keys(texts("en")).items():
        for one in said if isinstance(said, list) else [said]:
            assert one.strip(), place
            assert "safe" not in one.lower().split()


def test_an_unknown_language_is_refused_with_those_that_are_there():
    with pytest.raises(ValueError, match=r"no texts in language 'xx': there is .*en"):
        texts("xx")


def test_no_heading_of_a_document_stands_in_the_code():
    """Columns take their heading from the catalogue or the nomenclature, never from a literal."""
    for path in sorted(Path(viewer.__file__).parent.glob("reports/document/*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and ast.unparse(node.func) == "Column":
                heading = node.args[0]
                assert not isinstance(heading, ast.Constant), (path.name, heading.lineno)


def test_no_column_heading_is_kept_for_nothing():
    code = "".join(
        one.read_text(encoding="utf-8") for one in Path(viewer.__file__).parent.rglob("*.py")
    )
    unused = [key for key in texts("en")["columns"] if f'"{key}"' not in code]
    assert unused == ["point_measured", "point_predicted", "point_translated"]
