"""Who may open which page of the plant room: written by hand, compared with the routes by the tests."""

from permits.people.rules.roles import Role

MEMBERS = frozenset(Role)
OFFICERS = frozenset({Role.OFFICER})

WHO_MAY: dict[str, frozenset[Role]] = {
    "plant:machines": MEMBERS,
    "plant:machine": MEMBERS,
    "plant:shared": MEMBERS,
    "plant:node": MEMBERS,
    "plant:procedures": MEMBERS,
    "plant:procedure": MEMBERS,
    "plant:compare-procedures": MEMBERS,
    "plant:check": MEMBERS,
    "plant:plant-file": MEMBERS,
    "plant:add-machine": OFFICERS,
    "plant:edit-machine": OFFICERS,
    "plant:remove-machine": OFFICERS,
    "plant:choose-kind": OFFICERS,
    "plant:add-node": OFFICERS,
    "plant:edit-node": OFFICERS,
    "plant:remove-node": OFFICERS,
    "plant:save-link": OFFICERS,
    "plant:remove-link": OFFICERS,
    "plant:plan": OFFICERS,
    "plant:demands": OFFICERS,
    "plant:hazard-lines": OFFICERS,
    "plant:choose-physics": OFFICERS,
    "plant:physics": OFFICERS,
    "plant:remove-physics": OFFICERS,
    "plant:upload": OFFICERS,
    "plant:import-plant": OFFICERS,
    "plant:write-procedure": OFFICERS,
    "plant:approve-procedure": OFFICERS,
    "plant:tags": OFFICERS,
    "plant:issue-tags": OFFICERS,
    "plant:reissue-tag": OFFICERS,
    "plant:tag-sheet": OFFICERS,
    "plant:spreadsheet": OFFICERS,
    "plant:workbook": MEMBERS,
    "plant:csv-files": MEMBERS,
    "plant:placard": MEMBERS,
}
