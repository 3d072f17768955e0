"""The JSON Schema of the public file, from the values that write it.

python tools/public_schema.py          compare, exit 1 where the shipped file differs
python tools/public_schema.py --write  write it
"""

from __future__ import annotations

import inspect
import sys
from pathlib import Path
from typing import Any

import msgspec

from leadoff.record.public import PUBLIC, PublicBoard

FILE = Path(__file__).resolve().parent.parent / "src/leadoff/record/public.schema.json"


def schema() -> dict[str, Any]:
    """JSON Schema 2020-12: every key that has no default is required, further keys are allowed."""
    made = msgspec.json.schema(PublicBoard, schema_hook=_anything)
    defs = made["$defs"]
    for made_def in defs.values():
        if "description" in made_def:  # older releases of the library leave the indent of a docstring in it
            made_def["description"] = inspect.cleandoc(made_def["description"])
    defs["PublicBoard"]["properties"]["leadoff_public"] = {"type": "integer", "const": PUBLIC}
    for name in ("digest", "catalogue"):
        defs["PublicBoard"]["properties"][name] |= {"pattern": "^[0-9a-f]{64}$"}
    for name in ("Sealed", "PublicRun", "PublicForecast", "Answer", "PublicSymptom"):
        defs[name]["properties"]["entry"] |= {"pattern": "^[0-9a-f]{64}$"}
    defs["PublicBoard"]["required"] = sorted({*defs["PublicBoard"]["required"], "digest", "asked_for"})
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "public file of one board, form 1",
        "description": "What leadoff publish writes as BOARD.leadoff.json; docs/public-file.md says what it means.",
        **made,
    }


def _anything(kind: type) -> dict[str, Any]:
    """A field of the user's own rows: any value."""
    if kind is object:
        return {"description": "any value"}
    raise NotImplementedError(kind)


def main() -> int:
    text = msgspec.json.format(msgspec.json.encode(schema()), indent=1).decode() + "\n"
    if "--write" in sys.argv:
        FILE.write_text(text, encoding="utf-8")
        return 0
    same = FILE.exists() and FILE.read_text(encoding="utf-8") == text
    print("the schema is that of the values" if same else f"{FILE.name} differs: run with --write")
    return 0 if same else 1


if __name__ == "__main__":
    raise SystemExit(main())
