"""The plant file: chosen for a dry run, and confirmed as it was shown."""

from __future__ import annotations

import json
from typing import Any

from django import forms
from django.conf import settings
from django.core import signing
from django.core.files.uploadedfile import UploadedFile

from permits.plant.forms.asking import KeyedForm
from permits.plant.rules.plantfile import PlantFile, PlantFileErrors, as_dict, check, parse

LARGEST = 5 * 1024 * 1024
_SALT = "permits.plant.file"
_SHOWN_ERRORS = 50


class UploadForm(KeyedForm):
    """A plant file. Nothing is changed by it: what would change is shown first."""

    file = forms.FileField(
        label="Plant file",
        help_text="JSON, at most 5 MB. Nothing is changed yet: what would change is shown first.",
        widget=forms.FileInput(attrs={"accept": ".json,application/json"}),
        error_messages={
            "required": "No file is chosen; a plant file (JSON) would be right.",
            "empty": "The file is empty; a plant file (JSON) would be right.",
        },
    )

    def clean_file(self) -> PlantFile | None:
        """The plant that the file describes."""
        file: UploadedFile = self.cleaned_data["file"]
        if file.size is None or file.size > LARGEST:
            raise forms.ValidationError(
                f"The file has {(file.size or 0) / 1024 / 1024:.1f} MB; at most 5 MB would be right. A "
                "larger one is imported on the server: manage.py import_plant FILE."
            )
        try:
            return parse(file.read())
        except PlantFileErrors as errors:
            lines = [str(error) for error in errors.errors[:_SHOWN_ERRORS]]
            if more := len(errors.errors) - len(lines):
                lines.append(f"And {more} more of this kind.")
            raise forms.ValidationError(lines) from None


class ConfirmForm(KeyedForm):
    """What a dry run showed, imported as it was shown: it travels in the page, compressed and signed."""

    plant = forms.CharField(
        widget=forms.HiddenInput, error_messages={"required": "The plant is missing; choose the file again."}
    )

    def clean_plant(self) -> PlantFile:
        try:
            return check(signing.loads(self.cleaned_data["plant"], salt=_SALT, max_age=24 * 60 * 60))
        except signing.SignatureExpired:
            raise forms.ValidationError(
                "This page is more than a day old; choose the file again, and look at what it would change."
            ) from None
        except (signing.BadSignature, PlantFileErrors):
            raise forms.ValidationError(
                "What was sent is not what was shown; choose the file again."
            ) from None


def travelling(plant_file: PlantFile) -> str | None:
    """A plant as `ConfirmForm` takes it back; None where it would be more than a page may send."""
    packed = signing.dumps(as_dict(plant_file), salt=_SALT, compress=True)
    return packed if len(packed) < settings.DATA_UPLOAD_MAX_MEMORY_SIZE - 50_000 else None


def as_text(plant: dict[str, Any]) -> str:
    """A plant file to be kept: one row a line, so that two of them can be compared."""
    parts = []
    for name, value in plant.items():
        if isinstance(value, list):
            rows = ",\n".join("    " + json.dumps(row, ensure_ascii=False) for row in value)
            parts.append(f'  "{name}": [\n{rows}\n  ]' if rows else f'  "{name}": []')
        else:
            parts.append(f'  "{name}": {json.dumps(value, ensure_ascii=False)}')
    return "{\n" + ",\n".join(parts) + "\n}\n"
