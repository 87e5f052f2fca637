"""Routes of the plant room, grouped by noun."""

from django.urls import path

from permits.plant import codes_in_addresses  # noqa: F401  # registers <code:…>
from permits.plant.views import files, machines, nodes, placard, plans, procedures, sheets, stores, tags

app_name = "plant"

urlpatterns = [
    path("machines/", machines.machines, name="machines"),
    path("machines/<code:code>/", machines.machine, name="machine"),
    path("machines/<code:code>/edit/", machines.edit, name="edit-machine"),
    path("machines/<code:code>/remove/", machines.remove, name="remove-machine"),
    path("machines/<code:code>/plan/", plans.try_out, name="plan"),
    # procedures
    path("machines/<code:code>/procedures/", procedures.procedures, name="procedures"),
    path("machines/<code:code>/procedures/write/", procedures.write, name="write-procedure"),
    path("machines/<code:code>/procedures/compare/", procedures.compare, name="compare-procedures"),
    path("machines/<code:code>/procedures/<int:revision>/", procedures.procedure, name="procedure"),
    path(
        "machines/<code:code>/procedures/<int:revision>/approve/",
        procedures.approve,
        name="approve-procedure",
    ),
    path("machines/<code:code>/placard.pdf", placard.placard, name="placard"),
    # nodes and links
    path("nodes/<code:code>/", nodes.node, name="node"),
    path("nodes/<code:code>/edit/", nodes.edit, name="edit-node"),
    path("nodes/<code:code>/remove/", nodes.remove, name="remove-node"),
    path("nodes/<code:code>/physics/", stores.choose_physics, name="choose-physics"),
    path("nodes/<code:code>/physics/remove/", stores.remove_physics, name="remove-physics"),
    path("nodes/<code:code>/physics/<str:store>/", stores.physics, name="physics"),
    path("plant/nodes/add/", nodes.choose_kind, name="choose-kind"),
    path("plant/nodes/add/<str:kind>/", nodes.add, name="add-node"),
    path("plant/links/add/", nodes.save_link, name="save-link"),
    path("plant/links/remove/", nodes.remove_link, name="remove-link"),
    # the plant as a whole
    path("plant/machines/add/", machines.add, name="add-machine"),
    path("plant/shared/", machines.shared, name="shared"),
    path("plant/check/", plans.check, name="check"),
    path("plant/demands/", plans.demands, name="demands"),
    path("plant/hazard-lines/", stores.hazard_lines, name="hazard-lines"),
    path("plant/file/", files.upload, name="upload"),
    path("plant/file/import/", files.confirm, name="import-plant"),
    path("plant/file.json", files.download, name="plant-file"),
    # the plant as a spreadsheet
    path("plant/spreadsheet/", sheets.spreadsheet, name="spreadsheet"),
    path("plant/file.xlsx", sheets.workbook, name="workbook"),
    path("plant/file-csv.zip", sheets.csv_files, name="csv-files"),
    # tags
    path("tags/", tags.tags, name="tags"),
    path("tags/issue/", tags.issue, name="issue-tags"),
    path("tags/sheet.pdf", tags.sheet, name="tag-sheet"),
    path("tags/<code:code>/reissue/", tags.reissue, name="reissue-tag"),
]
