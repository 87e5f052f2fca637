"""QR codes drawn on a reportlab canvas: the matrix as one path, so that it prints sharp at any size."""

from __future__ import annotations

from typing import Any

from qrcode.constants import ERROR_CORRECT_H
from qrcode.main import QRCode
from qrcode.util import MODE_ALPHA_NUM, QRData

from permits.plant.rules.codes import QR_ALPHANUMERIC

QUIET = 4
"""Modules of white that ISO/IEC 18004 wants on every side."""

_MASK = 2
"""One mask for all: choosing the best of eight takes six times as long and gains a reader nothing."""

Matrix = tuple[tuple[bool, ...], ...]


def matrix(words: str) -> Matrix:
    """The modules of a QR code at level H, row by row from the top, without the quiet zone."""
    code = QRCode(error_correction=ERROR_CORRECT_H, border=0, mask_pattern=_MASK)
    alphanumeric = set(words) <= QR_ALPHANUMERIC
    code.add_data(QRData(words, mode=MODE_ALPHA_NUM) if alphanumeric else words, optimize=0)
    code.make(fit=True)
    return tuple(tuple(map(bool, row)) for row in code.modules)


def module_size(modules: Matrix, room: float) -> float:
    """The side of one module where code and quiet zone fill `room`, in its unit."""
    return room / (len(modules) + 2 * QUIET)


def draw(canvas: Any, x: float, y: float, room: float, modules: Matrix) -> None:
    """Draw the code with its quiet zone into the square of side `room` whose lower left corner is (x, y)."""
    side = module_size(modules, room)
    top = y + room - QUIET * side
    left = x + QUIET * side
    squares = []
    for number, row in enumerate(modules):
        start = None
        for place, dark in enumerate((*row, False)):
            if dark and start is None:
                start = place
            elif not dark and start is not None:
                x_at, y_at = left + start * side, top - (number + 1) * side
                squares.append(f"{x_at:.3f} {y_at:.3f} {(place - start) * side:.3f} {side:.3f} re")
                start = None
    canvas.saveState()
    canvas.setFillGray(0)
    canvas._code.append("n " + " ".join(squares) + " f")
    canvas.restoreState()
