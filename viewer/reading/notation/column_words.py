"""Words that headings and keys use for each quantity, in the languages of the trade.

Common practice, no source: spellings met in tables of field measurements.
"""

import re
from dataclasses import dataclass
from functools import lru_cache

from viewer.physics.nomenclature import CONDITIONS
from viewer.reading.notation.units import HOUSE_UNIT


@dataclass(frozen=True)
class Meaning:
    """What a heading or key means: a role, and whether it says so exactly or only holds a word."""

    role: str
    exact: bool


_KIND_OF = {unit: kind for kind, unit in HOUSE_UNIT.items()}
UNIT_KIND = {
    "voltage": "voltage",
    "current": "current",
    "power": "power",
    "point_time": "time",
    **{one.name: _KIND_OF[one.unit] for one in CONDITIONS},
}
"""Role to the kind of unit it has; roles without a unit are left out."""

_EXACT = {
    "voltage": "v u voltage volt volts spannung tension tensión tensao tensão tensione voltaje "
    "spanning spänning napięcie vdc udc v|dc u|dc voltage|dc dc|voltage v|pv u|pv pv|voltage "
    "string|voltage module|voltage array|voltage voltage|v spannung|v",
    "current": "i a amps ampere amperes current strom courant corriente corrente stroom ström "
    "intensidad intensité prąd idc i|dc current|dc dc|current i|pv pv|current string|current "
    "module|current array|current current|a strom|a",
    "power": "p w power leistung puissance potencia potenza potência vermogen effekt moc pdc p|dc "
    "dc|power",
    "point_time": "t time zeit temps tiempo tempo tijd elapsed elapsed|time",
    "poa_global": "poa|global poa g irradiance irradiation insolation g|poa gpoa poa|irradiance "
    "irr irrad einstrahlung bestrahlungsstärke irradiancia irradianza irraggiamento éclairement "
    "irradiância instraling e|poa solar|irradiance global|irradiance plane|of|array|irradiance "
    "in|plane|irradiance irradiance|poa poa|irr sun",
    "poa_global_end": "poa|global|end irradiance|end end|irradiance poa|end",
    "poa_rear": "poa|rear rear|irradiance irradiance|rear g|rear poa|back",
    "temperature_module": "temperature|module t|module tmod t|mod module|temperature "
    "module|temp modultemperatur temp|module temp|mod panel|temperature panel|temp t|panel "
    "backsheet|temperature back|of|module|temperature bom|temperature t|bom t|back temp|back "
    "temperature|back temperature|backsheet t|backsheet back|temperature back|temp pv|temperature "
    "température|module temperatura|módulo temperatura|modulo temperatura|del|modulo",
    "temperature_cell": "temperature|cell t|cell tcell cell|temperature cell|temp temp|cell "
    "zelltemperatur zellentemperatur tzelle température|cellule temperatura|célula "
    "temperatura|cella",
    "temperature_air": "temperature|air t|air tamb t|amb ambient|temperature air|temperature "
    "ambient|temp air|temp temp|air temp|ambient temp|amb t|ambient lufttemperatur "
    "umgebungstemperatur temperature|ambient température|ambiante temperatura|ambiente "
    "temperatura|ambiental",
    "wind_speed": "wind|speed windspeed wind windgeschwindigkeit ws vent vitesse|du|vent "
    "velocidad|del|viento velocità|del|vento",
    "combiner": "combiner combiner|box combiner|name box combinerbox generatoranschlusskasten gak "
    "boîte|de|jonction caja|de|conexión string|box",
    "string": "string string|id string|name string|no string|number strang strangnummer string|nr "
    "chaîne chaine cadena stringa string|label",
    "trace": "trace trace|id curve curve|id curve|no sweep sweep|id sweep|no measurement "
    "measurement|id measurement|no scan scan|id kurve messung mesure medida misura test test|no",
    "serial": "serial serial|number serial|no s|n sn seriennummer module|serial "
    "numéro|de|série número|de|serie",
    "measured_at": "measured|at datetime date|time date|and|time timestamp time|stamp zeitstempel "
    "messzeitpunkt measurement|time measured|on date|heure fecha|hora data|ora local|time utc",
    "date": "date datum fecha data day measurement|date test|date",
    "clock": "clock time|of|day uhrzeit heure hora ora measurement|clock start|time",
    "note": "note notes remark remarks comment comments bemerkung bemerkungen remarque "
    "comentario nota",
}
_WORDS = {
    "voltage": "voltage spannung tension tensión tensão tensione voltaje spanning volt",
    "current": "current strom courant corriente corrente stroom amp",
    "power": "power leistung puissance potencia potenza",
    "poa_global": "irradiance irradiation einstrahlung irradiancia irradianza irraggiamento "
    "insolation poa",
    "wind_speed": "windspeed",
    "string": "string strang",
    "measured_at": "timestamp datetime",
}
_NEVER_WORDS = (
    "voc uoc isc vmp vmpp umpp vpm imp impp ipm pmp pmpp pmax vmax imax mpp mp oc sc stc nominal "
    "rated nameplate reference ref open short fill factor ff efficiency eta resistance rs rsh "
    "ghi dhi dni horizontal diffuse direct direction range limit offset gain count points "
    "coefficient coeff alpha beta gamma max min maximum minimum predicted expected modelled "
    "simulated setpoint battery albedo reflected reflektierte réfléchie reflejada"
)
_NEVER = frozenset(_NEVER_WORDS.split())
"""Words that tell a heading is of something else: a key point, a rating, another sensor."""

