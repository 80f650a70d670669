"""What a measure of volume holds, in ml: every one exact by definition.

The US gallon is 231 cubic inches of 2.54 cm (NIST Handbook 44, Appendix C: seen second-hand), the imperial one
4.54609 l (from memory). A quart is a quarter and a pint an eighth of either gallon; the US one has 128 fluid
ounces, the imperial one 160. tests/reference/test_units_reference.py works each figure out again in fractions
and compares it with a general library of units.
"""

from __future__ import annotations

from typing import Final

US_FL_OZ_IN_QUART: Final = 32

ML_PER: Final[dict[str, float]] = {
    "ml": 1.0,
    "cl": 10.0,
    "dl": 100.0,
    "l": 1000.0,
    "US fl oz": 29.5735295625,
    "US pt": 473.176473,
    "US qt": 946.352946,
    "US gal": 3785.411784,
    "imp fl oz": 28.4130625,
    "imp pt": 568.26125,
    "imp qt": 1136.5225,
    "imp gal": 4546.09,
}
