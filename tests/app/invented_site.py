"""Writes a small invented site whose current falls by a known rate, as a visit folder."""

from pathlib import Path

import numpy as np

from viewer.physics.datasheet.datasheet_fit import fit_module
from viewer.physics.single_diode import curve

SITE = """
name = "Invented field"
[module.A]
technology = "mono-Si"
i_sc = 9.5
v_oc = 45.5
i_mp = 9.0
v_mp = 37.5
alpha_sc = 0.05
beta_voc = -0.29
gamma_pmp = -0.37
cells_in_series = 72
{warranty}
"""
WARRANTY = "[module.A.warranty]\nfirst_year = 2.0\nannual = 0.5\nstart = 2020-06-01\n"
YEARS = (2020, 2022, 2025)


def write_site(
    folder: Path,
    rate: float = 0.008,
    strings: int = 6,
    years: tuple[int, ...] = YEARS,
    warranty: str = WARRANTY,
    fallen: float = 0.0,
) -> Path:
    """Two combiners of `strings` each; the first string has lost a further share `fallen`."""
    text = SITE.format(warranty=warranty)
    for box in ("CB1", "CB2"):
        text += f'[[combiner]]\nname = "{box}"\n'
        for number in range(1, strings + 1):
            text += (
                f'[[combiner.string]]\nname = "S{number}"\nmodule = "A"\nmodules_in_series = 20\n'
            )
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "site.toml").write_text(text, encoding="utf-8")
    for year in years:
        for box in ("CB1", "CB2"):
            for number in range(1, strings + 1):
                share = 1 - rate * (year - years[0])
                if (box, number) == ("CB1", 1) and year == years[-1]:
                    share -= fallen
                _write_trace(folder, year, box, number, share)
    return folder


def _write_trace(folder: Path, year: int, box: str, number: int, share: float) -> None:
    fit = fit_module(9.5, 45.5, 9.0, 37.5, 0.05e-2 * 9.5, -0.29e-2 * 45.5, -0.37e-2, 72, "mono-Si")
    irradiance, cell = 850.0 + 5 * (number % 20), 45.0 + number % 20 / 2
    voltage, current = curve(fit.model.operating(irradiance, cell).in_series(20), 120)
    points = zip(np.ravel(voltage), np.ravel(current) * share, strict=True)
    lines = [
        f"# combiner: {box}",
        f"# string: S{number}",
        f"# measured_at: {year}-06-01T{9 + number // 60:02}:{number % 60:02}:00+00:00",
        f"# poa_global: {irradiance}",
        f"# poa_global_end: {irradiance}",
        f"# temperature_cell: {cell}",
        "# note: invented",
        "voltage,current",
        *(f"{v:.4f},{i:.5f}" for v, i in points),
    ]
    path = folder / str(year) / box / f"S{number}.csv"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
