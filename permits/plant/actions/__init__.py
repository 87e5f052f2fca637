"""What can be done about the plant; the only writer of this room's tables. One file per topic."""

from permits.ledger.sent import AlreadyDone
from permits.plant.actions.graph import (
    ImportReport,
    compare_plant,
    import_plant,
    remove_link,
    remove_machine,
    remove_node,
    save_demands,
    save_hazard_lines,
    save_link,
    save_machine,
    save_node,
)
from permits.plant.actions.procedures import Chosen, approve_procedure, draft_procedure
from permits.plant.actions.tags import issue_tag, issue_tags, read_withdrawn, reissue_tag
from permits.plant.rules.refused import PlantRefused

__all__ = [
    "AlreadyDone",
    "Chosen",
    "ImportReport",
    "PlantRefused",
    "approve_procedure",
    "compare_plant",
    "draft_procedure",
    "import_plant",
    "issue_tag",
    "issue_tags",
    "read_withdrawn",
    "reissue_tag",
    "remove_link",
    "remove_machine",
    "remove_node",
    "save_demands",
    "save_hazard_lines",
    "save_link",
    "save_machine",
    "save_node",
]