_LABEL_LETTERS = frozenset(("s", "str", "c", "cb", "m", "a"))
"""Letters that number strings and boxes: S1 is one word, V1 is V and 1."""

_LOOKUP = {tuple(word.split("|")): role for role, words in _EXACT.items() for word in words.split()}
_WORD_LOOKUP = {word: role for role, words in _WORDS.items() for word in words.split()}

ALTERED = frozenset(
    ("corrected", "translated", "normalised", "normalized", "filtered", "smoothed", "fitted")
)
"""Words of columns computed from the measured ones."""


def words_of(name: str) -> tuple[str, ...]:
    """The words of a heading in small letters: "T_module2" and "TModule 2" are t, module, 2."""
    parted = re.sub(r"(?<=[a-zà-ÿ])(?=[A-Z])", " ", name)
    return tuple(word.casefold() for word in _parted(parted))


def _parted(name: str) -> list[str]:
    """Words and numbers; a letter keeps the number behind it unless it names a role (V1)."""
    words = re.findall(r"[^\W_]+", name)
    found: list[str] = []
    for word in words:
        match = re.fullmatch(r"([^\W\d]+)(\d+)", word)
        if match and match[1].casefold() not in _LABEL_LETTERS:
            found += [match[1], match[2]]
        else:
            found.append(word)
    return found


@lru_cache(maxsize=4096)
def meaning_of(name: str) -> Meaning | None:
    """What that heading or key means, or None. Numbers at its end do not matter."""
    words = words_of(name)
    while len(words) > 1 and words[-1].isdigit():
        words = words[:-1]
    if not words:
        return None
    role = _LOOKUP.get(words) or _LOOKUP.get((re.sub(r"\W|_", "", name.casefold()),))
    if role is not None:
        return Meaning(role, exact=True)
    if names_another_thing(name):
        return None
    found = _temperature(words) or next(
        (_WORD_LOOKUP[word] for word in words if word in _WORD_LOOKUP), None
    )
    if found == "poa_global" and not _REAR.isdisjoint(words):
        found = "poa_rear"
    if found is None and len(words) > 1:
        found = next(
            (r for r in map(_LOOKUP.get, ((w,) for w in words)) if r in _LETTER_ROLES), None
        )
    return Meaning(found, exact=False) if found else None


_LETTER_ROLES = ("voltage", "current")
_TEMPERATURE = ("temp", "temperature", "temperatur", "température", "temperatura")


_REAR_WORDS = (
    "rear back backside rearside bottom underside rückseite rückseitig rückseitige hinten arrière "
    "trasera trasero traseira posterior posteriore retro achterzijde tył"
)
_REAR = frozenset(_REAR_WORDS.split())
"""Words that put a reading of irradiance behind the modules."""

_PLACES = {
    "temperature_module": "module modul panel pv backsheet back rear rückseite módulo modulo "
    "módulos moduli panneau",
    "temperature_cell": "cell cells zelle zellen cellule cellules célula celda cella",
    "temperature_air": "air ambient amb umgebung umgebungs luft ambiante ambiente aire aria",
}


def _temperature(words: tuple[str, ...]) -> str | None:
    if not any(word in _TEMPERATURE for word in words):
        return None
    places = {role: text.split() for role, text in _PLACES.items()}
    said = [role for role, place in places.items() if any(word in place for word in words)]
    return said[0] if len(said) == 1 else None


def names_another_thing(name: str) -> bool:
    """Whether the heading is of a key point, a rating, a corrected value and the like."""
    return any(word in _NEVER or word in ALTERED for word in words_of(name))


def names_a_temperature(name: str) -> bool:
    """Whether the heading is of a temperature without saying which one."""
    return any(word in _TEMPERATURE for word in words_of(name))


def label_left(name: str, role: str) -> str:
    """What a heading says beside its role: "S1 voltage" and "V1" leave "S1" and "1"."""
    role_words = {one for parts, found in _LOOKUP.items() if found == role for one in parts}
    words = _parted(name)
    return " ".join(word for word in words if word.casefold() not in role_words)
