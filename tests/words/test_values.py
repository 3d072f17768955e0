"""Single values: numbers with their intervals, nominal clocks, units, settings, memory."""

from __future__ import annotations

from fractions import Fraction

import pytest

from leadoff.record.errors import LeadoffError
from leadoff.record.settings import SETTINGS
from leadoff.words import (
    clock_mhz,
    clock_text,
    fraction,
    memory_fit,
    memory_text,
    number,
    quantity,
    ratio,
    reading,
    setting_value,
)


@pytest.mark.parametrize(
    ("text", "value", "lo", "hi"),
    [
        ("23.5", 23.5, 23.45, 23.55),
        ("23,5", 23.5, 23.45, 23.55),
        ("23.50", 23.5, 23.495, 23.505),
        ("~23.5", 23.5, 23.25, 23.75),
        ("about 23.5", 23.5, 23.25, 23.75),
        ("ca. 23,5", 23.5, 23.25, 23.75),
        ("1.234,5", 1234.5, 1234.45, 1234.55),
        ("1,234.5", 1234.5, 1234.45, 1234.55),
        ("1 234.5", 1234.5, 1234.45, 1234.55),
        ("1 234", 1234, 1233.5, 1234.5),
        ("1'234,56", 1234.56, 1234.555, 1234.565),
        ("1,234,567", 1234567, 1234566.5, 1234567.5),
        ("1.234", 1.234, 1.2335, 1.2345),
        ("0,234", 0.234, 0.2335, 0.2345),
        ("2134", 2134, 2133.5, 2134.5),
    ],
)
def test_a_printed_figure_stands_for_an_interval(text: str, value: float, lo: float, hi: float) -> None:
    found = reading(text)
    assert (found.text, found.value) == (text, value)
    assert found.lo == pytest.approx(lo, abs=1e-12)
    assert found.hi == pytest.approx(hi, abs=1e-12)


def test_a_comma_before_three_digits_is_asked() -> None:
    with pytest.raises(LeadoffError, match=r"1,234 can be 1\.234 or 1234"):
        number("1,234")
    assert number("1,234", comma="decimal").exact == Fraction("1.234")


@pytest.mark.parametrize(
    "text",
    ["", " ", "-", "x", "n/a", "crash", "1e9", "inf", "nan", "12 34", "1.2.3", "٤٠", "10²", "0x10", "1_000"],
)
def test_what_is_no_number(text: str) -> None:
    with pytest.raises(LeadoffError, match=r"not a number|nothing was typed") as caught:
        number(text)
    assert caught.value.problems[0].code == "not_a_number"


def test_more_digits_than_a_double_keeps_are_refused() -> None:
    with pytest.raises(LeadoffError, match="more than 15 digits"):
        number("1234567890.123456")


@pytest.mark.reference
@pytest.mark.parametrize(
    ("text", "role", "exact"),
    [
        # nominal clocks: common practice, no source; 33 on a sheet means 33.33
        *((t, "bus", "100/3") for t in ("33", "33.3", "33.33", "33,33", "33.333", "33.3333")),
        *((t, "bus", "200/3") for t in ("66", "66.6", "66.66", "66.67", "66.7", "66.667", "67")),
        *((t, "bus", "250/3") for t in ("83", "83.3", "83.33")),
        *((t, "bus", "400/3") for t in ("133", "133.3", "133.33")),
        *((t, "bus", "125/3") for t in ("41.6", "41.66", "41.67", "41.7")),
        *((t, "bus", "50/3") for t in ("16.6", "16.67", "16.7")),
        *((t, "bus", t) for t in ("16", "20", "25", "40", "50", "55", "60", "75", "100", "112", "124")),
        ("33.5", "bus", "67/2"),
        ("37.5", "bus", "75/2"),
        ("62.5", "bus", "125/2"),
        ("68.5", "bus", "137/2"),
        ("33.0", "bus", "33"),
        ("66", "can", "200/3"),
        ("66.667", "can", "200/3"),
        ("80", "can", "80"),
        ("32", "can", "32"),
        ("14.318", "can", "315/22"),
        ("233", "core", "700/3"),
        ("266", "core", "800/3"),
        ("333", "core", "1000/3"),
        ("366", "core", "1100/3"),
        ("433", "core", "1300/3"),
        ("466", "core", "1400/3"),
        ("533", "core", "1600/3"),
        ("566", "core", "1700/3"),
        ("733", "core", "2200/3"),
        ("116.7", "core", "350/3"),
        ("200", "core", "200"),
        ("100", "core", "100"),
        ("450", "core", "450"),
        ("33", "pci", "100/3"),
        ("8.33", "isa", "25/3"),
        ("8", "isa", "8"),
        ("7.16", "isa", "315/44"),
        ("66", "agp", "200/3"),
    ],
)
def test_nominal_clocks_are_exact(text: str, role: str, exact: str) -> None:
    assert clock_mhz(text, role) == Fraction(exact)


