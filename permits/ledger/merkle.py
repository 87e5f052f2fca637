"""Merkle trees by RFC 9162 §2.1: hashes, roots, inclusion and consistency proofs and their checks. Pure.

Hashes are 32 bytes (SHA-256). Proofs are lists of hashes, bottom up. Trees are given by their leaf hashes.
"""

from collections.abc import Sequence
from hashlib import sha256
from hmac import compare_digest
from typing import Final

EMPTY: Final = sha256(b"").digest()
"""The root of a tree without leaves."""
SIZE: Final = 32


def leaf_hash(data: bytes) -> bytes:
    """The hash of one leaf: the 0x00 keeps a node from posing as a leaf (§2.1.1)."""
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """The hash of an inner node over its two children (§2.1.1)."""
    return sha256(b"\x01" + left + right).digest()


def root(leaves: Sequence[bytes]) -> bytes:
    """The root over `leaves`, leaf hashes in order: one pass with a stack of whole subtrees."""
    if not leaves:
        return EMPTY
    stack: list[bytes] = []
    for place, leaf in enumerate(leaves):
        _check(leaf)
        stack.append(leaf)
        merges = place + 1
        while merges % 2 == 0:
            right = stack.pop()
            stack.append(node_hash(stack.pop(), right))
            merges //= 2
    top = stack.pop()
    while stack:
        top = node_hash(stack.pop(), top)
    return top


def inclusion_proof(index: int, leaves: Sequence[bytes]) -> list[bytes]:
    """PATH(index, leaves) of §2.1.3.1; `index` from 0. Raises ValueError for an index outside the tree."""
    if not 0 <= index < len(leaves):
        raise ValueError(f"leaf {index} is not in a tree of {len(leaves)}; the first is 0")
    if len(leaves) == 1:
        return []
    split = _split(len(leaves))
    if index < split:
        return [*inclusion_proof(index, leaves[:split]), root(leaves[split:])]
    return [*inclusion_proof(index - split, leaves[split:]), root(leaves[:split])]


def consistency_proof(earlier: int, leaves: Sequence[bytes]) -> list[bytes]:
    """PROOF(earlier, leaves) of §2.1.4.1: the tree of the first `earlier` leaves is the start of this one.

    Raises ValueError unless 1 <= earlier <= number of leaves.
    """
    if not 1 <= earlier <= len(leaves):
        raise ValueError(
            f"no proof from {earlier} leaves to {len(leaves)}; the earlier size is 1 to {len(leaves)}"
        )
    return _subproof(earlier, leaves, whole=True)


def _subproof(earlier: int, leaves: Sequence[bytes], *, whole: bool) -> list[bytes]:
    if earlier == len(leaves):
        return [] if whole else [root(leaves)]
    split = _split(len(leaves))
    if earlier <= split:
        return [*_subproof(earlier, leaves[:split], whole=whole), root(leaves[split:])]
    return [*_subproof(earlier - split, leaves[split:], whole=False), root(leaves[:split])]


def includes(*, leaf: bytes, index: int, size: int, proof: Sequence[bytes], root_hash: bytes) -> bool:
    """Whether `proof` shows that leaf hash `leaf` is at `index` of the tree of `size` leaves (§2.1.3.2)."""
    if not 0 <= index < size or not _hashes(leaf, root_hash, *proof):
        return False
    place, last, seen = index, size - 1, leaf
    for sibling in proof:
        if last == 0:
            return False
        if place % 2 or place == last:
            seen = node_hash(sibling, seen)
            while place and place % 2 == 0:
                place >>= 1
                last >>= 1
        else:
            seen = node_hash(seen, sibling)
        place >>= 1
        last >>= 1
    return last == 0 and compare_digest(seen, root_hash)


def extends(
    *, earlier: int, later: int, proof: Sequence[bytes], earlier_root: bytes, later_root: bytes
) -> bool:
    """Whether `proof` shows that the tree of `later` leaves starts with the one of `earlier` (§2.1.4.2)."""
    if not 1 <= earlier <= later or not _hashes(earlier_root, later_root, *proof):
        return False
    if earlier == later:
        return not proof and compare_digest(earlier_root, later_root)
    steps = list(proof)
    if earlier & (earlier - 1) == 0:
        steps.insert(0, earlier_root)  # a whole subtree: its root is known and left out of the proof
    if not steps:
        return False
    place, last = earlier - 1, later - 1
    while place % 2:
        place >>= 1
        last >>= 1
    old = new = steps[0]
    for step in steps[1:]:
        if last == 0:
            return False
        if place % 2 or place == last:
            old, new = node_hash(step, old), node_hash(step, new)
            while place and place % 2 == 0:
                place >>= 1
                last >>= 1
        else:
            new = node_hash(new, step)
        place >>= 1
        last >>= 1
    return last == 0 and compare_digest(old, earlier_root) and compare_digest(new, later_root)


def _split(size: int) -> int:
    """The largest power of two below `size` (at least 2)."""
    return 1 << ((size - 1).bit_length() - 1)


def _hashes(*values: bytes) -> bool:
    return all(len(value) == SIZE for value in values)


def _check(value: bytes) -> None:
    if len(value) != SIZE:
        raise ValueError(f"a leaf hash has {SIZE} bytes, this one {len(value)}")
