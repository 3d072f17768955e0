"""Makes the generated books of ``validation/`` importable; one thread for small matrices, before NumPy starts."""

import os
import sys
from pathlib import Path

for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
    os.environ.setdefault(name, "1")

sys.path.insert(0, str(Path(__file__).parents[2] / "validation"))
