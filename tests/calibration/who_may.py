"""Who may open which page of calibration: written by hand."""

from permits.people.rules.roles import Role
from tests.people.who_may import MEMBERS

AT_WORK = frozenset({Role.TECHNICIAN})
DESCRIBES = frozenset({Role.OFFICER})
READS = frozenset({Role.OFFICER, Role.AUDITOR, Role.TECHNICIAN})

WHO_MAY = {
    "calibration:home": READS,
    "calibration:policy": DESCRIBES,
    "calibration:instruments": DESCRIBES,
    "calibration:remove-instrument": DESCRIBES,
    "calibration:axes": READS,
    "calibration:add-axis": DESCRIBES,
    "calibration:change-axis": DESCRIBES,
    "calibration:remove-axis": DESCRIBES,
    "calibration:features": DESCRIBES,
    "calibration:remove-feature": DESCRIBES,
    "calibration:axis": READS,
    "calibration:earlier": DESCRIBES,
    "calibration:job": MEMBERS,
    "calibration:open-job": AT_WORK,
    "calibration:pre-check": AT_WORK,
    "calibration:close-job": AT_WORK,
    "calibration:open-axis": AT_WORK,
    "calibration:end-axis": AT_WORK,
    "calibration:read-piece": AT_WORK,
    "calibration:strike-piece": AT_WORK,
    "calibration:correct": AT_WORK,
    "calibration:judge": AT_WORK,
}
