"""What every child row of a permit has: its place in the permit's tuple."""

from __future__ import annotations

from django.db import models


class Part(models.Model):
    """One thing of a permit, in order."""

    n = models.PositiveIntegerField()

    class Meta:
        abstract = True
