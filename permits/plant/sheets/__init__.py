"""The plant as a spreadsheet, in both directions: workbooks (XLSX), and CSV files. Pure: no Django."""

from permits.plant.sheets.checking import Checked, checked, plant_file_of
from permits.plant.sheets.reading import Sheets, is_spreadsheet, read
from permits.plant.sheets.tables import ON_A_PAGE, ON_THE_SERVER, Limits, SheetError, SheetErrors
from permits.plant.sheets.writing import as_csv, as_csv_files, as_workbook, flat

__all__ = [
    "ON_A_PAGE",
    "ON_THE_SERVER",
    "Checked",
    "Limits",
    "SheetError",
    "SheetErrors",
    "Sheets",
    "as_csv",
    "as_csv_files",
    "as_workbook",
    "checked",
    "flat",
    "is_spreadsheet",
    "plant_file_of",
    "read",
]
