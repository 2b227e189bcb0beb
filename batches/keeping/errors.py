"""What cannot be backed up or restored; each message says what to do."""

from safety.errors import SafetyError


class CannotKeep(SafetyError):
    """A backup cannot be made, read or restored, and nothing was changed."""


class UnsafeBackup(CannotKeep):
    """The file is no backup that can be trusted: damaged, incomplete or swapped."""


class NewerBackup(CannotKeep):
    """The backup was made by a newer version of the program."""


class NotEmpty(CannotKeep):
    """The home already holds records, which a restore would mix with others."""
