"""Every quantity the program shows: its name, unit, label and printed format, stated once.

Names follow pvlib's nomenclature page and pv-terms; table headings, report columns,
exported files and the panes of the window all take their words from here.
"""

import math
import re
from dataclasses import dataclass


@dataclass(frozen=True)
class Quantity:
    """One quantity: `name` in code and files, `label` for people, `unit` and `decimals`."""

    name: str
    label: str
    unit: str
    decimals: int
    meaning: str

    def text(self, value: float | None) -> str:
        """The value without its unit, or an en dash when it is not known."""
        if value is None or not math.isfinite(value):
            return "–"
        return with_minus(f"{value:.{self.decimals}f}")

    @property
    def heading(self) -> str:
        return f"{self.label} ({self.unit})" if self.unit else self.label


_HYPHEN = re.compile(r"(?<![\w.,/-])-(?=\d)")
_ZERO = re.compile(r"(?<![\w.,/])[−+](0(?:\.0+)?)(?![\d.])")


def with_minus(text: str) -> str:
    """Words in which a hyphen before a number is a minus sign; dates and names keep theirs.

    A number that is zero as printed loses its sign: "-0.0" would say which way nothing went.
    """
    return _ZERO.sub(r"\1", _HYPHEN.sub("−", text))


def counted(number: int, one: str, many: str = "") -> str:
    """A number of things in words: "1 string", "2 strings"; `many` where it is not `one` with s."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


KEY_POINTS: tuple[Quantity, ...] = (
    Quantity("i_sc", "Isc", "A", 3, "current at short circuit"),
    Quantity("v_oc", "Voc", "V", 2, "voltage at open circuit"),
    Quantity("i_mp", "Imp", "A", 3, "current at the maximum power point"),
    Quantity("v_mp", "Vmp", "V", 2, "voltage at the maximum power point"),
    Quantity("p_mp", "Pmp", "W", 1, "maximum power"),
    Quantity("fill_factor", "FF", "", 4, "maximum power over Isc times Voc"),
)

CONDITIONS: tuple[Quantity, ...] = (
    Quantity("poa_global", "Irradiance", "W/m²", 0, "irradiance in the plane of the array"),
    Quantity("poa_global_end", "Irradiance at end", "W/m²", 0, "the same at the end of the sweep"),
    Quantity("poa_rear", "Rear irradiance", "W/m²", 0, "irradiance on the rear of the array"),
    Quantity("temperature_module", "Module temperature", "°C", 1, "reading at the module's back"),
    Quantity("temperature_cell", "Cell temperature", "°C", 1, "temperature of the cells"),
    Quantity("temperature_air", "Air temperature", "°C", 1, "temperature of the air"),
    Quantity("wind_speed", "Wind speed", "m/s", 1, "wind speed at the array"),
    Quantity("reference_cell", "Reference cell", "W/m²", 0, "its reading, uncorrected"),
    Quantity(
        "temperature_reference_cell",
        "Reference cell temperature",
        "°C",
        1,
        "temperature of the reference cell",
    ),
)

COEFFICIENTS: tuple[Quantity, ...] = (
    Quantity("alpha_sc", "alpha of Isc", "%/K", 4, "temperature coefficient of Isc"),
    Quantity("beta_voc", "beta of Voc", "%/K", 4, "temperature coefficient of Voc"),
    Quantity("gamma_pmp", "gamma of Pmp", "%/K", 4, "temperature coefficient of Pmp"),
)
"""As datasheets print them; inside, `physics` has them in A/K, V/K and 1/K."""

OTHERS: tuple[Quantity, ...] = (
    Quantity("voltage", "Voltage", "V", 2, "voltage of a point of the sweep"),
    Quantity("current", "Current", "A", 3, "current of a point of the sweep"),
    Quantity("power", "Power", "W", 1, "voltage times current"),
    Quantity("power_ratio", "Power ratio", "", 3, "measured over predicted maximum power"),
    Quantity(
        "power_ratio_uncertainty", "Power ratio ±", "", 3, "expanded uncertainty (k = 2) of it"
    ),
)

QUANTITIES: dict[str, Quantity] = {
    q.name: q for q in KEY_POINTS + CONDITIONS + COEFFICIENTS + OTHERS
}
KEY_POINT_NAMES: tuple[str, ...] = tuple(q.name for q in KEY_POINTS)


def quantity(name: str) -> Quantity:
    """The quantity of that name. Raises KeyError for a name that is not listed."""
    return QUANTITIES[name]
