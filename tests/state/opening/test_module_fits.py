from dataclasses import fields, replace

import pytest

from tests.invented_results import MODULE, invented_layout
from viewer.analysis.prediction.site_models import site_models
from viewer.state.opening import module_fits
from viewer.state.opening.module_fits import ModuleFits

OTHER = replace(MODULE, i_sc=10.0, i_mp=9.4)


@pytest.fixture
def fitted(monkeypatch):
    """The datasheets that were fitted, in turn."""
    asked = []
    known = module_fits.fit_datasheet

    def fit(datasheet):
        asked.append(datasheet)
        return known(datasheet)

    monkeypatch.setattr(module_fits, "fit_datasheet", fit)
    return asked


def test_only_the_type_asked_for_is_fitted_and_as_among_all(fitted):
    layout = replace(invented_layout(), modules={"INV": MODULE, "OTHER": OTHER})
    fits = ModuleFits()
    alone, among = fits.of(layout, "OTHER").model, site_models(layout.modules).models["OTHER"]
    numbers = [one.name for one in fields(alone) if isinstance(getattr(alone, one.name), float)]
    assert len(numbers) > 5
    for name in numbers:
        assert getattr(alone, name) == pytest.approx(getattr(among, name), rel=1e-9), name
    assert fits.of(layout, "not there") is None
    assert fitted == [OTHER]


def test_a_fit_is_kept_until_the_datasheet_says_otherwise(fitted):
    fits = ModuleFits()
    first = fits.of(invented_layout(), "INV")
    assert fits.of(invented_layout(), "INV") is first
    changed = fits.of(replace(invented_layout(), modules={"INV": OTHER}), "INV")
    assert changed.model != first.model
    assert fitted == [MODULE, OTHER]
