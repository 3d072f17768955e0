"""Print the JSON Schema of row files for editors. Usage: python tools/catalogue_schema.py > rows.schema.json"""

from __future__ import annotations

import json

from leadoff.catalogue.schema import editor_schema

if __name__ == "__main__":
    print(json.dumps(editor_schema(), indent=1, sort_keys=True))
