"""Pure decisions about people: roles, authorisations, references, waiting times after failures."""
