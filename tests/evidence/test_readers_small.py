"""Clock RAM, identification, start codes and dumps in text: what they say, and the traps they set."""

from __future__ import annotations

import pytest
from evidence_files import clock_ram, pci_header, pci_text, serial_data
from evidence_tools import reading, values

from leadoff.catalogue import load
from leadoff.evidence.facts import Hints, Reading, Source
from leadoff.evidence.hexdump import decoded
from leadoff.evidence.sniff import read_source


def test_a_good_dump_says_it_was_kept() -> None:
    found = values(reading(clock_ram()).facts)
    assert (found["cmos.kept"], found["cmos.checksum"], found["clock.valid_ram"]) == ("yes", "agrees", "yes")
    assert found["cmos.disk_c"] == "731/16/63"


def test_a_ram_of_zeros_passes_the_sum_and_is_not_believed() -> None:
    # arithmetic: the sum of zeros equals the stored zeros
    read = reading(bytes(128))
    assert values(read.facts)["cmos.kept"] == "no"
    assert "proves nothing" in read.warnings[0]


def test_a_cleared_ram_is_all_ff_and_its_sum_is_wrong() -> None:
    assert values(reading(b"\xff" * 128).facts)["cmos.kept"] == "no"
    read = reading(clock_ram()[:14] + b"\xff" * 114, "cmos")
    note = next(f.note for f in read.facts if f.key == "cmos.checksum")
    assert note == "stored FFFFh, 10h to 2Dh sum to 1DE2h"
    assert values(read.facts)["cmos.kept"] == "no"


@pytest.mark.parametrize(
    ("change", "kept", "word"),
    [
        ({"valid": False}, "no", "valid-RAM flag"),
        ({"good_sum": False}, "doubtful", "checksum"),
        ({"good_sum": False, "valid": False}, "no", "checksum"),
        ({"date": (80, 1, 1)}, "doubtful", "began again"),
        ({"diagnostic": 0xC0}, "no", "lost power"),
        ({"running": False}, "doubtful", "stands"),
    ],
)
def test_what_speaks_against_a_dump(change: dict[str, object], kept: str, word: str) -> None:
    fact = next(f for f in reading(clock_ram(**change)).facts if f.key == "cmos.kept")  # type: ignore[arg-type]
    assert fact.value == kept
    assert word in fact.note


def test_lost_ram_tells_nothing_of_memory() -> None:
    assert any(f.setting == "ram_mb" and f.canonical == "8" for f in reading(clock_ram()).facts)
    assert not any(f.setting for f in reading(clock_ram(valid=False)).facts)


def test_a_part_of_64_bytes_answers_twice() -> None:
    short = clock_ram(64)
    ticked = bytearray(short)
    ticked[0] ^= 1  # the clock goes on between the halves
    found = values(reading(short + bytes(ticked)).facts)
    assert found["cmos.bytes"] == "64"
    assert "cmos.bytes" not in values(reading(clock_ram(128)).facts)


def test_memory_found_at_start_that_differs_from_the_stored_is_said() -> None:
    read = reading(clock_ram(extended_kb=3072, stored_kb=7168))
    assert any("differ" in line for line in read.lines)


def test_dumps_in_text_are_the_bytes_they_stand_for() -> None:
    data = serial_data()
    rows = range(0, 256, 16)
    star = [
        f"{k:08x}  {data[k : k + 16].hex(' ')}  |................|\n"
        for k in (0, 16, 32, 48, 64, 80, 96, 112, 128)
    ]
    forms = {
        "colon": "".join(f"{k:02x}: {data[k : k + 16].hex(' ')}\n" for k in rows),
        "words": "".join(f"{k:08x}: {data[k : k + 16].hex(' ', 2)}  ................\n" for k in rows),
        "segment": "".join(
            f"F000:{k:04X}  {data[k : k + 8].hex(' ')}-{data[k + 8 : k + 16].hex(' ')}   ....\n" for k in rows
        ),
        "star": "".join(star) + "*\n00000100\n",
    }
    for name, text in forms.items():
        assert decoded(text.encode()) == data, name
        assert reading(text.encode()).digest == reading(data).digest, name


def read_cpu(text: str) -> Reading:
    return read_source(Source.of("cpu.txt", text.encode()), Hints(catalogue=load()))


@pytest.mark.reference
@pytest.mark.parametrize(
    ("text", "core", "vendor"),
    [
        # Source: Linux arch/x86/kernel/cpu/intel.c and the data sheets named in catalogue/data/signatures.toml
        ("CPUID 00000000 00000001 756E6547 6C65746E 49656E69\nCPUID 00000001 00000543 00000000 00000000 008001BF",
         "p55c", "GenuineIntel"),
        ("CPUID 00000000 00000001 746E6543 736C7561 48727561\nCPUID 00000001 00000540 00000000 00000000 00800135",
         "c6", "CentaurHauls"),
        ("vendor_id : AuthenticAMD\ncpu family : 5\nmodel : 8\nstepping : 12\ncpu MHz : 400.91",
         "k6-2", "AuthenticAMD"),
        ("DX at reset 0308", "386dx", ""),
    ],
)  # fmt: skip
def test_one_signature_means_different_parts_with_different_vendors(
    text: str, core: str, vendor: str
) -> None:
    found = values(read_cpu(text).facts, "cpu.")
    assert found.get("vendor", "") == vendor
    assert any(c.startswith(core.split("-")[0]) for c in found["core"].split(", ")), found["core"]


