"""Module types drawn from pvlib's CEC list, and what their datasheets say.

Only types are kept whose stored parameters give back the list's own key points, since others
would be at odds with their datasheet before any fault is put in.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pvlib

from tests.uneven_strings.cells import BOLTZMANN_OVER_CHARGE, parameters_at

BYPASS_DIODES = 3
WORDS = ("Technology", "BIPV", "Version", "Date")
# The list knows neither n-type nor heterojunction cells; the names of these makers' types do.
N_TYPE_NAMES = "LG_Elec.*N[12]|LG_Elec.*Q1|REC_Solar_REC.*TP2|SunPower"
HETEROJUNCTION_NAMES = "Panasonic|PANASONIC"
NOT_P_TYPE_NAMES = "LG_|PANASONIC|Panasonic|SunPower|Sanyo|SANYO|HJT|TP2"
LIST_TECHNOLOGY = {"mono-Si": "Mono-c-Si", "multi-Si": "Multi-c-Si"}
HALF_CUT_FROM = {60: 300.0, 72: 370.0}
"""Rated power [W] above which a type is taken as half-cut, by cells in series; judgement."""
LARGEST_KEY_POINT_ERROR = 0.0025


@dataclass(frozen=True)
class Kind:
    """What to draw: technology, cells in series, half-cut or not, and how many types."""

    technology: str
    cells_in_series: int
    half_cut: bool
    count: int


USUAL_KINDS = (
    Kind("mono-Si", 60, False, 4),
    Kind("mono-Si", 72, False, 3),
    Kind("mono-Si", 60, True, 5),
    Kind("mono-Si", 72, True, 5),
    Kind("multi-Si", 60, False, 4),
    Kind("multi-Si", 72, False, 4),
    Kind("mono-Si", 96, False, 1),
)
VARIED_KINDS = (
    *USUAL_KINDS,
    Kind("n-type-Si", 60, False, 2),
    Kind("n-type-Si", 72, False, 2),
    Kind("n-type-Si", 60, True, 2),
    Kind("HIT", 96, False, 2),
    Kind("HIT", 72, False, 2),
)


@dataclass(frozen=True)
class ModuleType:
    """One type; `row` is its line of the CEC list with numbers as numbers."""

    key: str
    technology: str
    half_cut: bool
    row: pd.Series

    @property
    def cells_in_series(self) -> int:
        return int(self.row["N_s"])

    @property
    def paths(self) -> int:
        return 2 if self.half_cut else 1

    @property
    def load_resistance(self) -> float:
        """V_mp / I_mp at STC [ohm]."""
        return self.row["V_mp_ref"] / self.row["I_mp_ref"]


def choose_types(
    kinds: tuple[Kind, ...], printed: bool, rng: np.random.Generator
) -> list[ModuleType]:
    """Types of each kind at random; `printed` keeps those whose printed coefficients are true."""
    table = cec_list()
    chosen = []
    for kind in kinds:
        names = list(of_kind(table, kind).index)
        rng.shuffle(names)
        top = 1.38 if kind.technology == "multi-Si" else 1.25
        usable = (name for name in names if is_usable(table.loc[name], (0.92, top), printed))
        for number, name in zip(range(kind.count), usable, strict=False):
            half = "H" if kind.half_cut else ""
            key = f"{kind.technology}-{kind.cells_in_series}{half}-{number}"
            chosen.append(ModuleType(key, kind.technology, kind.half_cut, table.loc[name]))
    return chosen


def cec_list() -> pd.DataFrame:
    table = pvlib.pvsystem.retrieve_sam("CECMod").T
    for column in table.columns.difference(WORDS):
        table[column] = pd.to_numeric(table[column], errors="coerce")
    return table


def of_kind(table: pd.DataFrame, kind: Kind) -> pd.DataFrame:
    names, cells = table.index.str, table["N_s"] == kind.cells_in_series
    if kind.technology == "HIT":
        return table[names.contains(HETEROJUNCTION_NAMES) & cells]
    if kind.technology == "n-type-Si":
        return table[names.contains(N_TYPE_NAMES) & cells]
    keep = (table["Technology"] == LIST_TECHNOLOGY[kind.technology]) & cells
    keep &= ~names.contains(NOT_P_TYPE_NAMES)
    if kind.half_cut:
        keep &= table["STC"] > HALF_CUT_FROM[kind.cells_in_series]
    return table[keep]


def is_usable(row: pd.Series, diode_factor: tuple[float, float], printed: bool) -> bool:
    """Whether the parameters are physical and agree with the list's own key points."""
    factor = row["a_ref"] / row["N_s"] / (BOLTZMANN_OVER_CHARGE * 298.15)
    if not diode_factor[0] < factor < diode_factor[1]:
        return False
    if not row["V_oc_ref"] / row["N_s"] < 0.78 or row["R_sh_ref"] < 60:
        return False
    # The stored reference parameters as they are, without the model of conditions.
    stored = ("I_L_ref", "I_o_ref", "R_s", "R_sh_ref", "a_ref")
    cold = pvlib.pvsystem.singlediode(*(row[name] for name in stored))
    wanted = {"i_sc": "I_sc_ref", "v_oc": "V_oc_ref", "i_mp": "I_mp_ref", "v_mp": "V_mp_ref"}
    if max(abs(cold[a] / row[b] - 1) for a, b in wanted.items()) > LARGEST_KEY_POINT_ERROR:
        return False
    warm = key_points(row, 50.0)
    gamma = (warm["p_mp"] / cold["p_mp"] - 1) / 25 * 100
    beta = (warm["v_oc"] / cold["v_oc"] - 1) / 25
    if printed and (
        not abs(gamma - row["gamma_r"]) < 0.03
        or not abs(beta - row["beta_oc"] / row["V_oc_ref"]) < 0.0004
    ):
        return False
    alpha = row["alpha_sc"] / row["I_sc_ref"]
    return bool(-0.5 < gamma < -0.24 and -0.0039 < beta < -0.0022 and 0 < alpha < 0.0011)


def key_points(row: pd.Series, temperature: float) -> dict[str, float]:
    """pvlib's key points of the type at 1000 W/m² and that cell temperature [°C]."""
    return pvlib.pvsystem.singlediode(*parameters_at(row, 1000.0, temperature))


def datasheet(row: pd.Series, printed: bool) -> dict[str, float]:
    """Key points and coefficients [%/K]: as the list prints them, or as the model behaves."""
    if printed:
        return {
            "i_sc": row["I_sc_ref"],
            "v_oc": row["V_oc_ref"],
            "i_mp": row["I_mp_ref"],
            "v_mp": row["V_mp_ref"],
            "alpha_sc": row["alpha_sc"] / row["I_sc_ref"] * 100,
            "beta_voc": row["beta_oc"] / row["V_oc_ref"] * 100,
            "gamma_pmp": row["gamma_r"],
        }
    cold, warm = key_points(row, 25.0), key_points(row, 60.0)

    def per_kelvin(name: str) -> float:
        return (warm[name] / cold[name] - 1) / 35 * 100

    return {
        **{name: cold[name] for name in ("i_sc", "v_oc", "i_mp", "v_mp")},
        "alpha_sc": per_kelvin("i_sc"),
        "beta_voc": per_kelvin("v_oc"),
        "gamma_pmp": per_kelvin("p_mp"),
    }
