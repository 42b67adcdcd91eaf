"""The search for garbage is put off and goes on."""

import gc

import pytest

from optimizer.memory import no_search_for_garbage


@pytest.mark.parametrize("before", [True, False])
def test_it_is_put_off_and_then_as_before(before: bool) -> None:
    was = gc.isenabled()
    (gc.enable if before else gc.disable)()
    try:
        with no_search_for_garbage():
            assert not gc.isenabled()
        assert gc.isenabled() is before
        with pytest.raises(KeyError):
            failing()
        assert gc.isenabled() is before
    finally:
        (gc.enable if was else gc.disable)()


@no_search_for_garbage()
def failing() -> None:
    assert not gc.isenabled()
    raise KeyError