def test_a_clock_timed_with_the_cycle_counter_has_its_rank() -> None:
    base = "CPUID 00000000 00000001 756E6547 6C65746E 49656E69\nCPUID 00000001 00000480 00000000 00000000 00000003\n"
    for rest, rank in (("by the cycle counter", "timer"), ("frequency counter", "counter"), ("loop", "loop")):
        fact = next(f for f in read_cpu(f"{base}core 99.98 MHz {rest}").facts if f.setting == "core_mhz")
        assert (fact.rank.value, fact.canonical) == (rank, "99.98")


def test_caches_inside_by_descriptor_and_by_extended_leaf() -> None:
    slot1 = (
        "CPUID 00000000 00000002 756E6547 6C65746E 49656E69\nCPUID 00000001 00000634 00000000 00000000 0080F9FF\n"
        "CPUID 00000002 03020101 00000000 00000000 0C040843"
    )
    found = values(read_cpu(slot1).facts, "cpu.")
    assert (found["l2_kb"], found["l1_code_kb"], found["l1_data_kb"]) == ("512", "16", "16")


def test_start_codes_tell_the_last_step_and_their_families() -> None:
    def meanings(code: str) -> list[tuple[str, str]]:
        return [("one", "checks memory"), ("two", "clears the screen")] if code == "1C" else []

    log = b"post log\n" + b"".join(b"%02X\n" % c for c in (1, 2, 3, 0x0D, 0x1C, 0x1C))
    read = read_source(Source.of("log", log), Hints(meanings=meanings))
    found = values(read.facts, "post.")
    assert (found["last"], found["meaning.one"], found["meaning.two"]) == (
        "1C",
        "checks memory",
        "clears the screen",
    )
    assert read.warnings == ()


@pytest.mark.parametrize(
    ("codes", "pattern"),
    [
        ([0xFF] * 40, "stuck"),
        ([1, 2, 3, 1, 2, 3, 1, 2, 3, 1, 2], "restarts"),
        ([1, 5, *[0xDD, 0x40, 0xDD, 0x41] * 4], "alternates"),
    ],
)
def test_what_is_no_sequence_of_steps(codes: list[int], pattern: str) -> None:
    assert values(reading(bytes(codes), "post").facts, "post.")["pattern"] == pattern


def test_writes_of_zero_as_a_delay_are_no_steps() -> None:
    # seen on a machine that runs: 8193 writes of 00h between the codes
    read = reading(bytes([1, 2]) + bytes(8193) + bytes([3]), "post")
    found = values(read.facts, "post.")
    assert (found["sequence"], found["delays"]) == ("01 02 03", "8193")


def test_who_masters_the_bus() -> None:
    text = pci_text({
        "00:00.0": pci_header(0x8086, 0x1237, 0x060000, command=6),
        "00:0b.0": pci_header(0x1234, 0x1111, 0x030000, command=3),
        "00:0c.0": pci_header(0x9004, 0x7178, 0x010000, command=7),
    })  # fmt: skip
    fact = next(f for f in reading(text).facts if f.key == "pci.masters")
    assert (fact.value, fact.setting, fact.canonical) == ("00:0c.0", "bus_master", "on")


def test_without_a_list_of_names_there_are_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LEADOFF_PCI_IDS", "/nowhere/pci.ids")
    read = reading(pci_text({"00:00.0": pci_header(0x8086, 0x1237, 0x060000)}))
    assert "[8086:1237]" in read.lines[0]
    assert "no list of PCI names" in read.warnings[0]


@pytest.mark.reference
@pytest.mark.parametrize(
    ("sign", "core"),
    [
        # Source: Linux arch/x86/kernel/cpu/intel.c, legacy_models: "486 DX-25/33", "486 DX-50", "486 SX", "486 DX/2",
        # "486 SX/2", "486 DX/2-WB", "486 DX/4", "486 DX/4-WB", "Pentium 60/66", "Pentium 75-200", "OverDrive
        # PODP5V83", "Pentium MMX", "Pentium II (Klamath)", "Pentium II (Deschutes)", "Pentium III (Katmai)",
        # "Pentium III (Coppermine)"
        ("0400", "486dx"), ("0410", "486dx"), ("0420", "486sx"), ("0430", "486dx2"), ("0450", "486sx2"),
        ("0470", "486dx2-wb"), ("0480", "486dx4"), ("0490", "486dx4-wb"), ("0513", "p5"), ("052C", "p54c"),
        ("1532", "p24t"), ("0543", "p55c"), ("0634", "klamath"), ("0651", "deschutes"), ("0672", "katmai"),
        ("0683", "coppermine"),
    ],
)  # fmt: skip
def test_the_kernels_list_of_models(sign: str, core: str) -> None:
    found = values(read_cpu(f"signature {sign} GenuineIntel").facts, "cpu.")
    assert core in found["core"].split(", "), found


def test_bits_of_a_memory_error_are_no_last_step() -> None:
    def meanings(code: str) -> list[tuple[str, str]]:
        return [("one", f"meaning of {code}")]

    log = b"post log\n" + b"".join(b"%02X\n" % c for c in (1, 2, 0xC1, 0xDD, 0x40, 0xDD, 0x41))
    read = read_source(Source.of("log", log), Hints(meanings=meanings))
    assert values(read.facts, "post.")["meaning.one"] == "meaning of DD"
    assert "alternates" in read.warnings[0]
