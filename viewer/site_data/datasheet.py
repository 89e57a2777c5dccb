"""One module type as its datasheet prints it."""

from dataclasses import dataclass

from viewer.physics.datasheet.technology import TECHNOLOGY_TABLE
from viewer.site_data.matrix_rows import MatrixRow
from viewer.site_data.warranty_terms import WarrantyTerms

TECHNOLOGIES: tuple[str, ...] = tuple(TECHNOLOGY_TABLE)


@dataclass(frozen=True)
class Datasheet:
    """Published values of one module at STC.

    i_sc, i_mp [A]; v_oc, v_mp [V]; alpha_sc, beta_voc, gamma_pmp [%/K] as datasheets print
    them; cells_in_series along one series path; parallel_paths 2 for a half-cut module (two
    such paths in parallel under shared bypass diodes); bifaciality 0 for a monofacial module.
    """

    key: str
    technology: str
    i_sc: float
    v_oc: float
    i_mp: float
    v_mp: float
    alpha_sc: float
    beta_voc: float
    gamma_pmp: float
    cells_in_series: int
    parallel_paths: int = 1
    bypass_diodes: int = 3
    bifaciality: float = 0.0
    library: str | None = None
    """The name in pvlib's CEC list it was taken from, if it was."""
    warranty: WarrantyTerms | None = None
    """The maker's power warranty, if its terms were entered."""
    matrix: tuple[MatrixRow, ...] = ()
    """Values at other conditions, where they are known (IEC 61853-1, NMOT, low irradiance)."""

    def __post_init__(self) -> None:
        rows = tuple(MatrixRow(*row) for row in self.matrix)
        object.__setattr__(self, "matrix", rows)  # rows come back from JSON as plain lists

    @property
    def p_mp(self) -> float:
        return self.i_mp * self.v_mp

    @property
    def crystalline(self) -> bool:
        """Whether its cells are of crystalline silicon; no technology that is not known is."""
        kind = TECHNOLOGY_TABLE.get(self.technology)
        return kind is not None and kind.crystalline
