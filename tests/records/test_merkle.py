"""Proofs of inclusion, as RFC 9162 has them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closedcup.records.merkle import inclusion_path, is_included, leaf_hash, root_of

# The eight entries with which implementations of certificate transparency are tested, and the
# roots over the first of them
ENTRIES = [
    bytes.fromhex(entry)
    for entry in (
        "",
        "00",
        "10",
        "2021",
        "3031",
        "40414243",
        "5051525354555657",
        "606162636465666768696a6b6c6d6e6f",
    )
]
ROOTS = (
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
)


@pytest.mark.outside(source="certificate transparency test entries (RFC 6962)", known="memory")
@pytest.mark.parametrize(("size", "root"), list(enumerate(ROOTS)))
def test_roots_over_the_known_entries(size, root):
    assert root_of(leaf_hash(entry) for entry in ENTRIES[:size]).hex() == root


@given(st.integers(1, 70), st.data())
def test_a_path_proves_its_leaf_and_no_other(size, data):
    leaves = [leaf_hash(bytes([number])) for number in range(size)]
    index = data.draw(st.integers(0, size - 1))
    root, path = root_of(leaves), inclusion_path(leaves, index)
    assert is_included(leaves[index], index, size, path, root)
    other = data.draw(st.integers(0, size))
    if other != index:
        assert not is_included(leaf_hash(bytes([other])), index, size, path, root)
        assert not is_included(leaves[index], other, size, path, root)
    assert not is_included(leaves[index], index, size, [*path, root], root)
    if path:
        assert not is_included(leaves[index], index, size, path[:-1], root)
