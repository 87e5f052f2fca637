"""Who may open which page of calibration: written by hand."""

from permits.people.rules.roles import Role
from tests.people.who_may import MEMBERS

AT_WORK = frozenset({Role.TECHNICIAN})

WHO_MAY = {
    "calibration:job": MEMBERS,
    "calibration:open-job": AT_WORK,
    "calibration:open-axis": AT_WORK,
    "calibration:read-piece": AT_WORK,
    "calibration:correct": AT_WORK,
    "calibration:judge": AT_WORK,
    "calibration:end-axis": AT_WORK,
    "calibration:close-job": AT_WORK,
    "calibration:instruments": frozenset({Role.OFFICER}),
    "calibration:axes": frozenset({Role.OFFICER}),
}
