"""Write the forecast's table of profile families from the shipped profiles.

python tools/families.py            compare, exit 1 where the table is not what the profiles say
python tools/families.py --write    write src/leadoff/forecast/data/families.toml's generated part
"""

from __future__ import annotations

import sys
from pathlib import Path

from leadoff.forecast.family_rows import QUANTITIES, errors, family_rows
from leadoff.memory.demand import profiles_digest

TABLE = Path(__file__).parents[1] / "src/leadoff/forecast/data/families.toml"
MARK = "# From here on written by tools/families.py; profiles "


def made() -> str:
    """The generated part as text."""
    lines = [f"{MARK}{profiles_digest()[:16]}.", ""]
    for name, row in family_rows().items():
        lines += [f"[family.{name}]", *(f"{q} = {row[q]:.3f}" for q in QUANTITIES), ""]
    for word, k in (("error", 0), ("band", 1)):
        lines += [f"[{word}]", *(f"{q} = {v[k]:.3f}" for q, v in errors().items()), ""]
    return "\n".join(lines).rstrip() + "\n"


def main() -> None:
    """Command line."""
    text = TABLE.read_text(encoding="utf-8")
    fresh = text[: text.index(MARK)] + made()
    if "--write" in sys.argv[1:]:
        TABLE.write_text(fresh, encoding="utf-8")
    elif fresh != text:
        sys.exit("families.toml is not what the shipped profiles say: python tools/families.py --write")


if __name__ == "__main__":
    main()
