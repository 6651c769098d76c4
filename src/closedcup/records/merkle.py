"""A tree of hashes over entries: one entry is proved to be among many without showing the rest.

As RFC 9162, section 2.1 has it: a leaf is SHA-256 of a zero byte and the entry, a node SHA-256 of a
one byte and its two parts; a tree is parted at the largest power of two below its size.
"""

import hashlib
from collections.abc import Iterable, Sequence
from typing import Final

_LEAF: Final = b"\x00"
_NODE: Final = b"\x01"


def leaf_hash(entry: bytes) -> bytes:
    """Return the hash of an entry as a leaf."""
    return hashlib.sha256(_LEAF + entry).digest()


def _node_hash(left: bytes, right: bytes) -> bytes:
    return hashlib.sha256(_NODE + left + right).digest()


def root_of(leaves: Iterable[bytes]) -> bytes:
    """Return the root over hashes of leaves, in order; that of no leaves is SHA-256 of nothing."""
    # the roots of whole subtrees, largest first, each with its height
    peaks: list[tuple[int, bytes]] = []
    for leaf in leaves:
        height, node = 0, leaf
        while peaks and peaks[-1][0] == height:
            node = _node_hash(peaks.pop()[1], node)
            height += 1
        peaks.append((height, node))
    if not peaks:
        return hashlib.sha256().digest()
    node = peaks.pop()[1]
    while peaks:
        node = _node_hash(peaks.pop()[1], node)
    return node


def inclusion_path(leaves: Sequence[bytes], index: int) -> list[bytes]:
    """Return the hashes that lead from a leaf to the root (section 2.1.3.1), lowest first."""
    if not 0 <= index < len(leaves):
        raise IndexError(f"no leaf {index} among {len(leaves)}")
    level, path = list(leaves), []
    while len(level) > 1:
        beside = index ^ 1
        if beside < len(level):
            path.append(level[beside])
        pairs = range(0, len(level) - 1, 2)
        above = [_node_hash(level[at], level[at + 1]) for at in pairs]
        # an odd last node moves up as it is
        level = above + level[len(above) * 2 :]
        index //= 2
    return path


def is_included(leaf: bytes, index: int, size: int, path: Sequence[bytes], root: bytes) -> bool:
    """Whether a path proves that a leaf is number `index` of `size` under a root (2.1.3.2)."""
    if not 0 <= index < size:
        return False
    at, last, node = index, size - 1, leaf
    for beside in path:
        if last == 0:
            return False
        if at & 1 or at == last:
            node = _node_hash(beside, node)
            while not at & 1 and at:
                at, last = at >> 1, last >> 1
        else:
            node = _node_hash(node, beside)
        at, last = at >> 1, last >> 1
    return last == 0 and node == root
