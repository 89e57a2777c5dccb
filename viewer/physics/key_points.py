"""Key points of a measured curve: Isc, Voc, Imp, Vmp, Pmp and fill factor."""

from dataclasses import dataclass

from viewer.physics.nomenclature import KEY_POINT_NAMES


@dataclass(frozen=True)
class KeyPoints:
    """The six key points of one curve; NaN where one could not be determined."""

    i_sc: float
    v_oc: float
    i_mp: float
    v_mp: float
    p_mp: float
    fill_factor: float

    def as_dict(self) -> dict[str, float]:
        return {name: getattr(self, name) for name in KEY_POINT_NAMES}
