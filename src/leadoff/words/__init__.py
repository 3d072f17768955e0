"""What people type to values, original text kept, given a context: the only number and unit parser.

``parse(line, context)`` reads a bench line; ``number``, ``reading``, ``fraction``, ``clock_mhz``, ``quantity``,
``setting_value``, ``memory_text`` and ``memory_fit`` read one value. All raise LeadoffError and nothing else.
"""

from leadoff.words.clocks import clock_mhz, clock_text, fraction, ratio
from leadoff.words.echo import echo_phrase
from leadoff.words.memory_words import EMPTY, memory_fit, memory_text
from leadoff.words.numbers import Number, number, reading
from leadoff.words.parser import parse
from leadoff.words.units import UNIT_KINDS, Amount, quantity
from leadoff.words.values import setting_value

__all__ = [
    "EMPTY",
    "UNIT_KINDS",
    "Amount",
    "Number",
    "clock_mhz",
    "clock_text",
    "echo_phrase",
    "fraction",
    "memory_fit",
    "memory_text",
    "number",
    "parse",
    "quantity",
    "ratio",
    "reading",
    "setting_value",
]
