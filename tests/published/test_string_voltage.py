"""String voltages and currents of worked examples from the literature.

Twelve modules of Voc 38.30 V and -0.36 %/°C at a lowest temperature of -7 °C:
38.30 V x (1 + 32 x 0.0036) x 12 = 513 V by the coefficient and 38.30 V x 1.14 x 12 = 524 V by
NEC Table 690.7(A). M. Holt, Illustrated Guide to NEC Requirements for Solar Photovoltaic
Systems, examples to 690.7, from memory; recomputed by hand above.

Current: NEC 690.8(A)(1) takes 125 % of the sum of the modules' Isc, from memory.
"""

import pytest

from viewer.analysis.before_visit.electrical_limits import CombinerLimits, electrical_limits
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.site_layout import Combiner, SiteLayout, StringLayout


def _combiner(strings: int) -> CombinerLimits:
    module = Datasheet("M", "multi-Si", 8.9, 38.30, 8.3, 30.7, 0.05, -0.36, -0.45, 60)
    named = tuple(StringLayout(f"S{k}", "M", 12) for k in range(strings))
    layout = SiteLayout("worked example", {"M": module}, (Combiner("C", named),))
    (combiner,) = electrical_limits(layout, temperature_min=-7.0)
    return combiner


def test_voltage_by_coefficient() -> None:
    assert round(_combiner(1).strings[0].v_oc_max) == 513


def test_voltage_by_table() -> None:
    by_table = _combiner(1).strings[0].v_oc_max_nec
    assert by_table is not None
    assert round(by_table) == 524


def test_current_of_three_strings() -> None:
    assert _combiner(3).i_sc_sum == pytest.approx(3 * 8.9 * 1.25)