def test_a_measured_clock_is_what_was_read() -> None:
    assert clock_mhz("33.3", measured=True) == Fraction(333, 10)
    assert clock_mhz("66.8", measured=True) == Fraction(334, 5)
    assert setting_value("bus_mhz", "33.3", measured=True) == "333/10"


@pytest.mark.reference
def test_products_of_the_trade() -> None:
    """Common practice, no source: 3 x 33.5 = 100.5, 4 x 33 = 133.3, 2.5 x 66 = 166.7, 4 x 40 = 160."""
    assert 3 * clock_mhz("33.5") == Fraction("100.5")
    assert 4 * clock_mhz("33") == clock_mhz("133", "core") == Fraction(400, 3)
    assert fraction("2.5") * clock_mhz("66") == clock_mhz("166", "core")
    assert 4 * clock_mhz("40") == 160


@pytest.mark.parametrize(
    ("text", "exact"),
    [
        ("100/3", "100/3"),
        ("33.33", "3333/100"),
        ("2.5x", "5/2"),
        ("x4", "4"),
        ("5/2", "5/2"),
        ("2,5", "5/2"),
        ("2+1/2", "5/2"),
    ],
)
def test_fractions_are_as_typed(text: str, exact: str) -> None:
    assert fraction(text) == Fraction(exact)


def test_a_fraction_of_nothing_is_refused() -> None:
    with pytest.raises(LeadoffError, match="divides by zero"):
        fraction("100/0")


def test_ratios_know_thirds() -> None:
    assert (ratio("2.33"), ratio("2.67"), ratio("0.67"), ratio("1.75")) == (
        Fraction(7, 3),
        Fraction(8, 3),
        Fraction(2, 3),
        Fraction(7, 4),
    )


@pytest.mark.parametrize(
    ("value", "role", "text"),
    [
        ("100/3", "bus", "33.33"),
        ("40", "bus", "40"),
        ("67/2", "bus", "33.5"),
        ("16", "bus", "16"),
        ("333/10", "bus", "33.30"),
    ],
)
def test_clock_text_reads_back(value: str, role: str, text: str) -> None:
    assert clock_text(Fraction(value), role) == text
    assert clock_mhz(text, role) == Fraction(value)


