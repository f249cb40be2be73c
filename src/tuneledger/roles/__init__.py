"""Roles: which channel of a log is which signal, how sure that is, and why."""

from tuneledger.roles.files import RolesFile, read_roles_file, roles_text
from tuneledger.roles.identify import identify
from tuneledger.roles.memory import forget, recall, remember
from tuneledger.roles.model import Doubt, Role, Roles
from tuneledger.roles.words import read_names

__all__ = [
    "Doubt",
    "Role",
    "Roles",
    "RolesFile",
    "forget",
    "identify",
    "read_names",
    "read_roles_file",
    "recall",
    "remember",
    "roles_text",
]
