import json
from copy import deepcopy
from pathlib import Path

import pytest

_RECORD = json.loads((Path(__file__).parent / "record.json").read_text(encoding="utf-8"))


@pytest.fixture
def record():
    """A complete record with invented content, as the use-cases hand it over."""
    return deepcopy(_RECORD)
