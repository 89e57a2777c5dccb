"""The datasheet taken from pvlib's CEC list against pvlib's own reading of that list."""

import pvlib
import pytest

from viewer.site_data.module_library import module_named

NAMES = [
    "Canadian_Solar_Inc__CS6X_300M",
    "First_Solar__Inc__FS_6420",
    "Jinko_Solar_Co___Ltd_JKM300M_60HB_V",
]


@pytest.fixture(scope="module")
def listed():
    return pvlib.pvsystem.retrieve_sam("CECMod")


@pytest.mark.parametrize("name", NAMES)
def test_values_are_those_of_pvlib(listed, name):
    theirs = listed[name]
    ours = module_named(name).datasheet
    assert ours.i_sc == theirs.I_sc_ref
    assert ours.v_oc == theirs.V_oc_ref
    assert ours.p_mp == pytest.approx(theirs.STC, rel=1e-6)
    assert ours.alpha_sc / 100 * ours.i_sc == pytest.approx(theirs.alpha_sc)
    assert ours.beta_voc / 100 * ours.v_oc == pytest.approx(theirs.beta_oc)
    assert ours.gamma_pmp == theirs.gamma_r
    assert ours.cells_in_series * ours.parallel_paths == theirs.N_s
