"""Numbers inside sentences, with a minus sign, and the decimal comma where the reader's locale
has it."""

import re

from viewer.physics.nomenclature import with_minus

_NUMBER = re.compile(r"(?<![\w.,/])([-+±−]?\d+)\.(\d+)(?!\w|\.\w)")
_NOT_NUMBERS = re.compile(r"\b(?:IEC|ISO|NEC|EN|JCGM|DIN|UL|doi|version|Curvewright)\s+[\w.:/-]+")
"""Numbers of standards, articles and versions keep their point."""


def with_comma(sentence: str) -> str:
    """The sentence with a decimal comma in its numbers."""
    made: list[str] = []
    at = 0
    for kept in _NOT_NUMBERS.finditer(sentence):
        made += [_NUMBER.sub(r"\1,\2", sentence[at : kept.start()]), kept.group()]
        at = kept.end()
    return "".join([*made, _NUMBER.sub(r"\1,\2", sentence[at:])])


def localised(text: str, decimal_comma: bool) -> str:
    """A printed text or number as the locale asks for it, negative numbers with a minus sign."""
    signed = with_minus(text)
    return with_comma(signed) if decimal_comma else signed
