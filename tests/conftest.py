"""Where tests find scores. Shared data lies beside the repository and may be absent; then its tests are skipped."""

from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="session")
def corpora() -> Path:
    """The scores of our own, always there."""
    return ROOT / "corpora"


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """Real scores and open datasets; skips the test where they are not laid beside the repository."""
    folder = ROOT.parent / "shared" / "data"
    if not folder.is_dir():
        pytest.skip("../shared/data is not here")
    return folder
