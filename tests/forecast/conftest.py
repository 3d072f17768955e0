"""Makes the generated books of ``validation/`` importable."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "validation"))
