"""What people enter for a report: read whole, or refused with the key that is wrong."""

from pathlib import Path

import pytest

from viewer.site_data.report_details_file import DetailsError, EnteredRepair, read_details


def read(folder: Path, text: str):
    path = folder / "details.toml"
    path.write_text(text, encoding="utf-8")
    return read_details(path)


def test_everything_entered_is_read(tmp_path):
    (tmp_path / "logo.png").write_bytes(b"x")
    entered = read(
        tmp_path,
        'client = "Ä & B"\nlogo = "logo.png"\ndecimal_comma = true\n'
        'instruments = ["one", "two"]\n[texts]\n"a.csv" = "said"\n'
        '[[repair]]\ncombiner = "C"\nstring = "S"\ndone_on = "2025-01-01"\naction = "mended"\n',
    )
    assert entered.values == {
        "client": "Ä & B",
        "logo": tmp_path / "logo.png",
        "decimal_comma": True,
        "instruments": ("one", "two"),
        "texts": {"a.csv": "said"},
    }
    assert entered.repairs == (EnteredRepair("C", "S", "2025-01-01", "mended"),)


def test_a_byte_order_mark_does_no_harm(tmp_path):
    assert read(tmp_path, '\ufeffclient = "A"').values == {"client": "A"}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("client = ", "is not valid TOML"),
        ('cleint = "x"', "there is no key cleint; the keys are title, client"),
        ("client = 5", "client must be text, not 5"),
        ("plots = 'yes'", "plots must be true or false"),
        ("instruments = 'one'", "instruments must be a list of texts"),
        ("instruments = [1]", "instruments must be a list of texts"),
        ("[texts]\na = 1", "texts must be a table of texts"),
        ("logo = 'gone.png'", "there is no logo at"),
        ("repair = 'x'", r"repair must be written \[\[repair\]\]"),
        ("repair = ['x']", "repair 1: it must be a table of texts"),
        ("[[repair]]\ncombiner = 'C'", "repair 1: string is missing"),
        (
            "[[repair]]\ncombiner='C'\nstring='S'\ndone_on='d'\naction='a'\nwho='x'",
            "repair 1: there is no key who",
        ),
        ("[[repair]]\ncombiner = 2025-01-01", "must be a table of texts"),
    ],
)
def test_what_is_wrong_is_one_sentence_that_names_it(tmp_path, text, words):
    with pytest.raises(DetailsError, match=words) as caught:
        read(tmp_path, text)
    assert "details.toml" in str(caught.value)


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(DetailsError, match=r"gone\.toml cannot be read"):
        read_details(tmp_path / "gone.toml")