@pytest.mark.parametrize(
    ("text", "kind", "value", "unit"),
    [
        ("33 MHz", "clock", 33, "MHz"),
        ("33300 kHz", "clock", 33.3, "MHz"),
        ("15", "access", 15, "ns"),
        ("7,5ns", "access", 7.5, "ns"),
        ("41.2s", "duration", 41.2, "s"),
        ("3:20", "duration", 200, "s"),
        ("1:02:03.5", "duration", 3723.5, "s"),
        ("1h20", "duration", 4800, "s"),
        ("8h", "duration", 28800, "s"),
        ("12 min", "duration", 720, "s"),
        ("250 ms", "duration", 0.25, "s"),
        ("3.45v", "volts", 3.45, "V"),
        ("3450 mV", "volts", 3.45, "V"),
        ("2v8", "volts", 2.8, "V"),
        ("5.7 A", "amps", 5.7, "A"),
        ("320 mA", "amps", 0.32, "A"),
        ("15.7W", "watts", 15.7, "W"),
        ("38 ohm", "ohms", 38, "ohm"),
        ("1.2k", "ohms", 1200, "ohm"),
        ("256k", "memory", 256, "KB"),
        ("1 MB", "memory", 1024, "KB"),
        ("16 MiB", "memory", 16384, "KB"),
        ("12.5 MB/s", "rate", 12.5, "MB/s"),
        ("12500 KB/s", "rate", 12.5, "MB/s"),
        ("10 MiB/s", "rate", 10.48576, "MB/s"),
        ("80 us/KB", "time_per_kb", 80, "us/KB"),
        ("45 °C", "temperature", 45, "C"),
    ],
)
def test_quantities_in_their_own_unit(text: str, kind: str, value: float, unit: str) -> None:
    from leadoff.words.tokens import normalise

    found = quantity(normalise(text), kind)
    assert (found.value, found.unit) == (pytest.approx(value, rel=1e-12), unit)
    assert found.lo <= found.value <= found.hi


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        ("33 GHz", "clock", "GHz cannot be meant here, the unit is MHz"),
        ("60 ms", "access", "ms cannot be meant here, the unit is ns"),
        ("5 kV", "volts", "kV cannot be meant here, the unit is V"),
        ("4 GB", "memory", "GB cannot be meant here, the unit is KB"),
        ("15 parsecs", "duration", "parsecs is not a unit known here"),
        ("", "volts", "is no figure in V"),
    ],
)
def test_a_slip_of_the_unit_is_one_clear_error(text: str, kind: str, message: str) -> None:
    with pytest.raises(LeadoffError, match=message) as caught:
        quantity(text, kind)
    assert len(caught.value.problems) == 1
    assert caught.value.problems[0].do


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("bus_mhz", "33", "100/3"),
        ("bus_mhz", "100/3 MHz", "100/3"),
        ("ratio", "2,5", "5/2"),
        ("pci_ratio", "/2", "1/2"),
        ("core_v", "3.30", "3.3"),
        ("core_v", "2v8", "2.8"),
        ("l2_kb", "256k", "256"),
        ("l2_kb", "1 MB", "1024"),
        ("ram_mb", "32", "32"),
        ("l2_read", "3–1–1–1", "3-1-1-1"),
        ("l2_write_ws", "1 ws", "1"),
        ("l1", "Enabled", "on"),
        ("l2_policy", "write-back", "wb"),
        ("ram_type", "EDO", "edo"),
        ("l2_type", "pipelined", "pipelined burst"),
        ("refresh", "15.6 us", "15.6"),
        ("jp7", "2–3", "2-3"),
        ("ram.b0", "4 x 8 MB FPM 60ns", "4x8 fpm60"),
        ("cpu", " my   Part ", "my Part"),
    ],
)
def test_settings_have_one_canonical_text(name: str, text: str, value: str) -> None:
    assert setting_value(name, text) == value
    assert setting_value(name, value) == value


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("bus_mhz", "0"),
        ("bus_mhz", "-33"),
        ("bus_mhz", "1e9"),
        ("bus_mhz", "1000000000"),
        ("bus_mhz", "33 GHz"),
        ("ratio", "0"),
        ("ratio", "100"),
        ("core_v", "12"),
        ("core_v", "5 kV"),
        ("l2_kb", "-1"),
        ("l2_banks", "1.5"),
        ("l2_read", "3-1"),
        ("l2_read", "0-1-1-1"),
        ("l1", "maybe"),
        ("l2_policy", "on"),
        ("ram_ns", "60 ms"),
        ("ram.b0", "lots"),
        ("video_bus", "mca bus"),
    ],
)
def test_what_a_setting_cannot_be(name: str, text: str) -> None:
    with pytest.raises(LeadoffError, match=r"\w"):
        setting_value(name, text)


@pytest.mark.parametrize("name", [*SETTINGS, "jp7", "ram.b0"])
@pytest.mark.parametrize("text", ["", "  ", "?", "default", "Default", "unknown", "auto", "not known"])
def test_a_blank_is_never_zero_and_default_never_known(name: str, text: str) -> None:
    assert setting_value(name, text) is None


@pytest.mark.parametrize(
    ("text", "canonical", "mb", "kind", "ns", "cas", "count"),
    [
        ("4x8 fpm60", "4x8 fpm60", 8.0, "fpm", 60.0, None, 4),
        ("128 sdram cl3 8ns", "1x128 sdram8 cl3", 128.0, "sdram", 8.0, 3, 1),
        ("2x16mb edo", "2x16 edo", 16.0, "edo", None, None, 2),
        ("4x256k 70ns", "4x0.25 70", 0.25, None, 70.0, None, 4),
        ("256 sdram 7,5ns cl2", "1x256 sdram7.5 cl2", 256.0, "sdram", 7.5, 2, 1),
        ("-", "empty", 0.0, None, None, None, 0),
    ],
)
def test_memory_reads_back(
    text: str, canonical: str, mb: float, kind: str | None, ns: float | None, cas: int | None, count: int
) -> None:
    assert memory_text(text) == memory_text(canonical) == canonical
    fit = memory_fit(canonical, "b0")
    assert (fit.site, fit.mb, fit.type, fit.ns, fit.cas, fit.count) == ("b0", mb, kind, ns, cas, count)
