"""What was understood, said back in plain words. A setting's echo reads back as the same setting."""

from __future__ import annotations

import re
from fractions import Fraction

from leadoff.record.phrases import (
    AnyPhrase,
    Ask,
    FailurePhrase,
    LikePhrase,
    NotePhrase,
    ProtocolPhrase,
    ReadingPhrase,
    ScorePhrase,
    SetPhrase,
    SymptomPhrase,
)
from leadoff.record.settings import SETTINGS, SettingKind, kind_of
from leadoff.words.clocks import clock_text, ratio
from leadoff.words.values import NOT_KNOWN, decimal_text
from leadoff.words.vocabulary import label

_SIMPLE = re.compile(r"[^\s,;\"=:()]+")


def echo_line(phrases: tuple[AnyPhrase, ...]) -> str:
    """All phrases of a line, in order."""
    return "; ".join(echo_phrase(phrase) for phrase in phrases)


def echo_phrase(phrase: AnyPhrase) -> str:
    """One phrase in plain words."""
    match phrase:
        case SetPhrase():
            return _setting(phrase)
        case LikePhrase(run=run, back=back):
            return f"back to run {run}" if back else f"as run {run}"
        case ScorePhrase():
            return _score(phrase)
        case FailurePhrase():
            return _failure(phrase)
        case ReadingPhrase():
            where = f" at {phrase.where}" if phrase.where else ""
            return f"{phrase.what} read {phrase.value:g} {phrase.unit}{where}"
        case ProtocolPhrase():
            return _protocol(phrase)
        case SymptomPhrase():
            return f"symptom {phrase.symptom}: {'closed' if phrase.closed else 'open'}"
        case NotePhrase(text=text):
            return f"note: {text.removeprefix('note:').strip()}"
        case Ask(question=question, choices=choices):
            return f"? {question}" + (f" ({' | '.join(choices)})" if choices else "")


def _setting(phrase: SetPhrase) -> str:
    name = label(phrase.name)
    if phrase.value is None:
        return f"{name} not known"
    return f"{name} {_value(phrase.name, phrase.value, phrase.measured)}" + (
        " measured" if phrase.measured else ""
    )


def _value(name: str, value: str, measured: bool) -> str:
    match kind_of(name):
        case SettingKind.CLOCK:
            return f"{_clock(name, Fraction(value), measured)} MHz"
        case SettingKind.RATIO:
            exact = Fraction(value)
            decimal = decimal_text(exact)
            return f"x{decimal}" if name == "ratio" and ratio(decimal) == exact else value
        case SettingKind.VOLTS:
            return f"{value} V"
        case SettingKind.NUMBER:
            unit = SETTINGS[name].unit
            return f"{value} {unit}" if unit in ("KB", "MB", "ns", "C") else value
        case SettingKind.TEXT:
            plain = name.startswith("ram.") or (_SIMPLE.fullmatch(value) and not NOT_KNOWN.fullmatch(value))
            return value if plain and not value.isdigit() else f'"{value}"'
        case _:
            return value


def _clock(name: str, value: Fraction, measured: bool) -> str:
    if not measured:
        return clock_text(value, name.removesuffix("_mhz"))
    decimal = decimal_text(value)
    return decimal if Fraction(decimal) == value else str(value)


def _score(phrase: ScorePhrase) -> str:
    said = f"{phrase.workload or 'result'}: {', '.join(f'{r.value:g}' for r in phrase.readings)}"
    said += f" {phrase.unit}" if phrase.unit else ""
    return said + (f", dropped {', '.join(f'{r.value:g}' for r in phrase.dropped)}" if phrase.dropped else "")


def _failure(phrase: FailurePhrase) -> str:
    said = f"{phrase.workload}: {phrase.what}" if phrase.workload else phrase.what
    said += f" at {phrase.place}" if phrase.place and phrase.place not in ("cold", "warm") else ""
    said += f" {phrase.place}" if phrase.place in ("cold", "warm") else ""
    said += f" after {_lasting(phrase.after_s)}" if phrase.after_s is not None else ""
    if phrase.of is not None:
        return said + f", {phrase.count} of {phrase.of}"
    return said + (f", {phrase.count} times" if phrase.count is not None else "")


def _lasting(seconds: float) -> str:
    """In the largest unit that keeps the figure whole, from two of it on."""
    sizes = ((size, unit) for size, unit in ((3600, "h"), (60, "min")) if seconds >= 2 * size)
    size, unit = next(((s, u) for s, u in sizes if seconds % s == 0), (1, "s"))
    return f"{seconds / size:g} {unit}"


def _protocol(phrase: ProtocolPhrase) -> str:
    said = phrase.protocol
    said += f" {phrase.hours:g} h" if phrase.hours is not None else ""
    said += f" {phrase.count} bad of {phrase.of}" if phrase.of is not None else ""
    said += ": clean" if phrase.clean else ": failed"
    return said + (
        f" after {60 * phrase.failed_after_h:.4g} min" if phrase.failed_after_h is not None else ""
    )
