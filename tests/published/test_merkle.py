"""Merkle trees (hashing of RFC 9162 §2.1) against the certificate-transparency test suite's reference leaves.

The same hashing stood in RFC 6962 §2.1 already. Proof algorithms: RFC 9162 §2.1.3 and §2.1.4.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from permits.ledger.merkle import (
    EMPTY,
    consistency_proof,
    extends,
    includes,
    inclusion_proof,
    leaf_hash,
    node_hash,
    root,
)

DATA = [
    bytes.fromhex(text)
    for text in (
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
LEAVES = [leaf_hash(data) for data in DATA]
SIZES = range(1, len(LEAVES) + 1)

ROOTS = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
LEAF_HASHES = [
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
    "0298d122906dcfc10892cb53a73992fc5b9f493ea4c9badb27b791b4127a7fe7",
    "07506a85fd9dd2f120eb694f86011e5bb4662e5c415a62917033d4a9624487e7",
    "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
    "4271a26be0d8a84f0bd54c8c302e7cb3a3b5d1fa6780a40bcce2873477dab658",
    "b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f",
    "46f6ffadd3d06a09ff3c5860d2755c8b9819db7df44251788c7d8e3180de8eb1",
]
INCLUSION = {
    (0, 8): [
        "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
        "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
        "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
    ],
    (5, 8): [
        "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
        "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    ],
    (2, 3): ["fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125"],
    (1, 5): [
        "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
        "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
        "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
    ],
    (0, 1): [],
}
CONSISTENCY = {
    (1, 8): INCLUSION[0, 8],
    (6, 8): [
        "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
        "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    ],
    (2, 5): [
        "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
        "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
    ],
    (1, 1): [],
}


def included(index, size, proof, leaf=None, root_hash=None):
    leaf = LEAVES[index] if leaf is None else leaf
    return includes(
        leaf=leaf, index=index, size=size, proof=proof, root_hash=root_hash or root(LEAVES[:size])
    )


def extended(earlier, later, proof, earlier_root=None, later_root=None):
    return extends(
        earlier=earlier,
        later=later,
        proof=proof,
        earlier_root=earlier_root or root(LEAVES[:earlier]),
        later_root=later_root or root(LEAVES[:later]),
    )


def flips(value):
    """`value` with each bit flipped in turn."""
    for bit in range(8 * len(value)):
        changed = bytearray(value)
        changed[bit // 8] ^= 1 << (bit % 8)
        yield bytes(changed)


def test_leaf_hashes():
    assert [leaf.hex() for leaf in LEAVES] == LEAF_HASHES


@pytest.mark.parametrize("size", range(9))
def test_roots(size):
    assert root(LEAVES[:size]).hex() == ROOTS[size]


def test_the_empty_tree():
    assert root([]) == EMPTY


@pytest.mark.parametrize(("index", "size"), INCLUSION)
def test_inclusion_proofs(index, size):
    assert [step.hex() for step in inclusion_proof(index, LEAVES[:size])] == INCLUSION[index, size]


@pytest.mark.parametrize(("earlier", "later"), CONSISTENCY)
def test_consistency_proofs(earlier, later):
    assert [step.hex() for step in consistency_proof(earlier, LEAVES[:later])] == CONSISTENCY[earlier, later]


@pytest.mark.parametrize("size", SIZES)
def test_every_inclusion_proof_verifies_and_nothing_else_does(size):
    for index in range(size):
        proof = inclusion_proof(index, LEAVES[:size])
        assert included(index, size, proof)
        for place, step in enumerate(proof):
            for wrong in flips(step):
                assert not included(index, size, [*proof[:place], wrong, *proof[place + 1 :]])
            assert not included(index, size, proof[:place] + proof[place + 1 :])  # one hash is missing
        for wrong in flips(LEAVES[index]):
            assert not included(index, size, proof, leaf=wrong)
        for wrong in flips(root(LEAVES[:size])):
            assert not included(index, size, proof, root_hash=wrong)
        for extra in (LEAVES[0], bytes(32)):
            assert not included(index, size, [*proof, extra])
            assert not included(index, size, [extra, *proof])
        for other in range(-1, 9):
            if other != index:
                assert not includes(
                    leaf=LEAVES[index], index=other, size=size, proof=proof, root_hash=root(LEAVES[:size])
                )


@pytest.mark.parametrize("size", SIZES)
def test_an_inclusion_proof_for_another_size_is_rejected(size):
    for index in range(size):
        proof = inclusion_proof(index, LEAVES[:size])
        for other in range(10):
            if other != size:
                # Where the path has the same shape for both sizes, the root decides.
                root_hash = root(LEAVES[:other]) if other <= 8 else bytes(32)
                assert not included(index, other, proof, root_hash=root_hash)


@pytest.mark.parametrize("later", SIZES)
def test_every_consistency_proof_verifies_and_nothing_else_does(later):
    for earlier in range(1, later + 1):
        proof = consistency_proof(earlier, LEAVES[:later])
        assert extended(earlier, later, proof)
        for place, step in enumerate(proof):
            for wrong in flips(step):
                assert not extended(earlier, later, [*proof[:place], wrong, *proof[place + 1 :]])
            assert not extended(earlier, later, proof[:place] + proof[place + 1 :])
        for wrong in flips(root(LEAVES[:earlier])):
            assert not extended(earlier, later, proof, earlier_root=wrong)
        for wrong in flips(root(LEAVES[:later])):
            assert not extended(earlier, later, proof, later_root=wrong)
        for extra in (LEAVES[0], bytes(32)):
            assert not extended(earlier, later, [*proof, extra])
            assert not extended(earlier, later, [extra, *proof])
        for other in range(9):
            if other != earlier:
                assert not extended(other, later, proof)
            if other != later:
                assert not extended(earlier, other, proof)


def test_a_rewritten_history_has_no_consistency_proof():
    rewritten = [LEAVES[7], *LEAVES[1:]]
    assert not extended(3, 8, consistency_proof(3, rewritten), later_root=root(rewritten))


def test_a_node_can_not_pose_as_a_leaf():
    inner = LEAVES[0] + LEAVES[1]
    assert leaf_hash(inner) != node_hash(LEAVES[0], LEAVES[1])


@pytest.mark.parametrize("wrong", [b"", b"short", bytes(31), bytes(33)])
def test_hashes_of_wrong_length_are_rejected(wrong):
    assert not included(0, 2, [wrong])
    assert not extended(1, 2, [wrong])
    with pytest.raises(ValueError, match="32 bytes"):
        root([wrong])


@pytest.mark.parametrize(("index", "size"), [(0, 0), (-1, 3), (3, 3)])
def test_no_inclusion_proof_outside_the_tree(index, size):
    with pytest.raises(ValueError, match="not in a tree"):
        inclusion_proof(index, LEAVES[:size])


@pytest.mark.parametrize(("earlier", "later"), [(0, 3), (4, 3), (-1, 3), (0, 0)])
def test_no_consistency_proof_from_nothing_or_to_less(earlier, later):
    with pytest.raises(ValueError, match="no proof"):
        consistency_proof(earlier, LEAVES[:later])


@given(st.integers(1, 200), st.data())
def test_larger_trees(size, data):
    leaves = [leaf_hash(place.to_bytes(2, "big")) for place in range(size)]
    index = data.draw(st.integers(0, size - 1))
    earlier = data.draw(st.integers(1, size))
    assert includes(
        leaf=leaves[index],
        index=index,
        size=size,
        proof=inclusion_proof(index, leaves),
        root_hash=root(leaves),
    )
    assert extends(
        earlier=earlier,
        later=size,
        proof=consistency_proof(earlier, leaves),
        earlier_root=root(leaves[:earlier]),
        later_root=root(leaves),
    )
