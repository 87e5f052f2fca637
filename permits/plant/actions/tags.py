"""Issuing the codes that lead to a point, issuing them anew, and withdrawing them."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Sequence
from datetime import datetime

from permits.ledger.pen import Author, Key, Pen, writing
from permits.people.models import Site
from permits.plant.models import Node, Tag
from permits.plant.rules.codes import TOKEN_BYTES, new_token, short_code
from permits.plant.rules.facts import Fact
from permits.plant.rules.refused import PlantRefused


def issue_tag(*, node: Node, by: Author, at: datetime, key: Key | None = None) -> Tag:
    """A first tag for a point, or a new one after the last was withdrawn.

    Raises PlantRefused where the node is no point, is no longer in the plant, or has a tag.
    """
    return issue_tags(site=node.site, nodes=[node], by=by, at=at, key=key)[0]


def issue_tags(
    *, site: Site, nodes: Sequence[Node], by: Author, at: datetime, key: Key | None = None
) -> list[Tag]:
    """Tags for several points of a site, all or none. Raises PlantRefused as `issue_tag` does."""
    if not nodes:
        raise PlantRefused(["No point was named; one that has no tag yet would be right."])
    with writing(site.head_id, by=by, at=at, key=key) as pen:
        if reasons := [reason for node in nodes for reason in _against(node)]:
            raise PlantRefused(reasons)
        return [_issue(pen, node) for node in nodes]


def reissue_tag(*, tag: Tag, why: str, by: Author, at: datetime, key: Key | None = None) -> Tag:
    """Withdraw a tag and issue another for its point, in one go.

    Raises PlantRefused where no reason is given, the tag was withdrawn already or its point is gone.
    """
    why = why.strip()
    if not why:
        raise PlantRefused(["No reason was given; such as 'worn off' would be right."])
    with writing(tag.site.head_id, by=by, at=at, key=key) as pen:
        tag.refresh_from_db()
        if tag.withdrawn_at is not None:
            raise PlantRefused(
                [f"Tag {tag.short_code} was withdrawn already; the point's present tag would be right."]
            )
        _withdraw(pen, tag, why)
        if reasons := list(_against(tag.node)):
            raise PlantRefused(reasons)
        return _issue(pen, tag.node)


def read_withdrawn(*, tag: Tag, by: Author, at: datetime) -> None:
    """Record that someone read a withdrawn tag: an old plate still hangs somewhere."""
    with writing(tag.site.head_id, by=by, at=at) as pen:
        pen.write(Fact.WITHDRAWN_TAG_READ, tag.node.about, {"short_code": tag.short_code})


def withdraw_tags_of(pen: Pen, site: Site, codes: Iterable[str], *, why: str) -> None:
    """Withdraw the tags of nodes that go, under an open pen."""
    gone = set(codes)
    if gone:
        for tag in Tag.objects.filter(site=site, withdrawn_at=None).select_related("node").order_by("pk"):
            if tag.node.code in gone:
                _withdraw(pen, tag, why)


def _against(node: Node) -> Iterable[str]:
    node.refresh_from_db()
    if not node.is_point:
        yield f"{node.name} is a {node.kind}; only an isolator or a store carries a tag."
    if node.removed_at is not None:
        yield f"{node.name} is no longer in the plant; a point that is in it would be right."
    if Tag.objects.filter(node=node, withdrawn_at=None).exists():
        yield f"{node.name} has a tag; to issue it anew, which withdraws the present one, would be right."


def _issue(pen: Pen, node: Node) -> Tag:
    tag = Tag.objects.create(
        site_id=node.site_id,
        node=node,
        token=new_token(secrets.token_bytes(TOKEN_BYTES)),
        short_code=_free_short_code(node.site_id),
        reissue=Tag.objects.filter(node=node).count(),
        issued_at=pen.at,
    )
    pen.write(
        Fact.TAG_ISSUED,
        node.about,
        {"token": tag.token, "short_code": tag.short_code, "reissue": tag.reissue},
    )
    return tag


def _withdraw(pen: Pen, tag: Tag, why: str) -> None:
    tag.withdrawn_at, tag.withdrawn_why = pen.at, why[:200]
    tag.save(update_fields=["withdrawn_at", "withdrawn_why"])
    pen.write(Fact.TAG_WITHDRAWN, tag.node.about, {"short_code": tag.short_code, "why": tag.withdrawn_why})


def _free_short_code(site_id: int) -> str:
    """A short code that no tag of the site has or had: 30 bits, so two may fall together by chance."""
    while Tag.objects.filter(
        site_id=site_id, short_code=(code := short_code(secrets.token_bytes(4)))
    ).exists():
        pass
    return code
