"""The plant as a spreadsheet: chosen for a dry run, which `ConfirmForm` then confirms as it was shown."""

from __future__ import annotations

from django import forms
from django.core.files.uploadedfile import UploadedFile

from permits.plant.forms.asking import KeyedForm
from permits.plant.sheets import ON_A_PAGE, SheetErrors, Sheets, read
from permits.plant.sheets.tables import MEGABYTE

_KINDS = ".xlsx,.zip,.csv"


class SpreadsheetForm(KeyedForm):
    """A workbook, a zip of CSV files, or the CSV file of one list. Nothing is changed by it."""

    file = forms.FileField(
        label="Spreadsheet",
        help_text="XLSX, CSV files in a zip, or one CSV file; at most 5 MB. Nothing is changed yet.",
        widget=forms.FileInput(attrs={"accept": _KINDS}),
        error_messages={
            "required": "No file is chosen; a spreadsheet (XLSX or CSV) would be right.",
            "empty": "The file is empty; a spreadsheet (XLSX or CSV) would be right.",
        },
    )

    def clean_file(self) -> Sheets:
        """What the file says, row by row, with what is wrong in it noted."""
        file: UploadedFile = self.cleaned_data["file"]
        if (file.size or 0) > ON_A_PAGE.packed:
            raise forms.ValidationError(
                f"The file has {(file.size or 0) / MEGABYTE:.1f} MB; at most 5 MB would be right. A larger "
                "one is imported on the server: manage.py import_plant FILE."
            )
        try:
            return read(file.read(), file.name or "", ON_A_PAGE)
        except SheetErrors as errors:
            raise forms.ValidationError([str(error) for error in errors.errors]) from None
