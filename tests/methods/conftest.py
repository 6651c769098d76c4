"""Modules beside the tests, whatever way pytest imports those."""

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parent))
