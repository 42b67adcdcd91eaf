"""Where tests find scores. Shared data lies beside the repository and may be absent; then its tests are skipped."""

from pathlib import Path

import pytest
from lxml import etree

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


@pytest.fixture(scope="session")
def schema(shared_data: Path) -> etree.XMLSchema:
    """The W3C's MusicXML 4.0 schema; what it imports is found beside it, nothing is fetched."""
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_LocalSchemas(shared_data / "xsd"))
    return etree.XMLSchema(etree.parse(str(shared_data / "xsd" / "musicxml.xsd"), parser))


class _LocalSchemas(etree.Resolver):
    def __init__(self, folder: Path) -> None:
        super().__init__()
        self._folder = folder

    def resolve(self, url: str, public_id: str, context: object) -> object:
        return self.resolve_filename(str(self._folder / url.rsplit("/", 1)[-1]), context)
